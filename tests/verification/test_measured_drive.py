"""The motor's law against a measured motor, and a vehicle's electrical power from its own bench and from one rotor alone.

Data: Russell, Jung, Willink & Glasner, NASA/TM-2018-219758, in an SI transcription (vehicle_runs.py).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import fsolve
from vehicle_runs import ALONE, ALONE_AIR, DIAMETER, HOVER, HOVER_AIR, WIND, WIND_AIR

from quadsim.analysis.evidence import MOUNTED_SIGMA
from quadsim.config.craft_loader import parse_craft
from quadsim.config.craft_schema import Craft
from quadsim.config.find_data import shipped
from quadsim.config.propeller_evidence import propeller_map
from quadsim.constants import G0, R_AIR
from quadsim.dynamics.rotor_coefficients import torque_coefficient
from quadsim.dynamics.rotor_map import RotorMap
from quadsim.units import CELSIUS, INCH

Array = NDArray[np.float64]

RPM = 2.0 * math.pi / 60.0
IRON_SHARE = 0.5
"""The default of motor.no_load_iron_pct, at 5000 rpm here."""
AVIONICS = 6.0
"""Power of everything but the motors [W]: not in the report, and not in its currents, which are the ESCs'; assumed."""
KT = 0.012
"""Torque constant [N m/A]. Any will do: the law's power depends on R/kt^2 and kt i0."""


def power(omega: Array | float, torque: Array | float, lost: float, copper: float) -> Array | float:
    """P = (Q + t) w + R (Q + t)^2/kt^2 with t = kt (i00 + i01 w): the motor's law in terms of torques."""
    t = lost * (1.0 - IRON_SHARE + IRON_SHARE * omega / (5000.0 * RPM))
    return (torque + t) * omega + copper * (torque + t) ** 2


def alone_power() -> Array:
    """Electrical power of the rotor alone [W], a row each of ALONE."""
    return np.asarray(ALONE[:, 3] * ALONE[:, 4])


def vehicle_power() -> Array:
    """Electrical power of the four ESCs in hover [W], a row each of HOVER."""
    return np.asarray(HOVER[:, 2] * HOVER[:, 3:].sum(axis=1))


def identified() -> tuple[float, float]:
    """No-load torque at 5000 rpm [N m] and R/kt^2 [1/(N m s)] that give the power of run 22 at 3000 and 7000 rpm exactly."""
    outer = ALONE[[1, 10]]

    def off(unknown: Array) -> list[float]:
        found = power(outer[:, 0] * RPM, outer[:, 2], unknown[0] * 1e-3, unknown[1] * 1e3)
        return list(found - outer[:, 3] * outer[:, 4])

    lost, copper = fsolve(off, [10.0, 1.0])
    return float(lost) * 1e-3, float(copper) * 1e3


@pytest.mark.parametrize("row", [k for k in range(1, len(ALONE)) if k not in (1, 10)])
def test_a_motor_identified_from_two_points_predicts_the_others(row: int) -> None:
    """Electrical power at the ten other speeds up to 8000 rpm from the measured torque, within 5 %. At 2500 rpm, where the last
    digit of the torque is 0.7 %, it comes out 5.8 % low."""
    rpm, _, torque, volts, amps = ALONE[row]
    assert power(rpm * RPM, torque, *identified()) == pytest.approx(volts * amps, rel=0.05)


def test_efficiency_of_motor_and_esc() -> None:
    """At 5000 rpm 0.7286 measured, 0.7297 by the law; a constant no-load current gives 0.739."""
    torque = ALONE[5, 2]
    efficiency = torque * 5000.0 * RPM / power(5000.0 * RPM, torque, *identified())
    assert efficiency == pytest.approx(0.7286157774264126, abs=0.003)


def vehicle(rows: Sequence[int]) -> Craft:
    """A craft with these rows of run 27 as its bench on the own arm, and the motor of run 22."""
    bench = "".join(
        f"{{ rpm = {rpm:.0f}, thrust_g = {thrust / 4.0 / G0 * 1e3}, current_A = {sum(amps) / 4.0}, voltage_V = {volts} }},\n"
        for rpm, thrust, volts, *amps in HOVER[list(rows)].tolist()
    )
    air = f"temperature_C = 20.0\npressure_hPa = {HOVER_AIR * R_AIR * (20.0 + CELSIUS) / 100.0}\n"
    section = f'[propeller.bench]\nmeasured_on = "own arm"\nsupply_held = false\n{air}rows = [\n{bench}]\n\n'
    text = Path(shipped("crafts")["bonxie"]).read_text(encoding="utf-8")
    text = text[: text.index("[propeller.bench]")] + section + text[text.index("[esc]\n") :]
    craft = parse_craft(text)
    lost, copper = identified()
    idle, free = (
        2.0 * IRON_SHARE * lost / KT,
        5000.0 * RPM * KT,
    )  # no load: at 5000 rpm both shares are halves
    ohms = copper * KT**2
    motor = {
        "kv_rpm_per_V": 60.0 / (2.0 * math.pi * KT), "resistance_mohm": 1e3 * ohms / (1.0 + 0.00393 * 30.0),
        "no_load_current_A": idle, "no_load_V": free + idle * ohms, "no_load_iron_pct": 100.0 * IRON_SHARE,
    }  # fmt: skip
    changes = {
        "motor": craft.motor.model_copy(update=motor),
        "esc": craft.esc.model_copy(update={"resistance_mohm": 0.0}),
        "propeller": craft.propeller.model_copy(update={"diameter_in": DIAMETER / INCH, "pitch_in": 5.0}),
    }
    return craft.model_copy(update=changes)


def predicted(
    blades: RotorMap, rpm: float, density: float, axial: float = 0.0, inplane: float = 0.0
) -> tuple[float, float]:
    """Thrust [N] and electrical power [W] of four rotors in a flow along shaft and disc [m/s]."""
    n = rpm / 60.0
    ct, cp, _ = blades.coefficients(rpm, axial / (n * DIAMETER), inplane / (n * DIAMETER))
    torque = float(torque_coefficient(cp)) * density * n**2 * DIAMETER**5
    return 4.0 * float(ct) * density * n**2 * DIAMETER**4, 4.0 * float(
        power(rpm * RPM, torque, *identified())
    )


FEW = (0, 4, 9, 13)
"""Rows of run 27 that stand for a builder's bench: 3500, 4800, 6000 and 7500 rpm."""


@pytest.fixture(scope="module")
def own_arm() -> RotorMap:
    return propeller_map(vehicle(FEW))


@pytest.mark.parametrize("row", [k for k in range(len(HOVER)) if k not in FEW])
def test_hover_of_a_vehicle_from_four_speeds_on_its_own_arm(own_arm: RotorMap, row: int) -> None:
    """Thrust and electrical power of the vehicle within 5 % at the ten speeds that the bench left out (found: 1.5 and 3.9 %).
    Torque is what the motor's law leaves of current and voltage at the ESC."""
    rpm, thrust = HOVER[row, :2]
    found, watts = predicted(own_arm, rpm, HOVER_AIR)
    assert found == pytest.approx(thrust, rel=0.05)
    assert watts == pytest.approx(vehicle_power()[row], rel=0.05)


@pytest.mark.parametrize("row", range(len(WIND)))
def test_power_in_wind_from_the_bench_in_still_air(own_arm: RotorMap, row: int) -> None:
    """Within 10 %, level to 40 deg nose down in 6.4 m/s: 5 % too much on average, so part of what the vehicle costs its rotors
    in hover is swept away in wind, which we say of their thrust alone."""
    tilt, wind, rpm, _, _, volts, amps = WIND[row]
    watts = predicted(own_arm, rpm, WIND_AIR, wind * math.sin(tilt), wind * math.cos(tilt))[1]
    assert watts == pytest.approx(volts * amps, rel=0.10)


def from_one_rotor(rpm: Array, density: float) -> Array:
    """Electrical power [W] of four rotors like the one measured alone, torque coefficient interpolated over the speed."""
    coefficient = np.interp(rpm, ALONE[:, 0], ALONE[:, 2] / ALONE[:, 0] ** 2)
    return np.asarray(4.0 * power(rpm * RPM, coefficient * rpm**2 * density / ALONE_AIR, *identified()))


def test_one_rotor_alone_does_not_tell_the_power_of_four_on_a_vehicle() -> None:
    """No agreement, but its absence as it was measured: at equal speed the vehicle takes 5 % more at 3500, 24 % more at 6000 and
    17 % more at 7500 rpm than four times its rotor alone. Level in a wind that sweeps the wakes back it is still 2 to 14 %, more
    with speed, so more than half of it is nothing that the rotors do to each other; and the four motors, at one speed, differ by
    7 % themselves. A bench on the own arm has it all (above); for a craft without one it is an uncertainty
    (analysis.evidence.MOUNTED_SIGMA)."""
    more = vehicle_power() / from_one_rotor(HOVER[:, 0], HOVER_AIR) - 1.0
    assert more[[0, 9, 13]] == pytest.approx([0.046, 0.242, 0.174], abs=0.005)
    assert more.min() == more[0]
    assert more.max() == more[9]
    level = WIND[-5:]
    windy = level[:, 5] * level[:, 6] / from_one_rotor(level[:, 2], WIND_AIR) - 1.0
    assert windy == pytest.approx([0.018, 0.049, 0.139, 0.106, 0.138], abs=0.005)
    spread = np.std(HOVER[:, 3:] / HOVER[:, 3:].mean(axis=1, keepdims=True), axis=1, ddof=1)
    assert spread.mean() == pytest.approx(0.07, abs=0.005)
    assert (
        windy.mean() < MOUNTED_SIGMA * 1.28 < more.max()
    )  # what an 80 % interval holds, and what it does not
