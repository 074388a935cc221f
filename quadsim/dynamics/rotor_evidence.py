"""What is known of a propeller, checked, and the blade that follows from it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from quadsim.dynamics import typical_blade
from quadsim.dynamics.blade_element import Blade, Section
from quadsim.dynamics.flapping import FLAP_RATIO
from quadsim.dynamics.rotor_coefficients import figure_of_merit
from quadsim.dynamics.static_point import POWER_SIGMA, THRUST_SIGMA, StaticPoint, adapt
from quadsim.errors import InputError, Problem
from quadsim.units import INCH

POINT_KEYS = tuple(field.name for field in fields(StaticPoint))
DATA = "fitted to open wind-tunnel data (AIAA 2011-1255, AIAA 2014-2151)"


@dataclass(frozen=True)
class Evidence:
    """Checked evidence: diameter [m], pitch over diameter [-], blade count, and what else is known.

    chord_75 : chord over tip radius at 75 % radius [-]; table : rows of r/R, c/R [-] and blade angle [deg];
    flap_ratio : first flap frequency of a blade over the rotor's speed [-]
    """

    diameter: float
    pitch_ratio: float
    blades: int
    chord_75: float | None = None
    table: tuple[tuple[float, ...], ...] | None = None
    point: StaticPoint | None = None
    flap_ratio: float = FLAP_RATIO

    def typical(self) -> typical_blade.TypicalBlade:
        """The fitted coefficients for this kind of evidence."""
        if self.table is not None:
            return typical_blade.FULL_GEOMETRY
        return typical_blade.CHORD_75 if self.chord_75 is not None else typical_blade.DIAMETER_PITCH

    def rotor(self) -> tuple[Blade, Section]:
        """Blade and section, adapted to the measured point if there is one."""
        typical = self.typical()
        if self.table is not None:
            blade = typical_blade.measured_blade(typical, self.diameter, self.blades, np.array(self.table))
        else:
            blade = typical_blade.typical_blade(
                typical, self.diameter, self.pitch_ratio, self.blades, self.chord_75
            )
        return adapt(blade, typical.section, self.point) if self.point else (blade, typical.section)

    def sigmas(self) -> tuple[float, float]:
        """Relative standard uncertainty of static CT and CP [-]."""
        typical = self.typical()
        return (THRUST_SIGMA, POWER_SIGMA) if self.point else (typical.ct_sigma, typical.cp_sigma)

    def sentence(self) -> str:
        """What the map rests on."""
        known = f"diameter, pitch and {self.blades} blades"
        if self.table is not None:
            known += " with measured chord and twist"
        elif self.chord_75 is not None:
            known += " with measured chord at 75 % radius"
        if self.point is not None:
            known += f" and one static bench point at {self.point.rpm:.0f} rpm"
        ct, cp = self.sigmas()
        return f"{known}; a typical blade {DATA}; static thrust +- {ct:.0%}, power +- {cp:.0%} (1 sigma)"


def read_evidence(
    diameter_in: Any, pitch_in: Any, blades: Any, geometry: Any, table: Any, flap_ratio: Any = FLAP_RATIO
) -> Evidence:
    """Check what was given; InputError lists every fault."""
    problems = _propeller_problems(diameter_in, pitch_in, blades)
    chord_75, rows = _read_geometry(geometry, problems)
    point = _read_point(table, problems)
    if not _within(flap_ratio, 1.0, 10.0):
        remedy = "Give 1 for a free hinge; moulded blades have about 1.5"
        problems.append(Problem("flap_ratio", repr(flap_ratio), "must be within 1 to 10", remedy))
    if problems:
        raise InputError(problems, "propeller")
    diameter = float(diameter_in) * INCH
    if point is not None:
        ct, cp = point.coefficients(diameter)
        if figure_of_merit(ct, cp) >= 1.0:
            given = f"thrust {point.thrust_N:g} N with torque {point.torque_Nm:g} N m at {point.rpm:g} rpm"
            allowed = "the shaft power must exceed the ideal hover power of the thrust"
            raise InputError(
                [Problem("table", given, allowed, "Check the units (N, N m, rev/min)")], "propeller"
            )
    pitch_ratio = float(pitch_in) / float(diameter_in)
    return Evidence(diameter, pitch_ratio, int(blades), chord_75, rows, point, float(flap_ratio))


def _propeller_problems(diameter_in: Any, pitch_in: Any, blades: Any) -> list[Problem]:
    problems = []
    if not _within(diameter_in, 1.0, 40.0):
        problems.append(Problem("diameter_in", repr(diameter_in), "must be within 1 to 40 in"))
    elif not _within(pitch_in, 0.2 * diameter_in, 1.4 * diameter_in):
        allowed = f"must be within {0.2 * diameter_in:g} to {1.4 * diameter_in:g} in (0.2 to 1.4 diameters)"
        problems.append(Problem("pitch_in", repr(pitch_in), allowed, "Give the advance per turn"))
    if not _within(blades, 2, 6) or blades != int(blades):
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
        if not _within(chord, 0.04, 0.6):
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


def _read_point(table: Any, problems: list[Problem]) -> StaticPoint | None:
    """The static point; faults are added to problems."""
    if table is None:
        return None
    known = ", ".join(POINT_KEYS)
    if not isinstance(table, Mapping):
        problems.append(
            Problem("table", f"a {type(table).__name__}", f"must be one static point with {known}")
        )
        return None
    faults = [
        Problem(f"table.{name}", "unknown key", f"known: {known}") for name in table.keys() - set(POINT_KEYS)
    ]
    for name in POINT_KEYS:
        if not _within(table.get(name), 1e-9, 1e6):
            faults.append(Problem(f"table.{name}", repr(table.get(name)), "must be a positive number"))
    problems.extend(faults)
    return None if faults else StaticPoint(**{name: float(table[name]) for name in POINT_KEYS})


def _within(value: Any, low: float, high: float) -> bool:
    is_number = isinstance(value, (int, float, np.integer, np.floating)) and not isinstance(value, bool)
    return bool(is_number and low <= value <= high)
