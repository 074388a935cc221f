"""A whole small quadrotor, predicted from one of its rotors measured alone: thrust in hover and in wind, and its drag.

Data: Russell, Jung, Willink & Glasner, NASA/TM-2018-219758, in an SI transcription (vehicle_runs.py). The rotor's pitch is not
stated, 5 in assumed: a bench table makes it matter little.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from vehicle_runs import ALONE, ALONE_AIR, DIAMETER, HOVER, HOVER_AIR, WIND, WIND_AIR

from controllers.signals import rows
from quadsim.dynamics.interference import thrust_gain
from quadsim.dynamics.records import PLANT
from quadsim.dynamics.rotor_coefficients import torque_coefficient
from quadsim.dynamics.rotor_map import RotorMap, rotor_map

Array = NDArray[np.float64]

BENCH = (1, 5, 10)
"""Rows of the rotor alone that are its bench table: 3000, 5000 and 7000 rpm."""
LEVEL = WIND[-5:]


@pytest.fixture(scope="module")
def blades() -> RotorMap:
    table = {
        "rows": [{"rpm": rpm, "thrust_N": thrust, "torque_Nm": torque} for rpm, thrust, torque in ALONE[list(BENCH), :3]],
        "density": ALONE_AIR,
    }  # fmt: skip
    return rotor_map(DIAMETER / 0.0254, 5.0, table=table)


@pytest.fixture(scope="module")
def plant() -> Any:
    record = rows(PLANT)[0]
    record.rotor_radius, record.installed_loss = DIAMETER / 2.0, 0.1
    record.per_disc_mass = 1.0 / (2.0 * HOVER_AIR * math.pi * (DIAMETER / 2.0) ** 2)
    return record


def free_thrust(
    blades: RotorMap, rpm: float, density: float, axial: float = 0.0, inplane: float = 0.0
) -> float:
    """Thrust of one rotor alone [N] in a flow along its shaft and its disc [m/s]."""
    n = rpm / 60.0
    ct = blades.coefficients(rpm, axial / (n * DIAMETER), inplane / (n * DIAMETER))[0]
    return float(ct) * density * n**2 * DIAMETER**4


def vehicle_thrust(
    blades: RotorMap, plant: Any, rpm: float, density: float, axial: float = 0.0, inplane: float = 0.0
) -> float:
    """Thrust of the vehicle [N], far from the ground."""
    thrust = free_thrust(blades, rpm, density, axial, inplane)
    return 4.0 * thrust * float(thrust_gain(thrust, axial, inplane, 1e3, 1.0, plant))


@pytest.mark.parametrize("row", range(1, len(ALONE)))
def test_the_rotor_alone(blades: RotorMap, row: int) -> None:
    """2 % at the rows of its table, which a map must give back; 4 % between and beyond, where the rows scatter by as much."""
    rpm, thrust, torque = ALONE[row, :3]
    within = 0.02 if row in BENCH else 0.04
    n = rpm / 60.0
    assert free_thrust(blades, rpm, ALONE_AIR) == pytest.approx(thrust, rel=within)
    cq = torque_coefficient(float(blades.coefficients(rpm)[1]))
    assert cq * ALONE_AIR * n**2 * DIAMETER**5 == pytest.approx(torque, rel=within)


@pytest.mark.parametrize("row", range(len(HOVER)))
def test_thrust_of_the_vehicle_in_hover(blades: RotorMap, plant: Any, row: int) -> None:
    """Within 5 %, with the default installed loss of 10 %; its +- 3 % holds the measured 6 to 13 %."""
    rpm, thrust = HOVER[row, :2]
    assert vehicle_thrust(blades, plant, rpm, HOVER_AIR) == pytest.approx(thrust, rel=0.05)
    lost = 1.0 - thrust / 4.0 / free_thrust(blades, rpm, HOVER_AIR)
    assert lost == pytest.approx(0.1, abs=0.04)


@pytest.mark.parametrize("row", range(len(LEVEL)))
def test_translational_lift(blades: RotorMap, plant: Any, row: int) -> None:
    """Level in 6.4 m/s of wind, +20 to +13 % over the hover at equal speed and density; within 4 points. The share of the
    installed loss that the wind sweeps away was set by three of these rows (4200, 5300, 6400 rpm), the rest is the map's: without
    that share the map alone must come within 6 points."""
    _, wind, rpm, _, thrust = LEVEL[row, :5]
    still = np.exp(np.interp(rpm, HOVER[:, 0], np.log(HOVER[:, 1]))) * WIND_AIR / HOVER_AIR
    gain = thrust / still
    lifted = vehicle_thrust(blades, plant, rpm, WIND_AIR, 0.0, wind) / vehicle_thrust(
        blades, plant, rpm, WIND_AIR
    )
    assert lifted == pytest.approx(gain, abs=0.04)
    alone = free_thrust(blades, rpm, WIND_AIR, 0.0, wind) / free_thrust(blades, rpm, WIND_AIR)
    assert gain - 0.06 < alone < gain


@pytest.mark.parametrize("row", range(len(WIND)))
def test_thrust_in_wind(blades: RotorMap, plant: Any, row: int) -> None:
    """Within 5 % up to 20 deg nose down; of all rows only three level ones set anything. Steeper a bench in still air knows less
    of the thrust that is left, as the pitch is assumed: 6 % at 30 deg, 12 % at 40 deg."""
    tilt, wind, rpm, _, thrust = WIND[row, :5]
    found = vehicle_thrust(blades, plant, rpm, WIND_AIR, wind * math.sin(tilt), wind * math.cos(tilt))
    within = 0.05 if tilt < 0.4 else 0.06 if tilt < 0.6 else 0.12
    assert found == pytest.approx(thrust, rel=within)


def rotor_drag(blades: RotorMap, row: Array) -> tuple[float, float]:
    """In-plane force of four rotors [N], and sqrt(T) v of a rotor with its speed along the disc [N^1/2 m/s]."""
    tilt, wind, rpm = row[:3]
    n, along = rpm / 60.0, wind * math.cos(tilt)
    ch = blades.coefficients(rpm, wind * math.sin(tilt) / (n * DIAMETER), along / (n * DIAMETER))[2]
    thrust = free_thrust(blades, rpm, WIND_AIR, wind * math.sin(tilt), along)
    return 4.0 * float(ch) * WIND_AIR * n**2 * DIAMETER**4, 4.0 * math.sqrt(thrust) * along


def fitted(form: Array, known: Array, force: Array) -> tuple[float, float]:
    """The one coefficient of `form` beside what is known that fits the force best, and the error left [-], rms over the force."""
    share = form / force
    k = float(share @ (1.0 - known / force) / (share @ share))
    return k, float(np.sqrt(np.mean(((known + k * form) / force - 1.0) ** 2)))


def test_drag_grows_with_rotor_speed(blades: RotorMap) -> None:
    """Level: rotors' in-plane force with k sqrt(T) v, one fitted coefficient, meets the measured drag from 4200 to 6400 rpm
    within 5 % rms (found: 3.0), where a drag area, which knows no rotor speed, leaves some 20 % (18.0)."""
    found = np.array([rotor_drag(blades, row) for row in LEVEL])
    k, left = fitted(found[:, 1], found[:, 0], LEVEL[:, 3])
    assert left < 0.05
    assert 0.02 < k < 0.05
    assert 0.15 < fitted(LEVEL[:, 1] ** 2, np.zeros(5), LEVEL[:, 3])[1] < 0.25


def test_drag_over_the_tilt(blades: RotorMap) -> None:
    """Force along the vehicle's own axis, level to 40 deg nose down, all speeds. k sqrt(T) v with the measured thrust and the
    speed along the discs: 5.0 % rms with one coefficient. With the in-plane force of our map beside it the same holds up to
    30 deg (3.4 %); at 40 deg the two together are 14 to 22 % too much."""
    along = 2.0 * np.sqrt(WIND[:, 4]) * WIND[:, 1] * np.cos(WIND[:, 0])
    assert fitted(along, np.zeros(len(WIND)), WIND[:, 3])[1] == pytest.approx(0.05, abs=0.002)
    found = np.array([rotor_drag(blades, row) for row in WIND])
    k, left = fitted(found[5:, 1], found[5:, 0], WIND[5:, 3])
    assert left < 0.05
    steep = (found[:5, 0] + k * found[:5, 1]) / WIND[:5, 3] - 1.0
    assert steep.mean() == pytest.approx(0.185, abs=0.02)
