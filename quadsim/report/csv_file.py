"""A run as comma-separated values (RFC 4180): one row per time, one column per number, units in the names."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from controllers.signals import Signal
from quadsim.dynamics.state import ROTOR_NAMES
from quadsim.errors import InputError, Problem
from quadsim.simulation.columns import column_name, columns
from quadsim.simulation.run import Run
from quadsim.whole_file import whole_file

QUATERNION = ("w", "x", "y", "z")
WORLD = ("north", "east", "down")
TURN = ("roll", "pitch", "yaw")
BODY = ("forward", "right", "down")
OF_SIGNAL = {"stick": (*TURN, "throttle"), "unallocated": (*TURN, "thrust")}
"""Parts of vectors that neither frame nor length tells."""
UNIT_OF_PART = {("unallocated", "thrust"): "N", ("unallocated", "roll"): "rad/s2", ("unallocated", "pitch"): "rad/s2",
                ("unallocated", "yaw"): "rad/s2"}  # fmt: skip
HEIGHT = Signal(
    "height", (), "m", "", "log", "height of the frame's origin over the take-off point, up positive"
)


@dataclass(frozen=True)
class CsvColumn:
    """One column of numbers: `whole` is the run's column it belongs to, `name` its own."""

    name: str
    whole: str
    unit: str
    frame: str
    meaning: str
    values: np.ndarray


def all_columns(run: Run) -> list[CsvColumn]:
    """Every column of a run, vectors taken apart, the derived height after the time."""
    table = columns()
    found: list[CsvColumn] = []
    for name in run:
        found += _parts(name, table[name], run[name])
        if name == "t_s":
            found += _parts("height_m", HEIGHT, run["height_m"])
    return found


def _parts(whole: str, signal: Signal, values: np.ndarray) -> Iterator[CsvColumn]:
    folder = "signals/" if whole.startswith("signals/") else ""
    if not signal.shape:
        yield CsvColumn(whole, whole, signal.unit, signal.frame, signal.meaning, values)
        return
    for k, part in enumerate(_part_names(signal)):
        unit = UNIT_OF_PART.get((signal.name, part), signal.unit)
        alone = Signal(f"{signal.name}_{part}", (), unit, signal.frame, signal.written_by, signal.meaning)
        yield CsvColumn(folder + column_name(alone), whole, unit, signal.frame, signal.meaning, values[:, k])


def _part_names(signal: Signal) -> tuple[str, ...]:
    if signal.name in OF_SIGNAL:
        return OF_SIGNAL[signal.name]
    if signal.shape == (4,):
        return QUATERNION if signal.frame == "body to world" else ROTOR_NAMES
    if signal.frame == "world":
        return WORLD
    return TURN if signal.unit.startswith("rad") else BODY


def choose(run: Run, names: Sequence[str]) -> list[CsvColumn]:
    """The columns named, or all when none is; a vector's name means all its parts.

    Raises
    ------
    InputError
        that lists every unknown name with its nearest.
    """
    known = all_columns(run)
    chosen: list[CsvColumn] = []
    problems = []
    for name in names:
        found = [column for column in known if name in (column.name, column.whole)]
        chosen += found
        if not found:
            near = difflib.get_close_matches(name, [n for c in known for n in (c.name, c.whole)], 1, 0.4)
            remedy = f"Nearest: {near[0]}. " if near else ""
            remedy += "quadsim export RUN --list shows all columns"
            problems.append(Problem("--columns", f"this run has no column {name!r}", "", remedy))
    if problems:
        raise InputError(problems)
    return chosen or known


def describe(chosen: Sequence[CsvColumn]) -> list[dict[str, str]]:
    """Name, unit, frame and meaning of each column."""
    return [{"name": c.name, "unit": c.unit, "frame": c.frame, "meaning": c.meaning} for c in chosen]


def csv_lines(chosen: Sequence[CsvColumn]) -> Iterator[str]:
    """The header and the rows, each with its line end. Twelve significant digits, an empty field for NaN."""
    yield ",".join(column.name for column in chosen) + "\n"
    row = ",".join(["%.12g"] * len(chosen)) + "\n"
    for values in zip(*(column.values.tolist() for column in chosen), strict=True):
        line = row % values
        yield line.replace("nan", "") if "nan" in line else line


def write_csv(chosen: Sequence[CsvColumn], path: Path) -> None:
    """Write the file. A kill leaves the old file or the new one.

    Raises
    ------
    FlightError
        when the folder cannot be written or the disk is full.
    """
    with whole_file(path) as part, part.open("w", encoding="ascii", newline="") as file:
        file.writelines(csv_lines(chosen))
