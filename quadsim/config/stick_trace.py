"""A recorded stick trace: a CSV file of stick positions over time, as values or as pulse widths."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np

from quadsim.errors import InputError, Problem

COLUMNS = ("roll", "pitch", "yaw", "throttle")
SHOWN = 5
"""Most bad rows that are shown; the rest are counted."""
HEADERS = "t_s, roll, pitch, yaw, throttle (-1 to 1, throttle 0 to 1) or t_s, roll_us, ... (1000 to 2000)"


def from_pulse(width_us: float, low: float = -1.0) -> float:
    """Stick `low`..1 of a pulse width: 1000 us is `low`, 2000 us is 1. Common practice, no source."""
    return low + (1.0 - low) * (width_us - 1000.0) / 1000.0


def read_stick_trace(path: Path) -> np.ndarray:
    """Rows (t, roll, pitch, yaw, throttle) [s, -]; lines that begin with # are left out.

    Raises
    ------
    InputError
        that shows the first bad rows and counts the rest.
    """
    try:
        lines = path.expanduser().read_text(encoding="utf-8-sig").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        reason = error.strerror if isinstance(error, OSError) else "it is not text"
        raise InputError([Problem("--trace", f"{path} cannot be read: {reason}")]) from None
    kept = [
        (n, line) for n, line in enumerate(lines, 1) if line.strip() and not line.lstrip().startswith("#")
    ]
    if not kept:
        raise InputError([Problem("", "is empty", f"needs columns {HEADERS}")], str(path))
    names = [name.strip() for name in next(csv.reader([kept[0][1]]))]
    plain, pulses = ["t_s", *COLUMNS], ["t_s", *(f"{c}_us" for c in COLUMNS)]
    if sorted(names) not in (sorted(plain), sorted(pulses)):
        raise InputError([Problem("", f"has the columns {', '.join(names)}", f"needs {HEADERS}")], str(path))
    wanted = plain if sorted(names) == sorted(plain) else pulses
    rows, problems = _rows(names, wanted, kept[1:])
    if not problems and len(rows) < 2:
        problems = [Problem("", f"has {len(rows)} rows of numbers", "needs at least 2")]
    if problems:
        more = len(problems) - SHOWN
        raise InputError(
            problems[:SHOWN] + ([Problem("", f"{more} more rows like these")] if more > 0 else []), str(path)
        )
    return np.array(rows)


def _rows(
    names: list[str], wanted: list[str], lines: list[tuple[int, str]]
) -> tuple[list[list[float]], list[Problem]]:
    rows: list[list[float]] = []
    problems: list[Problem] = []
    for number, line in lines:
        cells = next(csv.reader([line]))
        try:
            found = dict(zip(names, (float(cell) for cell in cells), strict=True))
        except ValueError:
            problems.append(
                Problem(f"line {number}", f"is {line.strip()!r}", f"must be {len(names)} numbers")
            )
            continue
        row = [found[name] for name in wanted]
        if wanted[1].endswith("_us"):
            row = [row[0], *(from_pulse(v) for v in row[1:4]), from_pulse(row[4], 0.0)]
        if not (all(-1.02 <= v <= 1.02 for v in row[1:4]) and -0.02 <= row[4] <= 1.02):
            problems.append(Problem(f"line {number}", f"is {line.strip()!r}", f"must be within {HEADERS}"))
        elif rows and not row[0] > rows[-1][0]:
            problems.append(
                Problem(f"line {number}", f"t_s is {row[0]:g} after {rows[-1][0]:g}", "must rise")
            )
        else:
            rows.append(row)
    return rows, problems
