"""Each fault does to the craft what it says, with the right sign: closed-form balances of force and moment."""

import numpy as np
import pytest

from quadsim.config import load_craft, parse_craft
from quadsim.config.flight_loader import parse_flight
from quadsim.dynamics.rigid_body import stop_blocked
from quadsim.dynamics.state import ROTOR_NAMES, X
from quadsim.errors import InputError
from quadsim.simulation.carried import Status
from quadsim.simulation.faults import BACKWARDS_THRUST
from quadsim.simulation.fly import sentence, start

HEAD = """
title = "fault"
craft = "siskin"
duration_s = 5
log_rate_Hz = 4000
[start]
height_m = 20
mode = "attitude_command"
"""
FAULT = "[[at]]\nt_s = 0\nfault = {{ {} }}\n"


def flown(fault="", ticks=1):
    session = start(parse_flight(HEAD + (FAULT.format(fault) if fault else "")))
    session.advance(ticks)
    return session


def lift(session, row=0):
    """Rotor thrusts [N] of a log row: those of the very tick, before the step."""
    return np.array(session.truth[row]["thrust"])


def moments(session):
    """Roll, pitch and yaw acceleration [rad/s2] at the last tick, from the derivative there."""
    return session.motion.k1[X.RATES : X.RATES + 3].copy()


def test_a_weak_rotor_keeps_its_share_and_the_craft_drops_to_its_side():
    healthy, weak = flown(), flown('kind = "rotor_weak", rotor = "front_right", remaining_pct = 60')
    assert lift(weak) == pytest.approx(lift(healthy) * [0.6, 1.0, 1.0, 1.0], rel=1e-9)
    roll, pitch, _ = moments(weak) - moments(healthy)
    assert roll > 1.0  # less lift on the right: right side down
    assert pitch < -1.0  # less lift in front: nose down


@pytest.mark.parametrize("place", ROTOR_NAMES)
def test_a_lost_rotor_gives_nothing_and_draws_nothing(place):
    k = ROTOR_NAMES.index(place)
    lost = flown(f'kind = "rotor_lost", rotor = "{place}"', ticks=8)
    assert lost.held.thrust[k] == 0.0
    assert lost.held.motor_current[k] == 0.0
    assert all(lost.held.thrust[n] > 0.5 for n in range(4) if n != k)
    roll, pitch, _ = moments(lost) - moments(flown(ticks=8))
    right, front = "right" in place, "front" in place
    assert (roll > 0.0) == right
    assert (pitch < 0.0) == front


def test_a_blocked_rotor_stands_draws_its_limit_and_warms():
    """Ohm: duty times pack voltage over the resistance, no shaft work: all of it heat; the others fly on."""
    session = flown('kind = "rotor_stuck", rotor = "rear_right"', ticks=4)
    for name in ("motor_line", "motor_smooth", "motor_taken"):
        session.carried[name][:] = 0.5
    session.signals.motor[:] = 0.5
    session.advance(1)
    plant, held = session.plant, session.held
    assert abs(session.x[X.ROTORS + 1]) < 0.1  # brought to rest again every millisecond
    assert abs(held.thrust[1]) < 1e-6
    assert held.motor_torque[1] == 0.0
    stall = held.duty[1] * float(held.battery_voltage) * held.per_motor_resistance[1]
    assert held.motor_current[1] == pytest.approx(min(stall, float(plant.current_limit)), rel=1e-6)
    assert held.motor_current[1] > 1.2 * held.motor_current[0]  # those are still speeding up
    session.advance(400)
    rise = np.array(held.winding_temperature) - float(plant.air_temperature)
    assert rise[1] > 5.0 * max(rise[0], rise[2], rise[3])


def test_blocking_a_rotor_keeps_the_angular_momentum():
    """z of I w + sum J s omega, I with the rotors as locked, before and after the stop, through the body's yaw."""
    session = start(parse_flight(HEAD))
    plant, held, x = session.plant, session.held, session.x
    session.advance(1)

    def momentum():
        spun = float(plant.rotor_inertia) * np.array(held.turning) @ x[X.ROTORS : X.ROTORS + 4]
        return np.array(plant.inertia) @ x[X.RATES : X.RATES + 3] + [0.0, 0.0, spun]

    held.blocked[2] = held.any_blocked = 1.0
    before, yaw = momentum(), float(x[X.RATES + 2])
    stop_blocked(x, held, plant)
    assert momentum() == pytest.approx(before, rel=1e-9, abs=1e-12)
    assert x[X.ROTORS + 2] == 0.0
    assert abs(x[X.RATES + 2] - yaw) > 0.1


@pytest.mark.jit
def test_a_blocked_winding_ends_the_flight():
    text = HEAD.replace("height_m = 20", "height_m = 400").replace("duration_s = 5", "duration_s = 25")
    session = start(parse_flight(text + FAULT.format('kind = "rotor_stuck", rotor = "front_left"')))
    session.advance(session.total_ticks)
    assert Status(int(session.carried.status)) == Status.OVERHEATED
    assert "front left motor's winding passed 150 deg C" in sentence(session)
    assert session.held.winding_temperature[3] == pytest.approx(423.15, abs=1.0)


def test_an_esc_out_of_step_gives_no_torque_for_its_time_and_comes_back():
    session = flown('kind = "esc_desync", rotor = "rear_left", duration_s = 0.05', ticks=100)
    assert session.held.motor_current[2] == 0.0
    slowed = float(session.x[X.ROTORS + 2])
    assert slowed < 0.9 * float(session.x[X.ROTORS])
    session.advance(200)
    assert session.held.motor_current[2] > 1.0
    assert [e.text for e in session.events if e.kind == "fault"] == [
        "rear left ESC out of step with its motor for 0.05 s",
        "rear left ESC back in step",
    ]
    assert session.events[-1].t_s == pytest.approx(0.05)


@pytest.mark.jit
def test_a_weak_cell_is_what_min_cell_sees_and_it_empties_the_pack():
    text = HEAD.replace("height_m = 20", "height_m = 20\ncharge_pct = 31").replace(
        "duration_s = 5", "duration_s = 30"
    )
    weak = start(
        parse_flight(text + FAULT.format('kind = "cell_weak", capacity_pct = 70, resistance_factor = 3'))
    )
    weak.advance(400)
    row = weak.truth[weak.rows - 1]
    assert row["weakest_cell"] < row["battery_voltage"] / 4.0 - 0.1
    weak.advance(weak.total_ticks)
    assert Status(int(weak.carried.status)) == Status.BATTERY_EMPTY
    assert weak.x[X.CHARGE] == pytest.approx(
        0.3, abs=1e-4
    )  # 1 - 0.7 of the charge is gone: that cell is empty


def test_a_motor_that_turns_the_wrong_way_blows_upwards_and_yaws():
    healthy, wrong = flown(), flown('kind = "spin_reversed", rotor = "front_left"')
    assert lift(wrong)[3] == pytest.approx(-BACKWARDS_THRUST * lift(healthy)[3], rel=1e-9)
    assert wrong.held.turning[3] == -healthy.held.turning[3]
    change = moments(wrong)[2] - moments(healthy)[2]
    assert np.sign(change) == np.sign(
        healthy.held.turning[3]
    )  # its reaction now turns the body the other way


def test_a_propeller_upside_down_lifts_less_but_lifts():
    healthy, wrong = flown(), flown('kind = "propeller_upside_down", rotor = "rear_left"')
    assert lift(wrong)[2] == pytest.approx(BACKWARDS_THRUST * lift(healthy)[2], rel=1e-9)


def test_an_unbalanced_propeller_shakes_the_sensor_alone():
    healthy = flown(ticks=40)
    shaken = flown('kind = "propeller_imbalance", rotor = "rear_right", imbalance_gmm = 3', ticks=40)
    assert np.array(shaken.sensors.imbalance) == pytest.approx([0.0, 3e-6, 0.0, 0.0])
    # m e W^2/M, at the last sample a little slower; the sensor sits near the centre of mass
    felt = 3e-6 * float(shaken.x[X.ROTORS + 1]) ** 2 / float(shaken.plant.mass)
    assert np.linalg.norm(shaken.carried.shake_raw[:, :2]) / np.sqrt(2.0) == pytest.approx(felt, rel=0.15)
    assert not np.any(healthy.carried.shake_raw)
    assert lift(shaken, -1) == pytest.approx(lift(healthy, -1), rel=1e-3)
    assert [event.text for event in shaken.events] == ["rear right propeller out of balance by 3 g mm"]


def test_swapped_rotors_get_each_others_commands():
    session = flown('kind = "rotors_swapped", rotors = ["front_right", "rear_right"]', ticks=40)
    session.carried.motor_line[:] = [0.2, 0.4, 0.6, 0.8]
    session.carried.motor_smooth[:] = 0.0
    session.sensors.motor_blend = 1.0
    session.signals.motor[:] = [0.2, 0.4, 0.6, 0.8]
    session.advance(1)
    assert np.array(session.held.duty) == pytest.approx([0.4, 0.2, 0.6, 0.8], abs=1e-3)


def gyro_seen(fault, rates):
    """What the controller reads of given body rates [rad/s], noise and bias off."""
    text = load_craft("siskin").source_text + "\n[flight_controller.gyro]\nscale_error_pct = 0\nmisalignment_deg = 0\n"
    text += "g_sensitivity_deg_s_g = 0\nbias_instability_deg_h = 0\n"
    session = start(parse_flight(HEAD + FAULT.format(fault)), craft=parse_craft(text))
    for name in ("gyro_noise", "gyro_walk", "gyro_step", "imu_delay"):
        setattr(session.sensors, name, 0.0)
    session.sensors.gyro_blend = 1.0
    session.carried.gyro_bias[:] = 0.0
    session.x[X.RATES : X.RATES + 3] = rates
    session.advance(1)
    return np.array(session.signals.gyro)


@pytest.mark.parametrize(
    ("fault", "seen"),
    [
        ('kind = "gyro_axis_reversed", axis = "roll"', [-0.3, 0.2, 0.1]),
        ('kind = "gyro_axis_reversed", axis = "yaw"', [0.3, 0.2, -0.1]),
        ('kind = "sensor_turned", turned_deg = 180', [-0.3, -0.2, 0.1]),
        ('kind = "sensor_turned", turned_deg = 90', [-0.2, 0.3, 0.1]),
        ('kind = "sensor_turned", turned_deg = -90', [0.2, -0.3, 0.1]),
    ],
)
def test_what_a_wrong_sensor_reads(fault, seen):
    assert gyro_seen(fault, [0.3, 0.2, 0.1]) == pytest.approx(seen, abs=1e-12)


def test_a_gyroscope_stuck_for_a_time_repeats_its_last_value():
    text = HEAD + '[[at]]\nt_s = 0.01\nfault = { kind = "sensor_stuck", sensor = "gyro", duration_s = 0.02 }\n'
    session = start(parse_flight(text))
    session.advance(200)
    t, gyro = np.array(session.truth.t[: session.rows]), np.array(session.heard.gyro[: session.rows])
    stuck = (t > 0.0105) & (t < 0.0299)
    assert np.all(gyro[stuck] == gyro[stuck][0])
    assert len(np.unique(gyro[t > 0.0305, 0])) > 4  # in steps of the resolution
    assert len(np.unique(np.array(session.heard.accel[: session.rows])[stuck, 0])) > 10
    assert [(e.t_s, e.text) for e in session.events] == [
        (pytest.approx(0.01), "gyro stuck at its last value for 0.02 s"),
        (pytest.approx(0.03), "gyro back"),
    ]


def test_an_accelerometer_that_is_lost_reads_zero_to_the_end():
    session = flown('kind = "sensor_lost", sensor = "accelerometer"', ticks=60)
    assert not np.any(session.heard.accel[20 : session.rows])
    assert np.any(session.heard.gyro[20 : session.rows])
    assert [event.text for event in session.events] == ["accelerometer lost, reads zero"]


@pytest.mark.parametrize(
    ("fault", "message"),
    [
        ('kind = "sensor_stuck"', "sensor_stuck needs sensor = gyro or accelerometer"),
        ('kind = "rotor_lost", rotor = "rear_left", duration_s = 1', "rotor_lost stays; what may pass: "),
    ],
)
def test_a_fault_that_makes_no_sense_is_refused(fault, message):
    with pytest.raises(InputError, match=message):
        parse_flight(HEAD + FAULT.format(fault))


def test_a_payload_moves_the_centre_of_mass_and_not_the_craft():
    """Attached at rest relative to the craft: place and velocity of the frame's origin stay, the rates stay."""
    load = "mass_g = 200, at_mm = [40, -30, 60]"
    text = HEAD + f'[[at]]\nt_s = 0.002\nattach = {{ {load} }}\n[[at]]\nt_s = 0.004\nrelease = "payload"\n'
    session = start(parse_flight(text))
    session.x[X.RATES : X.RATES + 3] = 0.5, -0.4, 0.3
    mass = float(session.plant.mass)
    origins, masses = [], []
    for _ in range(3):
        session.advance(8)
        origins.append(np.array(session.truth[: session.rows]["position"]))
        masses.append(float(session.plant.mass))
    assert masses == pytest.approx([mass, mass + 0.2, mass])
    steps = np.diff(origins[-1], axis=0)
    assert np.max(np.abs(np.diff(steps, axis=0))) < 5e-6  # a jump of the origin would show as millimetres
    assert [event.text for event in session.events] == [
        "payload of 200 g attached",
        "misfit: payload reaches 83 mm below the feet: the craft would land on it",
        "payload released",
    ]
    assert [(one["from_s"], one["to_s"]) for one in session.payloads.shown] == [(0.002, 0.004)]


def test_a_payload_hangs_on_the_same_forces():
    """Newton: the same rotors lift a heavier craft, so its acceleration is down by thrust (1/m - 1/(m + dm))."""
    bare, laden = (
        start(parse_flight(HEAD)),
        start(parse_flight(HEAD + "[[at]]\nt_s = 0\nattach = { mass_g = 300 }\n")),
    )
    for session in (bare, laden):
        session.advance(1)
    thrust = float(np.sum(lift(bare)))
    assert float(np.sum(lift(laden))) == pytest.approx(thrust, rel=1e-6)
    m = float(bare.plant.mass)
    change = laden.motion.k1[X.VELOCITY + 2] - bare.motion.k1[X.VELOCITY + 2]
    assert change == pytest.approx(thrust * (1.0 / m - 1.0 / (m + 0.3)), rel=1e-6)
