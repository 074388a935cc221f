"""Read a TOML file, and remember on which line each key stands (tomllib does not)."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from quadsim.config.toml_slips import syntax_problems
from quadsim.errors import InputError, Problem

GREATEST_BYTES = 2_000_000
"""Largest file that is read; a craft, a course or a whole catalogue takes some tens of kilobytes."""

KeyPath = tuple[str | int, ...]

_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\[\]]+?)\s*\]\]?\s*(#.*)?$")
_KEY = re.compile(
    r"""^\s*((?:"[^"]*"|'[^']*'|[A-Za-z0-9_-]+)(?:\s*\.\s*(?:"[^"]*"|'[^']*'|[A-Za-z0-9_-]+))*)\s*="""
)
_STRING = re.compile(r'"(?:\\.|[^"\\])*"|\'[^\']*\'')


@dataclass(frozen=True)
class Document:
    """A TOML file as read: its data, its text, and the line of each key and table."""

    data: dict[str, Any]
    text: str
    source: str
    lines: dict[KeyPath, int] = field(default_factory=dict)

    def line_of(self, path: KeyPath) -> int | None:
        """Line of a key, or of the nearest key or table around it; None when nothing fits."""
        for length in range(len(path), 0, -1):
            if path[:length] in self.lines:
                return self.lines[path[:length]]
        return None


def read_toml(path: Path) -> Document:
    """Read a file.

    Raises
    ------
    InputError
        when it cannot be read or is not TOML.
    """
    try:
        size = path.stat().st_size
        if size > GREATEST_BYTES:
            given, allowed = (
                f"has {size / 1e6:.1f} MB",
                f"must be at most {GREATEST_BYTES / 1e6:g} MB of TOML text",
            )
            raise InputError([Problem("", given, allowed, "Is it the right file?")], str(path))
        text = path.read_text(encoding="utf-8-sig")  # some editors write a mark before the first letter
    except UnicodeDecodeError as error:
        problem = Problem(
            "", f"byte {error.start} is not UTF-8 text", "TOML files are UTF-8", "Save it as UTF-8"
        )
        raise InputError([problem], str(path)) from None
    except OSError as error:
        raise InputError([Problem("", f"cannot be read: {error.strerror}")], str(path)) from None
    return parse_toml(text, str(path))


def parse_toml(text: str, source: str) -> Document:
    """Parse TOML text; `source` names it in messages. Raises InputError when it is not TOML."""
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(syntax_problems(text, error), source) from None
    return Document(data, text, source, key_lines(text))


def key_lines(text: str) -> dict[KeyPath, int]:
    """Line number (from 1) of every table and of every key that starts a line."""
    lines: dict[KeyPath, int] = {}
    counts: dict[KeyPath, int] = {}
    table: KeyPath = ()
    depth, quote = 0, ""
    for number, line in enumerate(text.splitlines(), start=1):
        if quote:
            quote = "" if quote in line else quote
            continue
        if depth == 0 and (header := _HEADER.match(line)):
            table = _table_path(_split(header[2]), counts, is_array=header[1] == "[[")
            lines.setdefault(table, number)
            continue
        if key := _KEY.match(line):
            lines.setdefault(table + _split(key[1]), number)
        quote = next((q for q in ('"""', "'''") if line.count(q) % 2), "")
        bare = _STRING.sub("", line).split("#")[0]
        depth = max(0, depth + bare.count("[") + bare.count("{") - bare.count("]") - bare.count("}"))
    return lines


def _table_path(names: KeyPath, counts: dict[KeyPath, int], is_array: bool) -> KeyPath:
    """Path of a header with the index of every array of tables it goes through."""
    path: KeyPath = ()
    for position, name in enumerate(names):
        path += (name,)
        if is_array and position == len(names) - 1:
            counts[path] = counts.get(path, -1) + 1
        if path in counts:
            path += (counts[path],)
    return path


def _split(dotted: str) -> KeyPath:
    return tuple(
        part.strip().strip("\"'") for part in re.split(r"""\.(?=(?:[^"']|"[^"]*"|'[^']*')*$)""", dotted)
    )
