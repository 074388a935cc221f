"""The motor's law against a measured motor, and a measured vehicle against its measured rotor.

Data: Russell, Jung, Willink & Glasner, NASA/TM-2018-219758, run tables (appendix C), in an SI transcription (second-hand):
run 22, one rotor of the report's small quadrotor; run 27, the whole vehicle.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import fsolve

RPM = 2.0 * math.pi / 60.0
ISOLATED = {3000.0: (0.0197, 10.271606), 5000.0: (0.0531, 38.158788), 7000.0: (0.1009, 95.750184)}
"""rpm: torque [N m], electrical power [W] at 1.221 kg/m3."""
VEHICLE = {4000.0: 89.890524, 5000.0: 172.069365, 6000.0: 314.110324, 7000.0: 445.7275}
"""rpm: electrical power of all four at 1.2266 kg/m3 [W]."""
IRON_SHARE = 0.5
"""The default of motor.no_load_iron_pct, at 5000 rpm here."""
AVIONICS = 6.0
"""Power of everything but the motors [W]: not in the report; assumed."""


def power(omega: float, torque: float, lost: float, copper: float) -> float:
    """P = (Q + t) w + R (Q + t)^2/kt^2 with t = kt (i00 + i01 w): the motor's law in terms of torques."""
    t = lost * (1.0 - IRON_SHARE + IRON_SHARE * omega / (5000.0 * RPM))
    return (torque + t) * omega + copper * (torque + t) ** 2


def identified() -> tuple[float, float]:
    """No-load torque at 5000 rpm [N m] and R/kt^2 [1/(N m s)] that give the outer two points exactly."""
    outer = (3000.0, 7000.0)

    def off(unknown: np.ndarray) -> list[float]:
        return [
            power(r * RPM, ISOLATED[r][0], unknown[0] * 1e-3, unknown[1] * 1e3) - ISOLATED[r][1]
            for r in outer
        ]

    lost, copper = fsolve(off, [10.0, 1.0])
    return float(lost) * 1e-3, float(copper) * 1e3


def test_a_motor_identified_from_two_points_predicts_the_third() -> None:
    """Efficiency of motor and ESC at 5000 rpm: 0.7286 measured, 0.7297 by the law; a constant no-load current gives 0.739."""
    torque = ISOLATED[5000.0][0]
    efficiency = torque * 5000.0 * RPM / power(5000.0 * RPM, torque, *identified())
    assert efficiency == pytest.approx(0.7286157774264126, abs=0.03)
    assert efficiency == pytest.approx(
        0.7286157774264126, abs=0.003
    )  # what the split of the no-load current is worth


def vehicle_power(rpm: float) -> float:
    """Four isolated rotors at the vehicle's speed and air density, torque coefficient interpolated over the speed."""
    coefficient = np.interp(rpm, list(ISOLATED), [q / r**2 for r, (q, _) in ISOLATED.items()])
    return 4.0 * power(rpm * RPM, float(coefficient) * rpm**2 * 1.2266 / 1.221, *identified()) + AVIONICS


def test_vehicle_at_4000_rpm_from_its_isolated_rotor() -> None:
    assert vehicle_power(4000.0) == pytest.approx(VEHICLE[4000.0], rel=0.05)


@pytest.mark.parametrize(("rpm", "gap"), [(5000.0, 0.08), (6000.0, 0.22), (7000.0, 0.14)])
def test_the_gap_at_higher_speeds_is_as_large_as_we_say(rpm: float, gap: float) -> None:
    """No agreement, but its absence as it was measured: 5 % was asked, and the vehicle takes 8 % more at 5000 and 14 % more at
    7000 rpm than four of its rotors alone (6000 rpm: 22 %; that row lies 8 % off the power law of its neighbours). No constant
    avionics power closes a gap that grows like the power; what rotors and airframe cost each other on the vehicle is
    not in an isolated rotor's torque, and nothing in the data says how much it is."""
    assert VEHICLE[rpm] / vehicle_power(rpm) - 1.0 == pytest.approx(gap, abs=0.01)


def test_one_resistance_of_leads_explains_all_but_one_row() -> None:
    """Wires between the supply where the power was read and the ESCs are not in the report. If 0.08 ohm is put there, set by the
    row of 7000 rpm at 16.7 V, the rows of 4000 and 5000 rpm are met within 5 %; that of 6000 rpm is missed by 9 %. The resistance
    is fitted: this shows what could explain the gap, it proves nothing."""
    volts, gap = 16.707, VEHICLE[7000.0] - vehicle_power(7000.0)
    resistance = gap / (VEHICLE[7000.0] / volts) ** 2
    assert 0.06 < resistance < 0.1
    for rpm, near in ((4000.0, 0.05), (5000.0, 0.05), (6000.0, 0.1)):
        predicted = vehicle_power(rpm) + resistance * (VEHICLE[rpm] / volts) ** 2
        assert predicted == pytest.approx(VEHICLE[rpm], rel=near)
