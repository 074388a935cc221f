"""Attitude and rate laws: signs, limits, what is held when."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controllers import MEMORY_SIZE, SIGNALS, example_craft, load_block, rows
from controllers.attitude import AttitudeGain, quaternion_p
from controllers.rate import Memory, RateGain, pid
from controllers.rotation import from_euler, turn

CRAFT = example_craft()


def attitude(wanted: tuple, flown: tuple = (0.0, 0.0, 0.0), weight: float = 1.0, **gains: float) -> np.record:
    s, values = rows(SIGNALS)[0], quaternion_p.default_gains()
    s.attitude_wanted[:], s.attitude[:] = from_euler(*wanted), from_euler(*flown)
    s.attitude_weight, s.rates_fed_forward[:] = weight, (0.1, 0.2, 0.3)
    for name, value in gains.items():
        values[AttitudeGain[name]] = value
    quaternion_p(s, CRAFT, values, np.zeros(MEMORY_SIZE))
    return s


def test_small_errors_are_proportional_per_axis() -> None:
    got = attitude((2e-3, -1e-3, 3e-3)).rates_wanted - np.array([0.1, 0.2, 0.3])
    assert got == pytest.approx([6.5 * 2e-3, 6.5 * -1e-3, 2.8 * 3e-3], abs=5e-5)


def test_weight_zero_leaves_what_is_fed_forward() -> None:
    assert attitude((1.0, -0.5, 2.0), weight=0.0).rates_wanted == pytest.approx([0.1, 0.2, 0.3], abs=1e-12)


def test_tilt_rate_is_limited_in_its_direction() -> None:
    got = attitude((0.6, 0.6, 0.0), TILT_P=30.0).rates_wanted[:2] - np.array([0.1, 0.2])
    assert math.hypot(*got) == pytest.approx(AttitudeGain.TILT_RATE_MAX.default, abs=1e-9)
    free = attitude((0.6, 0.6, 0.0), TILT_P=0.1).rates_wanted[:2] - np.array([0.1, 0.2])
    assert got[1] / got[0] == pytest.approx(free[1] / free[0], rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(*[st.floats(-3.0, 3.0)] * 6)
def test_turns_the_short_way_from_anywhere(
    a: float, b: float, c: float, d: float, e: float, f: float
) -> None:
    """A craft that turns at the rates wanted gets there, in whichever sign the quaternions come."""
    s, gains = rows(SIGNALS)[0], quaternion_p.default_gains()
    s.attitude_wanted[:], s.attitude[:], s.attitude_weight = (
        from_euler(a, b / 2, c),
        from_euler(d, e / 2, f),
        1.0,
    )
    s.attitude_wanted[:] *= -1.0
    for _ in range(600):
        quaternion_p(s, CRAFT, gains, np.zeros(MEMORY_SIZE))
        s.attitude[:] = turn(*s.attitude, *s.rates_wanted, 0.01)
    assert abs(np.dot(s.attitude, s.attitude_wanted)) == pytest.approx(1.0, abs=1e-4)


def rate(airborne: float = 1.0, **gains: float) -> tuple:
    s, values = rows(SIGNALS)[0], np.zeros(32)
    values[RateGain.DERIVATIVE_CUTOFF] = 60.0
    values[RateGain.INTEGRAL_LIMIT] = values[RateGain.FEED_FORWARD_LIMIT] = 1e3
    for name, value in gains.items():
        values[RateGain[name]] = value
    s.dt, s.airborne = 1e-3, airborne
    return s, values, np.zeros(MEMORY_SIZE)


def test_integral_waits_for_lift_off_and_is_cleared_on_landing() -> None:
    s, gains, memory = rate(0.0, ROLL_I=10.0)
    s.rates_wanted[0] = 1.0
    for airborne, expected in ((0.0, 0.0), (1.0, 10.0 * 0.1), (0.0, 0.0)):
        s.airborne = airborne
        for _ in range(100):
            pid(s, CRAFT, gains, memory)
        assert s.angular_acceleration_wanted[0] == pytest.approx(expected, abs=1e-9)


def test_integral_stops_per_axis_while_something_is_missing() -> None:
    """Roll lacks what it asks for and stops, pitch lacks the other way and goes on, yaw is free and stops at its limit."""
    s, gains, memory = rate(ROLL_I=10.0, PITCH_I=10.0, YAW_I=10.0, INTEGRAL_LIMIT=0.4)
    s.rates_wanted[:], s.unallocated[:] = 1.0, (0.5, -0.5, 0.0, 0.0)
    for _ in range(20):
        pid(s, CRAFT, gains, memory)
    assert s.angular_acceleration_wanted == pytest.approx([0.0, 0.2, 0.2], abs=1e-9)
    for _ in range(100):
        pid(s, CRAFT, gains, memory)
    assert s.angular_acceleration_wanted[2] == pytest.approx(0.4, abs=1e-9)


def test_derivative_acts_on_the_measurement_alone() -> None:
    """A ramp of 3 rad/s2 in the rate gives -D times 3; a step of the wanted rate gives nothing."""
    s, gains, memory = rate(ROLL_D=0.5)
    for k in range(300):
        s.rates[0], s.rates_wanted[0] = 3e-3 * k, 5.0
        pid(s, CRAFT, gains, memory)
    assert s.angular_acceleration_wanted[0] == pytest.approx(-1.5, abs=1e-6)


def test_feed_forward_of_the_wanted_acceleration() -> None:
    s, gains, memory = rate(FEED_FORWARD=0.4)
    for k in range(300):
        s.rates_wanted[1] = 2e-3 * k
        pid(s, CRAFT, gains, memory)
    assert s.angular_acceleration_wanted[1] == pytest.approx(0.8, abs=1e-6)
    gains[RateGain.FEED_FORWARD_LIMIT] = 0.3
    pid(s, CRAFT, gains, memory)
    assert s.angular_acceleration_wanted[1] == pytest.approx(0.3, abs=1e-9)


def test_gyroscopic_acceleration_is_cancelled() -> None:
    """Euler's equation for principal axes: the law asks for what the body's own turning takes away."""
    s, gains, memory = rate(GYROSCOPIC=1.0)
    s.rates[:] = (3.0, 2.0, 1.0)
    pid(s, CRAFT, gains, memory)
    a, b, c = np.diag(CRAFT.inertia)
    expected = [(c - b) * 2.0 * 1.0 / a, (a - c) * 1.0 * 3.0 / b, (b - a) * 3.0 * 2.0 / c]
    assert s.angular_acceleration_wanted == pytest.approx(expected, rel=1e-9)


def test_no_kick_at_the_first_run() -> None:
    s, gains, memory = rate(ROLL_D=1.0, FEED_FORWARD=1.0)
    s.rates[0], s.rates_wanted[0] = 4.0, 4.0
    pid(s, CRAFT, gains, memory)
    assert s.angular_acceleration_wanted[0] == 0.0
    assert memory[Memory.RATE] == 4.0


@pytest.mark.parametrize(
    ("slot", "name"), [("attitude", "rates_wanted"), ("rate", "angular_acceleration_wanted")]
)
def test_hold_leaves_everything(slot: str, name: str) -> None:
    s = rows(SIGNALS)[0]
    s[name] = (1.0, 2.0, 3.0)
    before = s.tobytes()
    load_block("hold", slot).block(s, CRAFT, np.zeros(32), np.zeros(MEMORY_SIZE))
    assert s.tobytes() == before
