"""How far off a rotor map may be, by evidence, and which further measurement would narrow it most."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from quadsim.dynamics.blade_element import Array
from quadsim.dynamics.typical_blade_data import ERRORS, SPEED_ERRORS

BENCH_FLOOR = (0.015, 0.025)
"""Least standard deviation of static CT and CP from a bench [-]: its scale, air and speed; assumed."""
TUNNEL = (0.015, 0.025, 0.02, 0.03)
"""Standard deviations with a wind-tunnel table, inside its rows [-]; assumed, as tunnel papers state."""
INPLANE_SHARE = 0.3
"""Standard deviation of what flow in the rotor's plane adds to CT and CP, over that; uniform inflow gives +15, +10
and +7 % where NASA/TM-2018-219758 measured +20, +15 and +13 %."""

CHORD, POINT, TABLE, TUNNEL_TABLE = (
    "the chord at 75 % radius",
    "one static point of thrust and torque",
    "a bench table of thrust and torque",
    "a wind-tunnel table",
)


@dataclass(frozen=True)
class Sigmas:
    """Standard deviations: static CT and CP, relative [-]; CT and CP where no thrust is left, over static [-]."""

    ct: float
    cp: float
    ct_sweep: float
    cp_sweep: float


@dataclass(frozen=True)
class Narrowing:
    """A further measurement and what uncertainty it would leave."""

    measurement: str
    sigmas: Sigmas


def sigmas(evidence: str, torque_sigma: float = 0.0, speed_sigma: float = 0.0) -> Sigmas:
    """Uncertainty with evidence such as "chord_75 + point"; relative ones of a table's torque and speed add to it
    (both coefficients go with the inverse square of the speed)."""
    if evidence.endswith(" + tunnel"):
        return Sigmas(*TUNNEL)
    ct, cp, ct_sweep, cp_sweep = ERRORS[evidence]
    if " + " in evidence:
        ct, cp = max(ct, BENCH_FLOOR[0]), max(cp, BENCH_FLOOR[1])
    ct, cp = math.hypot(ct, 2.0 * speed_sigma), math.hypot(cp, torque_sigma, 2.0 * speed_sigma)
    return Sigmas(ct, cp, ct_sweep, cp_sweep)


def away(rpm: Array, rows: Array, known: Sigmas, torque: bool) -> tuple[Array, Array]:
    """Standard deviations (m,) of static CT and CP at speeds [rpm] away from those of a bench table, ln rpm (k,): the trend
    with the Reynolds number is the typical blade's there, and differs between makes.

    torque : whether the bench measured it; if not, the power's uncertainty is at any speed that of the make
    """
    size = np.log(np.maximum(rpm, 1e-9))
    distance = np.maximum(np.maximum(rows.min() - size, size - rows.max()), 0.0)
    power = SPEED_ERRORS[1] if torque else 0.0
    return np.hypot(known.ct, SPEED_ERRORS[0] * distance), np.hypot(known.cp, power * distance)


def spread(fallen: Array, sigma: Array, sweep: float, inplane: Array) -> Array:
    """Standard deviation (m,) of a coefficient over its static value: the static one where thrust has its static value,
    the sweep's where it has fallen to nothing; what in-plane flow changed is uncertain by a share of its own.

    fallen : |1 - CT/static CT| without in-plane flow; inplane : what that flow adds, over the static value
    """
    share = np.clip(fallen, 0.0, 1.0)
    axial = np.hypot(sigma * (1.0 - share), sweep * share)
    return np.asarray(np.hypot(axial, INPLANE_SHARE * np.abs(inplane)))


def half_width(level: float) -> float:
    """Standard deviations to either side of an interval of this level."""
    return NormalDist().inv_cdf(0.5 + 0.5 * level)


def what_would_narrow(evidence: str) -> tuple[Narrowing, ...]:
    """Each further measurement with what it would leave, the best first, by evidence such as "diameter_pitch".

    The order is by the static uncertainties together with that of the sweep.
    """
    geometry, _, bench = evidence.partition(" + ")
    further = [Narrowing(TUNNEL_TABLE, sigmas(geometry + " + tunnel"))] if bench != "tunnel" else []
    if bench in ("", "thrust", "point"):
        further.append(Narrowing(TABLE, sigmas(geometry + " + table")))
    if bench in ("", "thrust"):
        further.append(Narrowing(POINT, sigmas(geometry + " + point")))
    if geometry == "diameter_pitch" and not bench:
        further.append(Narrowing(CHORD, sigmas("chord_75")))
    return tuple(sorted(further, key=lambda n: n.sigmas.ct**2 + n.sigmas.cp**2 + n.sigmas.ct_sweep**2))
