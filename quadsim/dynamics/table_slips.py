"""What may have gone wrong with a bench table that cannot be true: a slip of units, or a stand whose zero is off.

Each other unit that people write down is tried on its column, in all rows; those with which the whole table looks like
a propeller are named. Two columns together are tried only when no single one does.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np

from quadsim.dynamics.blade_element import Array
from quadsim.units import G_FORCE, INCH

OUNCE, POUND = 28.349523125, 453.59237
"""Grams of an avoirdupois ounce and pound, exact (international yard and pound agreement, 1959)."""
FORCES = {
    "N": 1.0,
    "mN": 1e-3,
    "g": G_FORCE,
    "kg": 1e3 * G_FORCE,
    "oz": OUNCE * G_FORCE,
    "lb": POUND * G_FORCE,
}
"""Newtons of each unit."""
OTHER_UNITS: dict[str, dict[str, float]] = {
    "rpm": {
        "in thousands a minute": 1e3,
        "in rev/s": 60.0,
        "in rad/s": 30.0 / math.pi,
        "the electrical speed of a motor with 14 magnets": 1.0 / 7.0,
        "the electrical speed of a motor with 12 magnets": 1.0 / 6.0,
    },
    "thrust_N": {f"in {unit}": size for unit, size in FORCES.items() if unit != "N"},
    "thrust_g": {f"in {unit}": size / G_FORCE for unit, size in FORCES.items() if unit != "g"},
    "torque_Nm": {
        "in mN m": 1e-3,
        "in N cm": 1e-2,
        "in g cm": 1e-2 * G_FORCE,
        "in kg cm": 10.0 * G_FORCE,
        "in oz in": OUNCE * G_FORCE * INCH,
        "in lb in": POUND * G_FORCE * INCH,
    },
    "shaft_power_W": {"in mW": 1e-3, "in kW": 1e3},
}
"""What a number in the column is worth in the column's unit if it was written down in another."""
LIKELY_CT, LIKELY_MERIT = (0.05, 0.3), (0.25, 0.85)
"""Static CT and figure of merit [-] of tables that look like a propeller's: those of AIAA 2011-1255 and AIAA 2014-2151
with a little to either side."""
LIKELY_TIP = (20.0, 330.0)
"""Tip speed [m/s] at the fastest row: from a very slow rotor to the speed of sound. Our choice."""
MOST_NAMED = 3
ZERO_LEFT = 0.1
"""How closely a square law and an offset must fit thrust for the offset to be named, relative. Our choice."""


@dataclass(frozen=True)
class Bench:
    """Rows of a bench and what they give for a diameter [m]: rpm, CT, CP (m,), CP is NaN where no torque was measured."""

    rows: list[dict[str, Any]]
    diameter: float
    rpm: Array
    ct: Array
    cp: Array

    def column(self, *names: str) -> str:
        """The one of these that the rows have, or nothing."""
        return next((name for name in names if name in self.rows[0]), "")


def unit_slip(bench: Bench) -> str:
    """A sentence that names the units with which the table would fit, empty if there are none."""
    columns = [
        c
        for c in ("rpm", bench.column("thrust_N", "thrust_g"), bench.column("torque_Nm", "shaft_power_W"))
        if c
    ]
    singles = [{c: unit} for c in columns for unit in OTHER_UNITS[c]]
    fitting = [slip for slip in singles if _fits(bench, slip)]
    if not fitting:
        doubles = [{**a, **b} for a, b in combinations(singles, 2) if a.keys() != b.keys()]
        fitting = [slip for slip in doubles if _fits(bench, slip)]
    named = [
        " and ".join(f"{column} is {unit}" for column, unit in slip.items()) for slip in fitting[:MOST_NAMED]
    ]
    return f"It would fit if {', or if '.join(named)}" if named else ""


def _fits(bench: Bench, slip: dict[str, str]) -> bool:
    """Whether every row looks like a propeller with these columns in these units."""
    ct, cp = bench.ct, bench.cp
    tip_speed = math.pi * bench.diameter * float(bench.rpm.max()) / 60.0
    for column, unit in slip.items():
        factor = OTHER_UNITS[column][unit]
        if column == "rpm":
            tip_speed *= factor
            ct, cp = ct / factor**2, cp / factor ** (3 if bench.column("shaft_power_W") else 2)
        elif column in ("thrust_N", "thrust_g"):
            ct = ct * factor
        else:
            cp = cp * factor
    merit = np.sqrt(2.0 / math.pi) * ct**1.5 / cp
    known = np.isfinite(merit)
    return bool(
        LIKELY_TIP[0] <= tip_speed <= LIKELY_TIP[1]
        and np.all((ct >= LIKELY_CT[0]) & (ct <= LIKELY_CT[1]))
        and np.all((merit[known] >= LIKELY_MERIT[0]) & (merit[known] <= LIKELY_MERIT[1]))
    )


def zero_off(bench: Bench) -> str:
    """A sentence that names the offset of the stand if that explains thrust which does not go with the square of the
    speed, else empty."""
    column = bench.column("thrust_N", "thrust_g")
    if len(bench.rows) < 4 or not column:
        return ""
    thrust = np.array([float(row[column]) for row in bench.rows])
    law = np.column_stack([bench.rpm**2, np.ones_like(bench.rpm)])
    found = np.linalg.lstsq(law / thrust[:, None], np.ones_like(thrust), rcond=None)[0]
    if found[0] <= 0.0 or np.any(np.abs(law @ found / thrust - 1.0) > ZERO_LEFT):
        return ""
    unit = column.removeprefix("thrust_")
    return f"All rows fit a stand that reads {found[1]:+.3g} {unit} without thrust: set its zero"
