"""A trajectory from a file: a smooth path through rows of time and place, with its velocity and acceleration."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.errors import InputError, Problem
from quadsim.units import DEG

Array = NDArray[np.float64]

COLUMNS = ("t_s", "north_m", "east_m", "height_m")
HEADERS = "t_s, north_m, east_m, height_m; heading_deg may follow"
RANGES = {
    "t_s": (0.0, 7200.0),
    "north_m": (-5000.0, 5000.0),
    "east_m": (-5000.0, 5000.0),
    "height_m": (0.0, 500.0),
    "heading_deg": (-36000.0, 36000.0),
}
LONGEST_GAP_S = 15.0
"""Greatest time between two rows [s]; in a longer one the path would be a guess. Assumed."""
FASTEST, HARDEST = 40.0, 20.0
"""Greatest speed [m/s] and acceleration [m/s2, a bank of 64 deg] that are taken for meant; assumed."""
SHOWN = 5
"""Most bad rows that are shown; the rest are counted."""
SAMPLES = 20
"""Looks at the path per interval between rows."""


@dataclass(frozen=True)
class Trajectory:
    """Place over time: quintic spline with rest at both ends; before and after it the ends are held.

    begin_s, end_s : first and last time [s]
    spline : north, east, height [m] over time
    heading : heading [rad] over time, None if the file has none
    """

    begin_s: float
    end_s: float
    spline: Any
    heading: Any

    def at(self, times: Array) -> tuple[Array, Array, Array]:
        """Place (north, east, height) [m], velocity [m/s] and acceleration [m/s2] (north, east, down), shape (n, 3) each."""
        t = np.clip(times, self.begin_s, self.end_s)
        down = np.array([1.0, 1.0, -1.0])
        return self.spline(t), down * self.spline(t, 1), down * self.spline(t, 2)

    def heading_at(self, times: Array) -> Array | None:
        """Heading [rad], or None."""
        if self.heading is None:
            return None
        return np.asarray(self.heading(np.clip(times, self.begin_s, self.end_s)))


def make_trajectory(table: Array) -> Trajectory:
    """The path through rows (t, north, east, height[, heading rad]).

    The spline is of fifth degree with velocity and acceleration zero at both ends: acceleration, and so the tilt, has no corners.
    Through two rows it is the path of least jerk.
    """
    from scipy.interpolate import (  # a quarter of every start, for few flights
        PchipInterpolator,
        make_interp_spline,
    )

    t = table[:, 0]
    rest = [(1, np.zeros(3)), (2, np.zeros(3))]
    spline = make_interp_spline(t, table[:, 1:4], k=5, bc_type=(rest, rest))
    heading = PchipInterpolator(t, np.unwrap(table[:, 4])) if table.shape[1] > 4 else None
    return Trajectory(float(t[0]), float(t[-1]), spline, heading)


def read_trajectory(path: Path) -> Trajectory:
    """The trajectory of a CSV file; lines that begin with # are left out, columns come in any order.

    Raises
    ------
    InputError
        that names the rows that are wrong, and those between which the path is faster or sharper than sense.
    """
    table, numbers = read_table(path)
    path_asked = make_trajectory(table)
    _refuse(_beyond_sense(path_asked, table[:, 0], numbers), path)
    return path_asked


def read_table(path: Path) -> tuple[Array, list[int]]:
    """Rows (t, north, east, height[, heading rad]) of a CSV file, and the lines they stand in. Raises InputError."""
    names, lines = _lines(path)
    rows, numbers, problems = _rows(names, lines)
    if not problems and len(rows) < 2:
        problems = [Problem("", f"has {len(rows)} rows of numbers", "needs at least 2")]
    _refuse(problems, path)
    return np.array(rows), numbers


def _refuse(problems: list[Problem], path: Path) -> None:
    """Raise what was found, if anything was: the first few, the rest counted."""
    if problems:
        more = len(problems) - SHOWN
        rest = [Problem("", f"{more} more like these")] if more > 0 else []
        raise InputError(problems[:SHOWN] + rest, str(path))


def _lines(path: Path) -> tuple[list[str], list[tuple[int, str]]]:
    """Names of the columns, and the lines of numbers with their places in the file."""
    try:
        text = path.read_text(encoding="utf-8-sig").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        reason = error.strerror if isinstance(error, OSError) else "it is not text"
        hint = "Paths count from the flight file's folder"
        raise InputError([Problem("trajectory", f"{path} cannot be read: {reason}", "", hint)]) from None
    lines = [
        (n, line) for n, line in enumerate(text, 1) if line.strip() and not line.lstrip().startswith("#")
    ]
    if not lines:
        raise InputError([Problem("", "is empty", f"needs columns {HEADERS}")], str(path))
    names = [name.strip() for name in next(csv.reader([lines[0][1]]))]
    if sorted(names) not in (sorted(COLUMNS), sorted((*COLUMNS, "heading_deg"))):
        problem = Problem("first line", f"has the columns {', '.join(names)}", f"must be {HEADERS}")
        raise InputError([problem], str(path))
    return names, lines[1:]


def _rows(
    names: list[str], lines: list[tuple[int, str]]
) -> tuple[list[list[float]], list[int], list[Problem]]:
    """Rows in the order of COLUMNS, their line numbers, and what is wrong with the others."""
    rows: list[list[float]] = []
    numbers: list[int] = []
    problems: list[Problem] = []
    for number, line in lines:
        row, given, allowed = _row(names, line)
        if row and rows and row[0] <= rows[-1][0]:
            given, allowed = f"t_s is {row[0]:g} after {rows[-1][0]:g}", "must grow from row to row"
        elif row and rows and row[0] - rows[-1][0] > LONGEST_GAP_S:
            given = f"comes {row[0] - rows[-1][0]:g} s after line {numbers[-1]}"
            allowed = f"rows at most {LONGEST_GAP_S:g} s apart"
        if given:
            problems.append(Problem(f"line {number}", given, allowed))
        if row and (not rows or row[0] > rows[-1][0]):
            rows.append(row)
            numbers.append(number)
    return rows, numbers, problems


def _row(names: list[str], line: str) -> tuple[list[float], str, str]:
    """The numbers of a line in the order of COLUMNS, or none with what is wrong and what is allowed."""
    fields = next(csv.reader([line]))
    if len(fields) != len(names):
        return [], f"{line.strip()!r} has {len(fields)} fields", f"must have {len(names)}"
    found: dict[str, float] = {}
    for name, field in zip(names, fields, strict=True):
        try:
            found[name] = float(field)
        except ValueError:
            return [], f"{name} is {field.strip()!r}", "must be a number"
        low, high = RANGES[name]
        if not (math.isfinite(found[name]) and low <= found[name] <= high):
            return [], f"{name} is {found[name]:g}", f"must be {low:g} to {high:g}"
    row = [found[name] for name in COLUMNS]
    return row + ([found["heading_deg"] * DEG] if "heading_deg" in found else []), "", ""


def _beyond_sense(path: Trajectory, t: Array, numbers: list[int]) -> list[Problem]:
    """Intervals between rows in which the path is faster or sharper than sense."""
    problems = []
    for k in range(len(t) - 1):
        times = np.linspace(t[k], t[k + 1], SAMPLES + 1)
        _, velocity, acceleration = path.at(times)
        speed = float(np.max(np.linalg.norm(velocity, axis=1)))
        turn = float(np.max(np.linalg.norm(acceleration, axis=1)))
        where = f"lines {numbers[k]} to {numbers[k + 1]}"
        hint = "More time between the rows, or more rows on the way"
        if speed > FASTEST:
            problems.append(
                Problem(where, f"the path flies {speed:.0f} m/s", f"at most {FASTEST:g} m/s", hint)
            )
        elif turn > HARDEST:
            given = f"the path accelerates by {turn:.0f} m/s2"
            problems.append(Problem(where, given, f"at most {HARDEST:g} m/s2", hint))
    return problems
