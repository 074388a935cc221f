"""Three rotors: what is given, what is missing, and the blocks that give up yaw."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controllers import MEMORY_SIZE, SIGNALS, example_craft, rows
from controllers.allocate import AllocateGain, priority
from controllers.attitude import quaternion_p
from controllers.rate import pid
from controllers.rotor_loss import allocate_without

LOW, HIGH, YAW = 0.05, 6.0, 7.0
CRAFT = example_craft()


def without(lost: int, roll: float, pitch: float, thrust: float) -> tuple[np.ndarray, np.ndarray]:
    thrusts, missing = np.zeros(4), np.zeros(4)
    allocate_without(CRAFT.effectiveness, lost, roll, pitch, YAW, thrust, LOW, HIGH, thrusts, missing)
    return thrusts, missing


@settings(deadline=None)
@given(
    lost=st.integers(0, 3),
    roll=st.floats(-200.0, 200.0),
    pitch=st.floats(-200.0, 200.0),
    thrust=st.floats(0.0, 30.0),
)
def test_thrusts_stay_within_limits_and_what_is_missing_is_said(
    lost: int, roll: float, pitch: float, thrust: float
) -> None:
    thrusts, missing = without(lost, roll, pitch, thrust)
    assert thrusts[lost] == 0.0
    others = np.delete(thrusts, lost)
    assert np.all(others >= LOW - 1e-12)
    assert np.all(others <= HIGH + 1e-12)
    given_ = CRAFT.effectiveness @ thrusts
    assert missing == pytest.approx(np.array([roll, pitch, YAW, thrust]) - given_, abs=1e-9)


@pytest.mark.parametrize("lost", range(4))
def test_what_three_rotors_can_give_they_give(lost: int) -> None:
    """Any three thrusts within the limits come back from the roll, pitch and thrust that they make."""
    wanted = np.array([1.3, 2.1, 0.9, 1.7])
    wanted[lost] = 0.0
    asked = CRAFT.effectiveness @ wanted
    thrusts, missing = without(lost, asked[0], asked[1], asked[3])
    assert thrusts == pytest.approx(wanted, abs=1e-9)
    assert missing[[0, 1, 3]] == pytest.approx([0.0] * 3, abs=1e-9)


def test_level_hover_without_one_rests_on_the_two_beside_it() -> None:
    """Statics: without a moment and with one rotor gone the opposite one rests, and the two others carry half the weight each."""
    thrusts, missing = without(0, 0.0, 0.0, 6.0)
    assert thrusts[2] == LOW
    assert thrusts[[1, 3]] == pytest.approx([0.5 * (6.0 - LOW)] * 2, rel=0.02)
    assert missing[3] == pytest.approx(0.0, abs=1e-9)


def signals(lost: int) -> np.record:
    s = rows(SIGNALS)[0]
    s.dt, s.airborne, s.armed, s.attitude_weight, s.battery_voltage = (
        1e-3,
        1.0,
        1.0,
        1.0,
        CRAFT.nominal_voltage,
    )
    s.attitude[:] = (np.cos(0.4), 0.0, 0.0, np.sin(0.4))
    s.attitude_wanted[0] = 1.0
    s.rates[:] = (0.1, -0.2, 9.0)
    if lost >= 0:
        s.rotor_lost[lost] = 1.0
    return s


def test_attitude_and_rate_give_up_yaw() -> None:
    """With a heading error and a spin of 9 rad/s: nothing is asked about yaw once a rotor is found lost."""
    for lost, free in ((-1, False), (2, True)):
        s = signals(lost)
        quaternion_p(s, CRAFT, quaternion_p.default_gains(), np.zeros(MEMORY_SIZE))
        assert bool(abs(s.rates_wanted[2] - s.rates[2]) < 1e-12) is free
        memory = np.zeros(MEMORY_SIZE)
        for _ in range(50):
            pid(s, CRAFT, pid.default_gains(), memory)
        assert bool(np.abs(memory[1:4]).max() == 0.0) is free  # the integrals


def test_the_lost_rotor_is_switched_off() -> None:
    s = signals(3)
    s.thrust_wanted = 6.0
    priority(s, CRAFT, priority.default_gains(), np.zeros(MEMORY_SIZE))
    assert s.motor[3] == 0.0
    assert np.all(s.motor[:3] >= CRAFT.idle)


def test_the_declared_priority() -> None:
    """Four rotors of 6 N, 6 N asked in all and a roll of 2.5 N a side: raw -1, -1, 4, 4. Roll and pitch first keep the roll and
    raise the thrust; thrust first keeps 6 N and gives the roll that is left (arithmetic)."""
    roll = float(2.5 / CRAFT.allocation[2, 0])
    for first, thrust in ((0.0, None), (1.0, 6.0)):
        s = signals(-1)
        s.angular_acceleration_wanted[0], s.thrust_wanted = roll, 6.0
        gains = priority.default_gains()
        gains[AllocateGain.PRIORITY], gains[AllocateGain.VOLTAGE_COMPENSATION] = first, 0.0
        priority(s, CRAFT, gains, np.zeros(MEMORY_SIZE))
        if thrust is None:
            assert s.unallocated[0] == 0.0
            assert s.unallocated[3] < -3.9
        else:
            assert s.unallocated[3] == pytest.approx(0.0, abs=1e-9)
            assert 0.35 * roll < s.unallocated[0] < 0.45 * roll
