"""A wind record: a CSV file of time and velocity of the air, as an anemometer's logger writes it."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np

from quadsim.errors import InputError, Problem
from quadsim.units import DEG

PARTS, POLAR = ("north_m_s", "east_m_s"), ("speed_m_s", "from_deg")
HEADERS = "t_s, north_m_s, east_m_s or t_s, speed_m_s, from_deg; up_m_s may follow"
FASTEST = 60.0
"""Greatest velocity that is taken for wind [m/s]."""
SHOWN = 5
"""Most bad rows that are shown; the rest are counted."""


def read_wind_record(path: Path) -> np.ndarray:
    """Rows (t, north, east, down) [s, m/s] of a record; the velocity is where the air goes to.

    Lines that begin with # are left out. Columns, in any order: t_s and either north_m_s and east_m_s (where the air goes
    to) or speed_m_s and from_deg (where it comes from); up_m_s if measured.

    Raises
    ------
    InputError
        that shows the first bad rows and counts the rest.
    """
    try:
        lines = path.read_text(encoding="utf-8-sig").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        reason = error.strerror if isinstance(error, OSError) else "it is not text"
        raise InputError(
            [
                Problem(
                    "wind.record",
                    f"{path} cannot be read: {reason}",
                    "",
                    "Paths count from the flight file's folder",
                )
            ]
        ) from None
    numbered = [
        (k, line) for k, line in enumerate(lines, 1) if line.strip() and not line.lstrip().startswith("#")
    ]
    if not numbered:
        raise InputError([Problem("", "is empty", f"needs columns {HEADERS}")], str(path))
    names = [name.strip() for name in next(csv.reader([numbered[0][1]]))]
    _check_header(names, path)
    table, problems = _read_rows(names, numbered[1:])
    if not problems and not table:
        problems = [Problem("", "has a header and no rows", "needs at least one row of numbers")]
    if problems:
        more = len(problems) - SHOWN
        shown = problems[:SHOWN] + ([Problem("", f"{more} more rows like these")] if more > 0 else [])
        raise InputError(shown, str(path))
    return np.array(table)


def _check_header(names: list[str], path: Path) -> None:
    known = {"t_s", *PARTS, *POLAR, "up_m_s"}
    strange = [name for name in names if name not in known]
    twice = sorted({name for name in names if names.count(name) > 1})
    pairs = sum(all(name in names for name in pair) for pair in (PARTS, POLAR))
    whole = "t_s" in names and pairs == 1 and len(set(names) & {*PARTS, *POLAR}) == 2
    if strange or twice or not whole:
        given = f"has the columns {', '.join(names)}"
        given += f"; unknown: {', '.join(strange)}" if strange else ""
        given += f"; twice: {', '.join(twice)}" if twice else ""
        raise InputError([Problem("first line", given, f"must be {HEADERS}")], str(path))


def _read_rows(names: list[str], lines: list[tuple[int, str]]) -> tuple[list[list[float]], list[Problem]]:
    table: list[list[float]] = []
    problems: list[Problem] = []
    before = -math.inf
    for number, line in lines:
        values, problem = _numbers(names, line)
        if not problem:
            row = dict(zip(names, values, strict=True))
            problem = _fault_of(row, before)
            before = max(before, row["t_s"])
        if problem:
            problems.append(Problem(f"line {number}", f"{line.strip()!r}: {problem}"))
        else:
            table.append(_velocity(row))
    return table, problems


def _numbers(names: list[str], line: str) -> tuple[list[float], str]:
    """The numbers of a line, or what is wrong with it."""
    fields = next(csv.reader([line]))
    if len(fields) != len(names):
        return [], f"has {len(fields)} fields, must have {len(names)}"
    values = []
    for name, field in zip(names, fields, strict=True):
        try:
            values.append(float(field))
        except ValueError:
            return [], f"{name} is not a number"
        if not math.isfinite(values[-1]):
            return [], f"{name} must be finite"
    return values, ""


def _fault_of(row: dict[str, float], before: float) -> str:
    if row["t_s"] <= before:
        return f"t_s must grow, and the rows before reach {before:g} s"
    for name, value in row.items():
        low, high = {"speed_m_s": (0.0, FASTEST), "from_deg": (-360.0, 360.0)}.get(name, (-FASTEST, FASTEST))
        if name != "t_s" and not low <= value <= high:
            return f"{name} must be {low:g} to {high:g}"
    return ""


def _velocity(row: dict[str, float]) -> list[float]:
    if "north_m_s" in row:
        north, east = row["north_m_s"], row["east_m_s"]
    else:
        north = -row["speed_m_s"] * math.cos(row["from_deg"] * DEG)
        east = -row["speed_m_s"] * math.sin(row["from_deg"] * DEG)
    return [row["t_s"], north, east, -row.get("up_m_s", 0.0)]
