"""Read a flight log: a CSV file, one row per time, units in the names of its columns (`columns.KNOWN`)."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np

from quadsim.dynamics.state import ROTOR_NAMES
from quadsim.errors import InputError, Problem
from quadsim.logs.column_map import ColumnMap, Source
from quadsim.logs.columns import HEARD, KNOWN, PARTS, Place, place_of, without_unit
from quadsim.logs.flight_log import Array, FlightLog, Mask, settle_channels

SHOWN = 5
"""Most bad cells that are shown; the rest are counted."""
LEAST_ROWS, LEAST_S = 50, 2.0
"""A log must have so many rows, and last so long [s]; our choice."""
SLOWEST_HZ, FASTEST_HZ = 5.0, 40000.0
"""Rows per second outside which the unit of time must be wrong; our choice."""
FILL_S = 0.6
"""Longest hole of one channel that is filled with a straight line [s]: places come five times a second; our choice."""
DUPLICATES = 0.05
"""Share of rows with a time that was there before above which a log is refused; our choice."""


def read_log(path: Path, columns: ColumnMap | None = None) -> FlightLog:
    """Read a log.

    Raises
    ------
    InputError
        when it cannot be read, has no time, times that fall back, cells that are no numbers, or too few rows.
    """
    columns = columns or ColumnMap()
    lines = _lines(path)
    separator = columns.separator or _separator(lines[0][1])
    names = [name.strip() for name in next(csv.reader([lines[0][1]], delimiter=separator), [])]
    chosen = _choose(names, columns, path)
    log = FlightLog(path, np.zeros(0), {})
    rows = _whole(lines[1:], separator, len(names), log)
    numbers = _numbers(rows, names, sorted({k for k, _, _ in chosen.values()}), separator, path)
    values = {at: source.scale * numbers[k] + source.offset for at, (k, source, _) in chosen.items()}
    values = {at: chosen[at][2].factor * v + chosen[at][2].offset for at, v in values.items()}
    used = {names[k] for k, _, _ in chosen.values()}
    if not any(name.startswith(HEARD) for name in names):
        log.unused = [name for name in names if name not in used]
    keep = _times(values.pop(("time", 0)), log, [number for number, _ in rows], path)
    _fill(log, {at: v[keep] for at, v in values.items()})
    if "motor" in log or "rotor_speed" in log:
        _order_rotors(log, columns.rotors)
    settle_channels(log)
    return log


def _lines(path: Path) -> list[tuple[int, str]]:
    try:
        text = path.expanduser().read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        reason = (
            error.strerror
            if isinstance(error, OSError)
            else "it is not text (a logger's own format? export it as CSV)"
        )
        raise InputError([Problem("LOG", f"{path} cannot be read: {reason}")]) from None
    kept = [
        (n, line) for n, line in enumerate(text.splitlines(), 1) if line.strip() and not line.startswith("#")
    ]
    if len(kept) < LEAST_ROWS + 1:
        given = f"has {max(len(kept) - 1, 0)} rows of numbers"
        raise InputError([Problem("", given, f"needs a header and at least {LEAST_ROWS} rows")], str(path))
    return kept


def _separator(header: str) -> str:
    return next((mark for mark in (";", "\t") if mark in header), ",")


def _whole(lines: list[tuple[int, str]], separator: str, cells: int, log: FlightLog) -> list[tuple[int, str]]:
    """The rows with decimal points, and without a last one that a logger did not finish."""
    if separator != ",":
        lines = [(n, line.replace(",", ".")) for n, line in lines]
    if lines[-1][1].count(separator) + 1 < cells:
        log.notes.append(f"line {lines[-1][0]}, the last, is cut short and was left out")
        lines = lines[:-1]
    return lines


def _choose(
    names: list[str], columns: ColumnMap, path: Path
) -> dict[tuple[str, int], tuple[int, Source, Place]]:
    """Place in our channels -> (index of the column, how it is read, place); every problem at once."""
    problems: list[Problem] = []
    offered: list[tuple[int, Source, Place]] = []
    for ours, source in columns.columns.items():
        if source.column not in names:
            given = f"the log has no column {source.column!r}"
            problems.append(Problem(f"--columns, {ours}", given, f"it has: {', '.join(names[:40])}"))
        else:
            offered.append((names.index(source.column), source, KNOWN[ours]))
    exported = any(name.startswith(HEARD) for name in names)
    taken = {source.column for source in columns.columns.values()}
    for k, name in enumerate(names):
        place = place_of(name, exported)
        if place is not None and name not in taken:
            offered.append((k, Source(name), place))
        elif place is None and name not in taken and (full := without_unit(name)):
            problems.append(
                Problem(f"column {name}", "has no unit in its name", f"name it {' or '.join(full)}")
            )
    chosen: dict[tuple[str, int], tuple[int, Source, Place]] = {}
    for one in sorted(offered, key=lambda o: -o[2].rank):
        chosen[one[2].channel, one[2].part] = one
    if ("time", 0) not in chosen:
        remedy = (
            'Name it time_s, or say which it is: --columns map.toml with time_s = "your name" under [columns]'
        )
        problems.append(Problem("", "has no time", f"its columns are {', '.join(names[:20])}", remedy))
    if problems:
        raise InputError(problems, str(path))
    return chosen


def _numbers(
    lines: list[tuple[int, str]], names: list[str], wanted: list[int], separator: str, path: Path
) -> dict[int, Array]:
    """The wanted columns as numbers; an empty cell, `nan` or `null` is a missing one."""
    short = [(n, line.count(separator) + 1) for n, line in lines if line.count(separator) + 1 != len(names)]
    if short:
        problems = [
            Problem(f"line {n}", f"has {cells} cells", f"the header has {len(names)}")
            for n, cells in short[:SHOWN]
        ]
        raise InputError(problems + _more(len(short)), str(path))
    try:  # as fast as it goes; what it does not understand is looked at cell by cell
        table = np.loadtxt(
            [line for _, line in lines], delimiter=separator, usecols=wanted, comments=None, ndmin=2
        )
    except ValueError:
        return _cell_by_cell(lines, names, wanted, separator, path)
    return {k: table[:, n] for n, k in enumerate(wanted)}


def _cell_by_cell(
    lines: list[tuple[int, str]], names: list[str], wanted: list[int], separator: str, path: Path
) -> dict[int, Array]:
    """As `_numbers`, with missing cells, and with a sentence on those that are no numbers."""
    cells = [line.split(separator) for _, line in lines]
    found: dict[int, Array] = {}
    problems, bad = [], 0
    for k in wanted:
        texts = [row[k].strip().strip('"') for row in cells]
        texts = ["nan" if text.lower() in ("", "null") else text for text in texts]
        try:
            found[k] = np.array(texts).astype(float)
        except ValueError:
            for (n, _), text in zip(lines, texts, strict=True):
                if not _is_number(text):
                    bad += 1
                    where = f"line {n}, {names[k]}"
                    problems.append(Problem(where, f"is {text!r}", "must be a number, or empty"))
    if problems:
        raise InputError(problems[:SHOWN] + _more(bad), str(path))
    return found


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _more(count: int) -> list[Problem]:
    return [Problem("", f"{count - SHOWN} more like these")] if count > SHOWN else []


def _times(t: Array, log: FlightLog, lines: list[int], path: Path) -> Mask:
    """Put the times into the log, from 0; returns which rows are kept."""
    keep = np.isfinite(t)
    if not keep.all():
        log.notes.append(f"{int((~keep).sum())} rows have no time and were left out")
    newest = np.maximum.accumulate(np.where(keep, t, -np.inf))
    before = np.concatenate([[-np.inf], newest[:-1]])
    back = np.flatnonzero(keep & (t < before))
    if back.size:
        k = int(back[0])
        given = f"time falls back from {before[k]:.6g} to {t[k]:.6g} s"
        remedy = (
            "Two flights in one file? Cut it there"
            if before[k] - t[k] > 1.0
            else "Sort the rows, or mend the clock"
        )
        raise InputError([Problem(f"line {lines[k]}", given, "times must rise", remedy)], str(path))
    twice = keep & (t == before)
    if twice.sum() > DUPLICATES * len(t):
        given = f"{int(twice.sum())} of {len(t)} rows repeat the time of the row before"
        raise InputError(
            [
                Problem(
                    "",
                    given,
                    "times must rise",
                    "Export the time with more digits, or one kind of record only",
                )
            ],
            str(path),
        )
    if twice.any():
        log.notes.append(
            f"{int(twice.sum())} rows repeat the time of the row before; the first of each was taken"
        )
    keep &= ~twice
    log.t_s = t[keep] - t[keep][0] if keep.any() else np.zeros(0)
    _check_clock(log, path)
    if log.gaps:
        longest = max(end - begin for begin, end in log.gaps)
        log.notes.append(
            f"rows are missing in {len(log.gaps)} place{'s' if len(log.gaps) > 1 else ''}, at most {longest:.2f} s"
        )
    return keep


def _check_clock(log: FlightLog, path: Path) -> None:
    if len(log) < LEAST_ROWS:
        raise InputError(
            [Problem("", f"has {len(log)} rows with a time", f"needs at least {LEAST_ROWS}")], str(path)
        )
    if not SLOWEST_HZ <= log.rate_Hz <= FASTEST_HZ:
        given = f"has a row every {log.interval_s:.3g} s"
        allowed = f"must be {1e3 / FASTEST_HZ:g} to {1e3 / SLOWEST_HZ:g} ms"
        raise InputError(
            [Problem("time", given, allowed, "Is the unit right? time_ms and time_us are understood")],
            str(path),
        )
    if log.duration_s < LEAST_S:
        raise InputError(
            [Problem("", f"lasts {log.duration_s:.2f} s", f"needs at least {LEAST_S:g} s of flight")],
            str(path),
        )


def _fill(log: FlightLog, values: dict[tuple[str, int], Array]) -> None:
    """Whole channels into the log, short holes filled; what is half there or stands still is noted and left out."""
    for channel in dict.fromkeys(name for name, _ in values):
        parts = PARTS.get(channel, 1)
        own = [values.get((channel, k)) for k in range(parts)]
        if channel == "velocity" and own[2] is None and own[0] is not None and own[1] is not None:
            climb = values.get(("climb_rate", 0))
            own[2] = -climb if climb is not None else np.zeros(len(log))
        if any(one is None for one in own):
            there = sum(one is not None for one in own)
            lacks = ", ".join(_name_of(channel, k) for k, one in enumerate(own) if one is None)
            log.notes.append(f"{channel} has {there} of its {parts} columns, not {lacks}, and was left out")
            continue
        filled = np.stack([_bridged(log, channel, one) for one in own if one is not None], axis=1)
        if np.isnan(filled).all() or (np.ptp(filled, axis=0) == 0.0).all():
            if channel not in ("stick", "height"):
                log.notes.append(f"{channel} stands still all the time and was left out")
            continue
        log.channels[channel] = filled if parts > 1 else filled[:, 0]


def _name_of(channel: str, part: int) -> str:
    """The shortest name that a column for this place may have."""
    return min(
        (name for name, place in KNOWN.items() if (place.channel, place.part) == (channel, part)), key=len
    )


def _bridged(log: FlightLog, channel: str, values: Array) -> Array:
    """Missing cells on a straight line between their neighbours. Longer holes are noted."""
    there = np.isfinite(values)
    if there.all() or not there.any():
        return values
    longest = float(np.max(np.diff(log.t_s[there]))) if there.sum() > 1 else math.inf
    if longest > max(FILL_S, 1.5 * log.interval_s):
        note = f"{channel} is missing for {longest:.2f} s; a straight line stands in its place"
        if note not in log.notes:
            log.notes.append(note)
    return np.interp(log.t_s, log.t_s[there], values[there])


def _order_rotors(log: FlightLog, rotors: tuple[str, ...]) -> None:
    """Their rotors 1 to 4 into our order."""
    order = [rotors.index(name) for name in ROTOR_NAMES]
    for channel in ("motor", "rotor_speed"):
        if channel in log:
            log.channels[channel] = log[channel][:, order]
