"""Sensors of place in flight: what their faults do to the controller's signals, for how long, and what is refused."""

from __future__ import annotations

import math

import numpy as np
import pytest

from quadsim.config.flight_loader import parse_flight
from quadsim.errors import InputError
from quadsim.simulation.fly import start

HEAD = """
title = "sensors"
craft = "bonxie"
duration_s = 4
log_rate_Hz = 100
[start]
height_m = 5
"""
FAULT = "[[at]]\nt_s = 1\nfault = {{ {} }}\n"


def flown(fault="", head=HEAD, seconds=4.0, chunk=10**6):
    """Session after a flight, and its signals every 10 ms."""
    session = start(parse_flight(head + (FAULT.format(fault) if fault else "")))
    for _ in range(math.ceil(seconds * 4000 / chunk)):
        session.advance(min(chunk, round(seconds * 4000)))
    return session, session.heard[: session.rows]


@pytest.mark.jit
def test_every_sensor_that_is_carried_speaks_at_its_rate():
    session, heard = flown()
    last = heard[-1]
    assert last["baro_count"] == pytest.approx(4 * 50, abs=1)
    assert last["gnss_count"] == pytest.approx(4 * 10 - 1, abs=1)  # the newest is still on its way
    assert last["mag_count"] == pytest.approx(4 * 75, abs=1)
    assert last["range_count"] == pytest.approx(4 * 50 - 1, abs=1)
    assert last["gnss_fix"] == 1.0
    truth = session.truth[session.rows - 1]
    assert last["baro_height"] == pytest.approx(-truth["position"][2], abs=0.6)
    assert last["range_distance"] == pytest.approx(-truth["position"][2], abs=0.3)
    assert np.linalg.norm(last["magnetic_field"]) == pytest.approx(49e-6, rel=0.1)
    assert np.array(last["rotor_speed"]) == pytest.approx(np.array(truth["rotor_speed"]), rel=0.03)
    counted = np.mean(session.truth[: session.rows]["battery_current"]) * truth["t"]
    assert last["charge_used"] == pytest.approx(counted, rel=0.1)


@pytest.mark.jit
def test_the_same_bits_whatever_the_chunks():
    _, whole = flown()
    _, pieces = flown(chunk=25)
    for name in (
        "gnss_position",
        "gnss_velocity",
        "magnetic_field",
        "range_distance",
        "baro_height",
        "charge_used",
    ):
        assert np.array_equal(whole[name], pieces[name])


@pytest.mark.jit
def test_a_craft_without_them_hears_nothing():
    _, heard = flown(head=HEAD.replace("bonxie", "siskin"))
    for name in ("gnss_count", "gnss_fix", "mag_count", "range_count"):
        assert not np.any(heard[name])
    assert heard[-1]["baro_count"] > 190
    assert np.all(np.array(heard[-1]["rotor_speed"]) > 500.0)


@pytest.mark.jit
def test_satellites_lost_for_a_time():
    session, heard = flown('kind = "gnss_lost", duration_s = 1.5')
    fix, t = heard["gnss_fix"], session.truth[: session.rows]["t"]
    assert np.all(fix[(t > 0.2) & (t < 1.05)] == 1.0)
    assert np.all(fix[(t > 1.25) & (t < 2.6)] == 0.0)
    assert np.all(fix[t > 2.75] == 1.0)
    assert [(e.t_s, e.text) for e in session.events if e.kind == "fault"] == [
        (1.0, "satellites lost for 1.5 s"),
        (2.5, "satellites back"),
    ]


@pytest.mark.jit
def test_a_stuck_barometer_says_the_same_to_the_end():
    session, heard = flown('kind = "baro_stuck"')
    t = session.truth[: session.rows]["t"]
    assert np.ptp(heard["baro_height"][t > 1.05]) == 0.0
    assert np.ptp(heard["baro_height"][t < 1.0]) > 0.05
    assert heard[-1]["baro_count"] > 190
    assert session.events[0].text == "barometer stuck at its last height"


@pytest.mark.jit
def test_a_disturbed_compass_is_off_by_what_is_stated():
    _, calm = flown(seconds=2.5)
    session, heard = flown(
        'kind = "compass_disturbed", disturbance_uT = [0, 12, 5], duration_s = 1', seconds=2.5
    )
    off = 1e6 * (heard["magnetic_field"] - calm["magnetic_field"])
    t = session.truth[: session.rows]["t"]
    # at once, before the craft answers to it: the estimate believes the compass, and turns
    assert np.max(np.abs(off[(t > 1.05) & (t < 1.12)] - [0.0, 12.0, 5.0])) < 0.25
    assert not np.any(off[t < 1.0])
    assert np.max(np.abs(off[t > 2.1])) < 5.0
    assert session.events[0].text == "magnetometer disturbed by 13 uT for 1 s"


@pytest.mark.jit
def test_a_lost_rangefinder_sees_nothing_and_comes_back():
    session, heard = flown('kind = "rangefinder_lost", duration_s = 1')
    distance, t = heard["range_distance"], session.truth[: session.rows]["t"]
    assert np.all(distance[(t > 1.1) & (t < 1.95)] == 0.0)
    assert np.all(distance[(t > 0.2) & (t < 1.0)] > 4.0)
    assert np.all(distance[t > 2.1] > 4.0)


@pytest.mark.parametrize(
    ("kind", "section"),
    [("gnss_lost", "gnss"), ("compass_disturbed", "compass"), ("rangefinder_lost", "rangefinder")],
)
def test_a_fault_of_what_is_not_carried_is_refused(kind, section):
    text = HEAD.replace("bonxie", "siskin") + FAULT.format(f'kind = "{kind}"')
    with pytest.raises(
        InputError, match=rf"at#1\.fault: is {kind}; Siskin has no \[{section}\]\. Add that section"
    ):
        start(parse_flight(text))


def test_a_fault_that_stays_takes_no_duration():
    with pytest.raises(
        InputError, match=r"duration_s.*is 2; rotor_lost stays; what may pass: esc_desync, sensor_stuck"
    ):
        parse_flight(HEAD + FAULT.format('kind = "rotor_lost", rotor = "front_left", duration_s = 2'))


def test_a_load_moves_the_centre_of_mass_and_not_the_sensors():
    session = start(parse_flight(HEAD + "[[at]]\nt_s = 0.01\nattach = { mass_g = 400 }\n"))
    places = ("imu_position", "gnss_place", "range_place")
    before = [np.array(session.sensors[p]) + session.plant.centre_of_mass for p in places]
    session.advance(48)
    assert float(session.plant.centre_of_mass[2]) > 0.0
    for place, kept in zip(places, before, strict=True):
        assert np.array(session.sensors[place]) + session.plant.centre_of_mass == pytest.approx(
            kept, abs=1e-12
        )


@pytest.mark.jit
def test_a_dash_misreads_the_height_by_its_airspeed():
    """Williwaw's port, 0.08: at the end of the straight the barometer reads 0.08 V^2/(2 g) low, to its smoothing and noise."""
    from quadsim import load_flight

    session = start(load_flight("speed_dash"))
    session.advance(10**7)
    truth, heard = session.truth[: session.rows], session.heard[: session.rows]
    speed = np.linalg.norm(truth["velocity"] - truth["wind"], axis=1)
    fast = speed > 0.95 * speed.max()
    low = -truth["position"][:, 2][fast] - heard["baro_height"][fast]
    assert speed.max() > 25.0
    assert np.mean(low) == pytest.approx(0.08 * np.mean(speed[fast] ** 2) / (2.0 * 9.80665), rel=0.1)
