"""A measurement written down: its keys alone, or a craft file with them in place of what it had."""

from __future__ import annotations

from pathlib import Path

from quadsim.config import parse_craft
from quadsim.config.craft_schema import Craft
from quadsim.config.toml_edit import fragment, merged
from quadsim.errors import InputError, Problem
from quadsim.measure.result import Result
from quadsim.whole_file import whole_file


def write_fragment(result: Result, path: Path) -> None:
    """Write the keys as a piece of a craft file. Raises FlightError when the place cannot be written."""
    head = f"# Piece of a craft file, from quadsim measure {result.kind} {Path(result.source).name}:"
    head += f" {result.used} of {result.rows} rows\n\n"
    with whole_file(path) as part:
        part.write_text(head + fragment(result.entries), encoding="utf-8")


def write_craft(craft: Craft, result: Result, path: Path) -> None:
    """Write the craft's own text with the keys replaced.

    Raises
    ------
    InputError
        when the craft with these keys is no craft that can be read (the file is not written), or when `path` is the file itself.
    FlightError
        when the place cannot be written.
    """
    if craft.path is not None and path.exists() and path.resolve() == craft.path.resolve():
        given = f"{path} is the craft file itself"
        raise InputError([Problem("--apply", given, "another file", "Compare the two, then rename it")])
    text = merged(craft.source_text, result.entries, str(craft.path or craft.name))
    parse_craft(text, f"{path} (not written)")
    with whole_file(path) as part:
        part.write_text(text, encoding="utf-8")
