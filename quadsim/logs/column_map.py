"""A map from another logger's columns to ours: a TOML file, our name = theirs, with scale and offset, and the order of rotors."""

from __future__ import annotations

import difflib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from quadsim.config.toml_reader import read_toml
from quadsim.dynamics.state import ROTOR_NAMES
from quadsim.errors import InputError, Problem
from quadsim.logs.columns import KNOWN

EXAMPLE = 'gyro_roll_deg_s = { column = "rate x", scale = -1 }'


@dataclass(frozen=True)
class Source:
    """Their column, and how its numbers become those of our name: scale * number + offset."""

    column: str
    scale: float = 1.0
    offset: float = 0.0


@dataclass(frozen=True)
class ColumnMap:
    """Our name -> their column; rotors : places of their rotors 1 to 4; separator : of cells, "" where the header shows it"""

    columns: dict[str, Source] = field(default_factory=dict)
    rotors: tuple[str, ...] = ROTOR_NAMES
    separator: str = ""


def read_column_map(path: Path) -> ColumnMap:
    """Read and check a map.

    Raises
    ------
    InputError
        that lists every key that is wrong.
    """
    document = read_toml(path.expanduser())
    problems: list[Problem] = []
    known = {"columns", "rotors", "separator"}
    problems += [
        Problem(key, "is no key of a column map", f"keys are {', '.join(sorted(known))}")
        for key in document.data
        if key not in known
    ]
    listed = document.data.get("columns", {})
    if not isinstance(listed, dict) or not listed:
        problems.append(Problem("columns", "names no column", f"needs lines such as {EXAMPLE}"))
        listed = {}
    columns = {name: _source(name, given, problems) for name, given in listed.items()}
    rotors = document.data.get("rotors", list(ROTOR_NAMES))
    if not isinstance(rotors, list) or sorted(map(str, rotors)) != sorted(ROTOR_NAMES):
        problems.append(
            Problem(
                "rotors",
                f"is {rotors!r}",
                f"must be these four in your logger's order: {', '.join(ROTOR_NAMES)}",
            )
        )
        rotors = list(ROTOR_NAMES)
    separator = document.data.get("separator", "")
    if separator not in ("", ",", ";", "\t"):
        problems.append(Problem("separator", f"is {separator!r}", 'must be ",", ";" or "\\t"'))
    if problems:
        raise InputError(problems, str(path))
    return ColumnMap(columns, tuple(rotors), str(separator))


def _source(name: str, given: Any, problems: list[Problem]) -> Source:
    where = f"columns.{name}"
    if name not in KNOWN:
        near = difflib.get_close_matches(name, KNOWN, 3, 0.5)
        problems.append(
            Problem(
                where, "is no column that is understood", "", f"Nearest: {', '.join(near)}" if near else ""
            )
        )
    if isinstance(given, str):
        return Source(given)
    numbers = {"scale": 1.0, "offset": 0.0}
    sound = (
        isinstance(given, dict)
        and isinstance(given.get("column"), str)
        and set(given) <= {"column", *numbers}
    )
    sound = sound and all(isinstance(given.get(key, 0.0), (int, float)) for key in numbers)
    if not sound:
        problems.append(Problem(where, f"is {given!r}", f"must be your column's name, or {EXAMPLE}"))
        return Source("")
    return Source(given["column"], float(given.get("scale", 1.0)), float(given.get("offset", 0.0)))
