"""Properties of the allocation for any geometry and any wish, by random draw."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from controllers import MEMORY_SIZE, SIGNALS, example_craft, rows
from controllers.allocate import AllocateGain, allocate_thrusts, command_for, priority, thrust_at

HIGH = 6.0


def geometry(front: float, rear: float, side: float, drag: float) -> np.ndarray:
    """Effectiveness in newton metres of a frame whose centre of mass lies off the middle."""
    return np.array([
        [-side, -side, side, side],
        [front, -rear, -rear, front],
        [drag, -drag, drag, -drag],
        [1.0, 1.0, 1.0, 1.0],
    ])  # fmt: skip


frames = st.builds(
    geometry, st.floats(0.05, 0.2), st.floats(0.05, 0.2), st.floats(0.05, 0.2), st.floats(0.005, 0.03)
)


wishes = st.tuples(st.floats(-5, 5), st.floats(-5, 5), st.floats(-1, 1), st.floats(-10, 40))


def spread(
    frame: np.ndarray, wish: tuple, low: float, shift: float = np.inf
) -> tuple[np.ndarray, np.ndarray]:
    thrusts, missing = np.zeros(4), np.zeros(4)
    allocation = np.ascontiguousarray(np.linalg.inv(frame))
    allocate_thrusts(allocation, *wish, low, HIGH, shift, shift, thrusts, missing)
    return thrusts, missing


@settings(max_examples=300, deadline=None)
@given(frames, wishes, st.floats(0.0, 0.6))
def test_never_out_of_bounds_and_honest(frame: np.ndarray, wish: tuple, low: float) -> None:
    """Every rotor within bounds; given plus missing is what was wanted; priorities kept."""
    thrusts, missing = spread(frame, wish, low)
    assert np.all(thrusts >= low)
    assert np.all(thrusts <= HIGH)
    assert frame @ thrusts + missing == pytest.approx(np.array(wish), abs=1e-8)
    for axis in range(3):
        assert missing[axis] * wish[axis] >= -1e-12  # never the wrong way
        assert abs(missing[axis]) <= abs(wish[axis]) + 1e-12  # never too much
    if max(abs(missing[0]), abs(missing[1])) > 1e-9:
        # Roll and pitch give way last: then two rotors stand at opposite bounds.
        assert thrusts.max() == pytest.approx(HIGH, abs=1e-8)
        assert thrusts.min() == pytest.approx(low, abs=1e-8)


@settings(max_examples=200, deadline=None)
@given(frames, arrays(float, 4, elements=st.floats(0.61, 5.99)))
def test_exact_when_it_can_be(frame: np.ndarray, thrusts: np.ndarray) -> None:
    """Whatever rotors within bounds make is given back exactly, and nothing is reported as missing."""
    given_back, missing = spread(frame, tuple(frame @ thrusts), 0.6)
    assert given_back == pytest.approx(thrusts, abs=1e-9)
    assert np.all(missing == 0.0)


@settings(max_examples=200, deadline=None)
@given(frames, wishes, st.floats(0.0, 3.0))
@example(geometry(0.1875, 0.0546875, 0.125, 0.015625), (0.0, 1.0, 0.0, 16.0), 0.0)
def test_thrust_is_shifted_no_further_than_allowed(frame: np.ndarray, wish: tuple, shift: float) -> None:
    """From what thrust alone could have; a wish that fits with its roll and pitch may lie beyond that, and is given."""
    thrusts, _ = spread(frame, wish, 0.1, shift)
    lifts = np.linalg.inv(frame)[:, 3]
    reachable = np.clip(wish[3], (0.1 / lifts).max(), (HIGH / lifts).min())
    assert min(abs(thrusts.sum() - reachable), abs(thrusts.sum() - wish[3])) <= shift + 1e-8


@settings(max_examples=100, deadline=None)
@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_thrust_curve_is_inverted(command: float, curve: float) -> None:
    assert command_for(thrust_at(command, curve), curve) == pytest.approx(command, abs=1e-7)


def test_a_rotor_that_cannot_lift_is_cut_off() -> None:
    allocation = np.zeros((4, 4))
    thrusts, missing = np.zeros(4), np.zeros(4)
    allocate_thrusts(allocation, 1.0, 2.0, 3.0, 4.0, 0.5, HIGH, np.inf, np.inf, thrusts, missing)
    assert thrusts == pytest.approx([0.5] * 4)
    assert missing == pytest.approx([1.0, 2.0, 3.0, 4.0])


def run(airborne: float, acceleration: float, thrust: float, **gains: float) -> np.record:
    s, craft, memory = rows(SIGNALS)[0], example_craft(), np.zeros(MEMORY_SIZE)
    s.dt, s.battery_voltage, s.airborne, s.thrust_wanted = 1e-3, craft.nominal_voltage, airborne, thrust
    s.armed = 1.0
    s.angular_acceleration_wanted[0] = acceleration
    values = priority.default_gains()
    for name, value in gains.items():
        values[AllocateGain[name]] = value
    priority(s, craft, values, memory)
    return s


def test_no_thrust_is_added_on_the_ground_at_idle() -> None:
    """What would make a landed craft bounce; in the air, roll is served all the same."""
    idle = example_craft().idle
    assert run(0.0, 100.0, 0.0).motor == pytest.approx([idle] * 4, abs=1e-12)
    raised = run(1.0, 100.0, 0.0)
    assert raised.motor.max() > 0.2
    assert raised.unallocated[0] == 0.0
    assert run(0.0, 100.0, 0.0, GROUND_RAISE=0.1).motor.max() > idle


def test_command_never_leaves_idle_to_one() -> None:
    for acceleration in (0.0, 1e5):
        for thrust in (-5.0, 0.0, 1e3):
            motor = run(1.0, acceleration, thrust).motor
            assert motor.min() >= example_craft().idle
            assert motor.max() <= 1.0


def test_a_senseless_voltage_is_not_believed() -> None:
    s, craft, memory = rows(SIGNALS)[0], example_craft(), np.zeros(MEMORY_SIZE)
    s.dt, s.airborne, s.armed, s.thrust_wanted = 1e-3, 1.0, 1.0, 6.0
    for voltage in (0.0, -3.0, 100.0):
        s.battery_voltage = voltage
        priority(s, craft, priority.default_gains(), memory)
        assert s.motor == pytest.approx([command_for(0.25, craft.thrust_curve)] * 4, abs=1e-12)
