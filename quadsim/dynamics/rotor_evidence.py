"""What is known of a propeller, checked, and the blade that follows from it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from quadsim.dynamics.blade_element import Blade, Section
from quadsim.dynamics.blade_fit import POWER_SIGMA, THRUST_SIGMA, Measured, fit_blade
from quadsim.dynamics.blade_prior import blade_prior
from quadsim.dynamics.flapping import FLAP_RATIO
from quadsim.dynamics.map_uncertainty import Sigmas, sigmas
from quadsim.dynamics.measured_table import MeasuredTable, is_within, read_table
from quadsim.dynamics.typical_blade import Geometry, rotor
from quadsim.errors import InputError, Problem
from quadsim.units import INCH

DATA = "fitted to open wind-tunnel data (AIAA 2011-1255, AIAA 2014-2151)"
TUNNEL_SIGMAS = (0.008, 0.016)
"""How tightly the rows of a wind-tunnel table are matched, over the greatest CT and CP [-], if they were 6: what
tests repeat to. Our choice."""
MOST_ROWS = 24
"""Rows of a table that the blade is fitted to, spread evenly; the map's correction uses them all. Our choice."""


@dataclass(frozen=True)
class Evidence:
    """Checked evidence: what was measured with a rule, on a bench or in a tunnel, and how the blades flap.

    flap_ratio : first flap frequency of a blade over the rotor's speed [-]
    """

    geometry: Geometry
    table: MeasuredTable | None = None
    flap_ratio: float = FLAP_RATIO

    @property
    def kind(self) -> str:
        """Such as "chord_75 + point"."""
        if self.table is None:
            return self.geometry.kind
        if self.table.moving:
            return f"{self.geometry.kind} + tunnel"
        if not self.table.cp:
            return f"{self.geometry.kind} + thrust"
        return f"{self.geometry.kind} + {'point' if self.table.point else 'table'}"

    def rotor(self) -> tuple[Blade, Section]:
        """Blade and section, the most likely ones for the measurement if there is one."""
        if self.table is None:
            return rotor(self.geometry, blade_prior(self.geometry.kind).given(self.geometry).centre)
        return rotor(self.geometry, fit_blade(self.geometry, self._measured(self.table)))

    def _measured(self, table: MeasuredTable) -> Measured:
        columns = np.column_stack(table.arrays())
        rpm, axial, ct, cp = columns[np.unique(np.linspace(0, len(columns) - 1, MOST_ROWS).astype(int))].T
        if table.moving:
            thrust, power = (sigma * (rpm.size / 6.0) ** 0.5 for sigma in TUNNEL_SIGMAS)
            return Measured(
                rpm, axial, ct, cp, np.full(rpm.size, max(ct)), np.full(rpm.size, max(cp)), thrust, power
            )
        thrust, power = (sigma * rpm.size**0.5 for sigma in (THRUST_SIGMA, POWER_SIGMA + table.torque_sigma))
        return Measured(rpm, axial, ct, cp, ct, cp, thrust, power)

    def sigmas(self) -> Sigmas:
        """Uncertainty of the map."""
        return sigmas(self.kind, *((self.table.torque_sigma, self.table.speed_sigma) if self.table else ()))

    def sentence(self) -> str:
        """What the map rests on."""
        known = f"diameter, pitch and {self.geometry.blades} blades"
        if self.geometry.table is not None:
            known += " with measured chord and twist"
        elif self.geometry.chord_75 is not None:
            known += " with measured chord at 75 % radius"
        if self.table is not None:
            known += f" and {self.table.words()}"
        left = self.sigmas()
        return f"{known}; a typical blade {DATA}; static thrust +- {left.ct:.0%}, power +- {left.cp:.0%} (1 sigma)"


def read_evidence(
    diameter_in: Any, pitch_in: Any, blades: Any, geometry: Any, table: Any, flap_ratio: Any = FLAP_RATIO
) -> Evidence:
    """Check what was given; InputError lists every fault."""
    problems = _propeller_problems(diameter_in, pitch_in, blades)
    chord_75, rows = _read_geometry(geometry, problems)
    if not is_within(flap_ratio, 1.0, 10.0):
        remedy = "Give 1 for a free hinge; moulded blades have about 1.5"
        problems.append(Problem("flap_ratio", repr(flap_ratio), "must be within 1 to 10", remedy))
    diameter = float(diameter_in) * INCH if is_within(diameter_in, 1.0, 40.0) else 0.1
    measured = read_table(table, diameter, problems)
    if problems:
        raise InputError(problems, "propeller")
    pitch_ratio = float(pitch_in) / float(diameter_in)
    return Evidence(Geometry(diameter, pitch_ratio, int(blades), chord_75, rows), measured, float(flap_ratio))


def _propeller_problems(diameter_in: Any, pitch_in: Any, blades: Any) -> list[Problem]:
    problems = []
    if not is_within(diameter_in, 1.0, 40.0):
        problems.append(Problem("diameter_in", repr(diameter_in), "must be within 1 to 40 in"))
    elif not is_within(pitch_in, 0.2 * diameter_in, 1.4 * diameter_in):
        allowed = f"must be within {0.2 * diameter_in:g} to {1.4 * diameter_in:g} in (0.2 to 1.4 diameters)"
        problems.append(Problem("pitch_in", repr(pitch_in), allowed, "Give the advance per turn"))
    if not is_within(blades, 2, 6) or blades != int(blades):
        problems.append(Problem("blades", repr(blades), "must be a whole number within 2 to 6"))
    return problems


def _read_geometry(
    geometry: Any, problems: list[Problem]
) -> tuple[float | None, tuple[tuple[float, ...], ...] | None]:
    """Chord at 75 % radius, or the rows of a table; faults are added to problems."""
    if geometry is None:
        return None, None
    if isinstance(geometry, Mapping):
        for name in sorted(geometry.keys() - {"chord_75"}, key=str):
            problems.append(Problem(f"geometry.{name}", "unknown key", "known: chord_75"))
        chord = geometry.get("chord_75")
        if not is_within(chord, 0.04, 0.6):
            remedy = "Divide the chord by the tip radius"
            problems.append(Problem("geometry.chord_75", repr(chord), "must be within 0.04 to 0.6", remedy))
        return chord, None
    try:
        rows = np.array(geometry, dtype=float)
    except (TypeError, ValueError):
        rows = np.empty(0)
    if rows.ndim != 2 or rows.shape[1] != 3 or len(rows) < 4:
        allowed = 'must be {"chord_75": number} or four or more rows of (r/R, c/R, blade angle in deg)'
        problems.append(Problem("geometry", f"shape {rows.shape}", allowed))
        return None, None
    problems.extend(_row_problems(rows))
    return None, tuple(tuple(float(value) for value in row) for row in rows)


def _row_problems(rows: np.ndarray) -> list[Problem]:
    problems = []
    for k, (radius, chord, angle) in enumerate(rows):
        if not (0.0 <= radius <= 1.0 and 0.0 < chord <= 0.6 and -10.0 <= angle <= 80.0):
            given = f"row {k}: r/R {radius:g}, c/R {chord:g}, angle {angle:g}"
            problems.append(Problem("geometry", given, "0 to 1, above 0 to 0.6, -10 to 80 deg"))
    if not np.all(np.diff(rows[:, 0]) > 0.0):
        problems.append(
            Problem("geometry", "r/R does not rise from row to row", "sort the rows from root to tip")
        )
    elif rows[0, 0] > 0.3 or rows[-1, 0] < 0.95:
        given = f"r/R from {rows[0, 0]:g} to {rows[-1, 0]:g}"
        problems.append(Problem("geometry", given, "must start at 0.3 or less and end at 0.95 or more"))
    return problems
