"""Hover power and endurance of a measured quadrotor by the quick solver, from its own bench and from one of its rotors alone.

Russell, Jung, Willink & Glasner, NASA/TM-2018-219758, in an SI transcription (vehicle_runs.py), and run 28, another vehicle. The
motor's no-load torque and R/kt^2 are those that give the electrical power of run 22 at 3000 and 7000 rpm.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from checks_contest import G0, bare_drive, textbook
from test_measured_drive import AVIONICS, IRON_SHARE, RPM, identified, vehicle
from vehicle_runs import ALONE, ALONE_AIR, DIAMETER, HOVER_AIR

from quadsim.config.propeller_evidence import propeller_map
from quadsim.contest.crowd import Crowd, crowd_of
from quadsim.contest.feed import Store, feed, hold
from quadsim.contest.steady import trim

MEASURED_W = 184.98919478752128
"""At 1.280 kgf, between rows of run 27."""


def from_one_rotor() -> tuple[float, float, float]:
    """CT, CP of run 22 at 5000 rpm and the default installed loss."""
    turns, (_, thrust, torque, _, _) = 5000.0 / 60.0, ALONE[5]
    air = ALONE_AIR * turns**2 * DIAMETER**4
    return float(thrust / air), float(torque * 2.0 * math.pi / air / DIAMETER), 0.1


def from_own_arm() -> tuple[float, float, float]:
    """CT, CP of the map from run 27 at 3500, 4500 and 5500 rpm, none of them that of the hover; the loss is in it."""
    ct, cp, _ = propeller_map(vehicle((0, 3, 7))).coefficients(5100.0)
    return float(ct), float(cp), 0.0


def small_quadrotor(mass: float, coefficients: tuple[float, float, float]) -> Any:
    """PLANT: CT, CP and installed loss, four cells of 4.35 V and 4.48 Ah (from memory)."""
    lost, copper = identified()
    plant = bare_drive(textbook(mass, *coefficients[:2]))
    plant.air_density, plant.rotor_radius, plant.installed_loss = HOVER_AIR, DIAMETER / 2.0, coefficients[2]
    plant.per_disc_mass = 1.0 / (2.0 * HOVER_AIR * math.pi * (DIAMETER / 2.0) ** 2)
    kt = float(plant.torque_constant)  # any will do: the law's power depends on R/kt^2 and kt i0
    plant.motor_resistance = copper * kt**2
    plant.no_load_current = lost * (1.0 - IRON_SHARE) / kt
    plant.no_load_slope = lost * IRON_SHARE / kt / (5000.0 * RPM)
    plant.cells, plant.full_cell_voltage, plant.capacity = 4, 4.35, 4.48 * 3600.0
    plant.pack_resistance, plant.relaxation_resistance = 0.032, 0.032 * 0.63
    plant.relaxation_capacitance = 33.0 / float(plant.relaxation_resistance)
    plant.avionics_current = AVIONICS / 16.0
    return plant


def hovering(mass: float, coefficients: tuple[float, float, float]) -> tuple[Crowd, Any, Any]:
    crowd = crowd_of([small_quadrotor(mass, coefficients)])
    flown = trim(crowd, crowd.mass)
    return crowd, flown, feed(crowd, flown, Store.full(crowd))


def hover_power(mass: float, coefficients: tuple[float, float, float]) -> float:
    """Electrical power of the four ESCs [W]."""
    at = hovering(mass, coefficients)[2]
    return float(at.volts[0] * at.pack_current[0]) - AVIONICS


@pytest.mark.parametrize(("lifted", "measured"), [(1.223, 172.07), (1.280, MEASURED_W)])
def test_electrical_power_in_hover(lifted: float, measured: float) -> None:
    """Within 5 % from a bench on the own arm. From one rotor alone 11 to 12 % too little: the vehicle takes more than four of
    them, see test_measured_drive."""
    assert hover_power(lifted, from_own_arm()) == pytest.approx(measured, rel=0.05)
    assert hover_power(lifted, from_one_rotor()) / measured == pytest.approx(0.885, abs=0.01)


def minutes(coefficients: tuple[float, float, float]) -> float:
    """Hover at 1.280 kgf to an empty pack [min]."""
    crowd, flown, _ = hovering(1.280, coefficients)
    store, found = Store.full(crowd), 0.0
    while store.charge[0] > 0.0 and found < 60.0:
        hold(crowd, flown, 6.0, store, 2)
        found += 0.1
    return found


def test_endurance_to_an_empty_pack() -> None:
    """22.09 min by energy balance of 68.1 Wh and 184.99 W, the maker states 23 min: within 10 % from a bench on the own arm. From
    one rotor alone it is 24.3 min, as much longer as the power is lower."""
    assert minutes(from_own_arm()) == pytest.approx(22.087776557399376, rel=0.10)
    assert minutes(from_one_rotor()) == pytest.approx(24.3, abs=0.3)


@pytest.mark.parametrize(
    ("lifted", "diameter", "ideal", "measured"),
    [(1.51, 0.254, 80.86391042412248, 184.44), (1.223, 0.2388, 62.69434911298765, 172.07)],
)
def test_ideal_power_of_measured_vehicles(
    lifted: float, diameter: float, ideal: float, measured: float
) -> None:
    """Momentum theory, T^1.5/sqrt(2 rho A) of four discs at 1.225 kg/m3 (W. Johnson, Helicopter Theory, 1980, sec. 2-1): 0.438
    and 0.364 of what the vehicles took."""
    plant = textbook(lifted)
    plant.rotor_radius = diameter / 2.0
    plant.per_disc_mass = 1.0 / (2.0 * 1.225 * math.pi * (diameter / 2.0) ** 2)
    crowd = crowd_of([plant])
    flown = trim(crowd, crowd.mass)
    found = 4.0 * float(flown.thrust[0] * np.sqrt(flown.flow_squared[0]))
    assert found == pytest.approx(ideal, rel=1e-3)
    assert 0.3 < found / measured < 0.5
    assert lifted * G0 == pytest.approx(4.0 * flown.thrust[0])
