"""Keys written into the text of a TOML file without touching its comments, its order, or anything else.

What comes out is read back and compared with what was meant: a file laid out in a way that this does not understand is
refused, never spoilt.
"""

from __future__ import annotations

import copy
import math
import re
import tomllib
from collections.abc import Mapping
from typing import Any

from quadsim.config.quantity import Uncertain
from quadsim.config.toml_reader import key_lines
from quadsim.errors import InputError, Problem

_STRING = re.compile(r'"(?:\\.|[^"\\])*"|\'[^\']*\'')
Entries = Mapping[str, Any]


def fragment(entries: Entries) -> str:
    """The entries as TOML: single keys below the header of their section, tables as sections of their own."""
    found = _sections(entries)
    tops = list(dict.fromkeys(section.split(".")[0] for section in found))
    ordered = sorted(found.items(), key=lambda one: (tops.index(one[0].split(".")[0]), one[0].count(".")))
    return "\n\n".join(_block(section, table) for section, table in ordered) + "\n"


def merged(text: str, entries: Entries, source: str) -> str:
    """The text with the entries in place of what it had.

    Raises
    ------
    InputError
        when the file is laid out in a way that cannot be edited safely.
    """
    try:
        made = _edited(text, entries)
        same = tomllib.loads(made) == _wanted(tomllib.loads(text), entries)
    except (
        tomllib.TOMLDecodeError,
        TypeError,
        AttributeError,
        ValueError,
    ):  # a value where a table was thought to be
        same = False
    if not same:
        remedy = "Write the fragment with --out and put its keys in by hand"
        raise InputError(
            [Problem("--apply", "this file's layout cannot be edited safely", "", remedy)], source
        )
    return made


def _edited(text: str, entries: Entries) -> str:
    lines = text.rstrip("\n").split("\n")
    for key, value in entries.items():
        path = tuple(key.split("."))
        lines = _put_table(lines, path, value) if _is_table(value) else _put(lines, path, value)
    return "\n".join(lines) + "\n"


def written(value: Any) -> str:
    """A value as TOML on one line."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    if isinstance(value, Uncertain) and value.sigma > 0.0 and math.isfinite(value.sigma):
        sigma, decimals = _rounded(value.sigma)
        return f"{{ value = {_plain(round(float(value), decimals))}, sigma = {_plain(sigma)} }}"
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{name} = {written(one)}" for name, one in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(written(one) for one in value) + "]"
    if isinstance(value, Uncertain):
        return _plain(float(f"{float(value):.4g}"))
    return _plain(value)


def _rounded(sigma: float) -> tuple[float, int]:
    """An uncertainty with two digits, and the decimals that the value takes with it."""
    decimals = 1 - math.floor(math.log10(sigma))
    return round(sigma, decimals), decimals


def _plain(number: float) -> str:
    value = float(number)
    return str(int(value)) if value == int(value) and abs(value) < 1e15 else repr(value)


def _is_table(value: Any) -> bool:
    """A section of its own, or a list of sections."""
    return isinstance(value, Mapping) or (
        isinstance(value, list) and bool(value) and isinstance(value[0], Mapping)
    )


def _sections(entries: Entries) -> dict[str, dict[str, Any] | list[Any]]:
    found: dict[str, dict[str, Any] | list[Any]] = {}
    for key, value in entries.items():
        if _is_table(value):
            found[key] = value
            continue
        section, _, name = key.rpartition(".")
        table = found.setdefault(section, {})
        assert isinstance(table, dict)
        table[name] = value
    return found


def _block(section: str, table: Mapping[str, Any] | list[Any]) -> str:
    """A section with its header."""
    if isinstance(table, list):
        return "\n\n".join(
            "\n".join([f"[[{section}]]", *(f"{name} = {written(value)}" for name, value in row.items())])
            for row in table
        )
    lines = [f"[{section}]"]
    for name, value in table.items():
        if _is_table(value) and isinstance(value, list):
            lines += [f"{name} = [", *(f"    {written(row)}," for row in value), "]"]
        else:
            lines.append(f"{name} = {written(value)}")
    return "\n".join(lines)


def _wanted(data: dict[str, Any], entries: Entries) -> dict[str, Any]:
    """The data that the edited text must have: the entries as they read once written."""
    data = copy.deepcopy(data)
    for key, value in entries.items():
        *above, name = key.split(".")
        table = data
        for step in above:
            table = table.setdefault(step, {})
        read = tomllib.loads(f"x = {written(value)}")["x"]
        table[name] = read
    return data


def _put(lines: list[str], path: tuple[str, ...], value: Any) -> list[str]:
    """One key: in its line, in an inline table, at the end of its section, or in a new section."""
    places = key_lines("\n".join(lines))
    if path in places and len(path) > 1:
        return _replaced(lines, places[path] - 1, value)
    for length in range(len(path) - 1, 0, -1):
        line = places.get(path[:length])
        if line is None:
            continue
        if lines[line - 1].lstrip().startswith("["):  # a header
            return _appended(lines, line - 1, ".".join(path[length:]), value)
        return _in_line_table(lines, line - 1, path[length:], value)
    return [*lines, "", f"[{'.'.join(path[:-1])}]", f"{path[-1]} = {written(value)}"]


def _end(lines: list[str], first: int) -> int:
    """Index after the last line of a value that begins on a line."""
    depth = 0
    for k in range(first, len(lines)):
        bare = _STRING.sub("", lines[k]).split("#")[0]
        depth += bare.count("[") + bare.count("{") - bare.count("]") - bare.count("}")
        if depth <= 0:
            return k + 1
    return len(lines)


def _replaced(lines: list[str], k: int, value: Any) -> list[str]:
    """The line with another value; its comment stays."""
    head = lines[k][: lines[k].index("=") + 1]
    note = _comment(lines[_end(lines, k) - 1])
    return [*lines[:k], f"{head} {written(value)}" + (f" {note}" if note else ""), *lines[_end(lines, k) :]]


def _comment(line: str) -> str:
    """The comment of a line, `#` included."""
    masked = _STRING.sub(lambda found: "x" * len(found[0]), line)
    return line[masked.index("#") :].rstrip() if "#" in masked else ""


def _in_line_table(lines: list[str], k: int, rest: tuple[str, ...], value: Any) -> list[str]:
    """A key put into `section = { ... }`."""
    end = _end(lines, k)
    name, _, _ = lines[k].partition("=")
    text = "\n".join(lines[k:end])
    table = next(iter(tomllib.loads("x =" + text.partition("=")[2]).values()))
    inner = table
    for step in rest[:-1]:
        inner = inner.setdefault(step, {})
    inner[rest[-1]] = value
    note = _comment(lines[end - 1])
    return [
        *lines[:k], f"{name.rstrip()} = {written(table)}" + (f" {note}" if note else ""), *lines[end:]
    ]  # fmt: skip


def _body_end(lines: list[str], header: int) -> int:
    """Index after the last key of the section whose header stands on a line."""
    last, k = header + 1, header + 1
    while k < len(lines) and not re.match(r"^\s*\[", lines[k]):
        stripped = lines[k].strip()
        end = _end(lines, k)
        if stripped and not stripped.startswith("#"):
            last = end
        k = max(end, k + 1)
    return last


def _appended(lines: list[str], header: int, name: str, value: Any) -> list[str]:
    at = _body_end(lines, header)
    return [*lines[:at], f"{name} = {written(value)}", *lines[at:]]


def _put_table(lines: list[str], path: tuple[str, ...], value: Any) -> list[str]:
    """A whole section in place of the one that was there; comments inside go with it, since they speak of what was there."""
    places = key_lines("\n".join(lines))
    parts = sorted((line, found) for found, line in places.items() if found[: len(path)] == path)
    block = _block(".".join(path), value).split("\n")
    if not parts:
        parent = places.get(path[:-1])
        if parent is None or not lines[parent - 1].lstrip().startswith("["):
            return [*lines, "", *block]
        at = _body_end(lines, parent - 1)
        return [*lines[:at], "", *block, *lines[at:]]
    first = parts[0][0] - 1
    if (
        not lines[first].lstrip().startswith("[")
    ):  # `bench = { ... }` or `response = [ ... ]` in its parent's section
        end = _end(lines, first)
        rest = [*lines[:first], *lines[end:]]
        return _put_table(rest, path, value)
    drop: set[int] = set()
    for line, _ in parts:
        k = line - 1
        end = _body_end(lines, k) if lines[k].lstrip().startswith("[") else _end(lines, k)
        drop |= set(range(k, end))
        while k - 1 > first and not lines[k - 1].strip():  # the blank line between two of a list of sections
            k -= 1
            drop.add(k)
    kept = [text for k, text in enumerate(lines[:first]) if k not in drop]
    tail = [text for k, text in enumerate(lines) if k >= first and k not in drop]
    return [*kept, *block, *tail]
