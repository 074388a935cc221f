"""Loops measured in flight: what noise does, what a gain does, what is refused.

Closed forms stand in tests/verification/test_flown_loop.py.
"""

from __future__ import annotations

import numpy as np
import pytest

from controllers.attitude import AttitudeGain
from controllers.estimate import EstimateGain
from controllers.rate import RateGain
from controllers.signals import SIGNALS, rows
from quadsim.analysis.flown_sweep import FlownLoop, flown_loop
from quadsim.analysis.sweep_flight import at_limit, room, steady, thrust_axis
from quadsim.errors import FlightError, InputError
from quadsim.simulation.session import Session

W = np.geomspace(14.0, 180.0, 8)
HOVER = steady("siskin")


def quiet(seconds: float) -> Session:
    """A hover whose inertial sensor and barometer have no noise."""
    session = HOVER(seconds)
    for name in session.sensors.dtype.names:
        if any(part in name for part in ("noise", "walk", "kick")):
            session.sensors[name] = 0.0
    return session


def changed(row: int, gain: int, factor: float):
    def make(seconds: float) -> Session:
        session = HOVER(seconds)
        session.gains[row, gain] *= factor
        return session

    return make


@pytest.fixture(scope="module")
def hover() -> FlownLoop:
    return flown_loop(HOVER, "roll", W)


@pytest.mark.jit
def test_the_noise_of_the_sensors_moves_no_line_by_more_than_is_stated(hover: FlownLoop) -> None:
    still = flown_loop(quiet, "roll", W)
    assert np.all(hover.sure) and hover.near_trim and hover.speed < 1.0
    assert np.median(still.scatter) < np.median(hover.scatter)
    apart = np.abs(hover.loop / still.loop - 1.0) / np.hypot(hover.scatter, still.scatter)
    assert np.max(apart) < 5.0
    assert np.max(np.abs(20.0 * np.log10(np.abs(hover.loop / still.loop)))) < 0.1


@pytest.mark.jit
def test_more_gain_is_more_loop_gain(hover: FlownLoop) -> None:
    """Half as much P again is at most 3.5 dB more, and not much less at the low lines, where I and D are the smaller parts."""
    more = flown_loop(changed(3, RateGain.ROLL_P, 1.5), "roll", W)
    gain = 20.0 * np.log10(np.abs(more.loop / hover.loop))
    assert np.all((gain[:3] > 2.0) & (gain[:3] < 20.0 * np.log10(1.5) + 0.1))


@pytest.mark.jit
def test_a_lost_filter_is_seen(hover: FlownLoop) -> None:
    """Without the estimate's low-pass (damping 0.7 at 150 Hz: 2 zeta/w0 of delay) the phase lag shrinks with the frequency."""
    bare = flown_loop(changed(0, EstimateGain.GYRO_CUTOFF, 0.0), "roll", W)
    lead = np.angle(bare.loop / hover.loop)
    expected = 2.0 * np.sqrt(0.5) / (2.0 * np.pi * 150.0) * hover.w
    assert np.allclose(lead, expected, atol=np.radians(2.0))


@pytest.mark.jit
def test_a_wave_that_is_too_great_is_halved_until_no_rotor_meets_a_limit() -> None:
    asked = room(HOVER(1.0), 0)
    found = flown_loop(HOVER, "roll", W, peak=asked, periods=2, settle_s=1.0)
    halvings = np.log2(asked / found.amplitude)
    assert found.near_trim and halvings == pytest.approx(round(halvings)) and 1 <= round(halvings) <= 2


@pytest.mark.jit
def test_what_stays_at_a_limit_does_not_count() -> None:
    """On an allocator that is told to idle at 99 % of the hover command every wave meets a limit."""

    def make(seconds: float) -> Session:
        session = HOVER(seconds)
        session.builder.idle = 0.355
        return session

    found = flown_loop(make, "roll", W, periods=2, settle_s=1.0)
    assert found.clipped > 0.0 and not np.any(found.sure)


@pytest.mark.jit
def test_forward_flight_has_its_speed_and_a_low_pack_is_not_taken_home() -> None:
    found = flown_loop(steady("siskin", pitch_deg=-20.0, charge_pct=12.0), "roll", W[:5], settle_s=12.0)
    assert found.speed > 8.0 and np.all(found.sure)


@pytest.mark.jit
def test_a_flight_that_ends_is_said_to_have_ended() -> None:
    def make(seconds: float) -> Session:
        session = HOVER(seconds)
        session.gains[3] = -session.gains[3]
        return session

    with pytest.raises(FlightError, match="the loop roll could not be measured"):
        flown_loop(make, "roll", W)


@pytest.mark.jit
def test_a_loop_that_is_not_closed_is_told() -> None:
    """With an attitude asked for outright nothing comes back to it from the place."""
    with pytest.raises(InputError, match="place_right is not closed in this flight"):
        flown_loop(HOVER, "place_right", np.geomspace(2.0, 9.0, 4), settle_s=0.5)


@pytest.mark.jit
def test_the_attitude_loop_is_the_gain_over_s_with_the_rate_loop_behind() -> None:
    """Far below the rate loop's crossover L = K/(jw): the attitude is the integral of the rate (closed form). What the rate loop
    makes of it there is its overshoot, by its I: some 13 % at 2 rad/s."""
    found = flown_loop(HOVER, "roll_attitude", np.array([2.0, 3.0]), settle_s=2.0)
    gain = float(HOVER(0.1).gains[2, AttitudeGain.TILT_P])
    assert np.all(found.sure)
    assert np.allclose(np.abs(found.loop), gain / found.w, rtol=0.2)
    assert np.all(np.abs(np.degrees(np.angle(found.loop)) + 90.0) < 20.0)


@pytest.mark.parametrize(
    ("axis", "w", "words"),
    [
        ("left", [10.0], "must be one of roll, pitch, yaw, height"),
        ("roll", [0.0, 10.0], "must be above 0 and below 5027 rad/s"),
        ("roll", [6000.0], "0.8 of half the rate of the law"),
        ("roll", [], "must be above 0"),
    ],
)
def test_bad_input_is_refused(axis: str, w: list[float], words: str) -> None:
    with pytest.raises(InputError, match=words):
        flown_loop(HOVER, axis, np.array(w))


def test_one_period_cannot_tell_its_accuracy() -> None:
    with pytest.raises(InputError, match="must be at least 2"):
        flown_loop(HOVER, "roll", W, periods=1)


def test_the_thrust_axis_of_a_turn_about_roll_leans_to_the_left() -> None:
    """Body z of a roll by a to the right is (0, -sin a, cos a) in north-east-down: the thrust, along -z, pulls to the right."""
    a = 0.3
    axis = thrust_axis(np.array([[np.cos(a / 2.0), np.sin(a / 2.0), 0.0, 0.0]]))
    assert np.allclose(axis, [[0.0, -np.sin(a), np.cos(a)]])


def test_a_limit_is_a_command_at_idle_or_full_or_something_not_given() -> None:
    heard = rows(SIGNALS, 4)
    heard.motor[:] = 0.4
    heard.motor[1, 2], heard.motor[2, 0], heard.unallocated[3, 3] = 1.0, 0.05, 0.1
    assert at_limit(heard, 0.05).tolist() == [False, True, True, True]
