"""A bench table as people keep it: CSV with commas, semicolons or tabs, decimal points or commas, units in the column names."""

from __future__ import annotations

import csv
import difflib
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from quadsim.errors import InputError, Problem

Array = NDArray[np.float64]

SHOWN = 5
"""Most bad rows that are shown; the rest are counted."""
LONG = 2000
"""Lines from which a table is first tried at once."""
PASSED_OVER = ("note", "notes", "comment")
"""Columns of the builder's own words."""
_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?")


@dataclass(frozen=True)
class Column:
    """A column of a kind of measurement.

    low, high : allowed range in `unit`
    required : must be in the table, with a number in every row
    also : other names it may have, with the factor to this one's unit
    words : the texts it may hold; then it holds no numbers
    text : holds any text
    """

    name: str
    unit: str
    low: float
    high: float
    meaning: str
    required: bool = False
    also: tuple[tuple[str, float], ...] = ()
    words: tuple[str, ...] = ()
    text: bool = False

    @property
    def allowed(self) -> str:
        """What a cell may hold, as a clause."""
        if self.words:
            return f"must be one of {', '.join(self.words)}"
        unit = "" if self.unit == "-" else f" {self.unit}"
        return f"must be a number, {self.low:g} to {self.high:g}{unit}"


@dataclass(frozen=True)
class Bench:
    """A table as read: numbers by column (n,), NaN where a cell is empty; texts by column; the line of each row in its file."""

    source: str
    lines: tuple[int, ...]
    texts: tuple[str, ...]
    numbers: dict[str, Array]
    words: dict[str, tuple[str, ...]]

    def __len__(self) -> int:
        """Rows."""
        return len(self.lines)

    def has(self, name: str) -> bool:
        """True when the column is there with at least one number."""
        return name in self.numbers and bool(np.isfinite(self.numbers[name]).any())

    def column(self, name: str) -> Array:
        """Numbers of a column (n,); all NaN when it is not there."""
        return self.numbers.get(name, np.full(len(self), math.nan))

    def row(self, k: int) -> str:
        """A row for a sentence: its line and its text."""
        return f"line {self.lines[k]} ({self.texts[k]})"


def read_bench(path: Path, columns: Sequence[Column]) -> Bench:
    """Read a table with some of these columns; lines that begin with # are left out.

    Raises
    ------
    InputError
        that names unknown columns with the nearest known one, lists what is missing, and shows the rows that make no sense.
    """
    lines = _lines(path)
    mark = _separator(lines[0][1])
    heads = [name.strip().lstrip("\ufeff") for name in _cells(lines[0][1], mark)]
    taken, factors = _matched(heads, columns, str(path))
    quick = _quick(lines, mark, taken, factors, str(path))
    if quick is not None:
        return quick
    problems: list[Problem] = []
    rows: list[list[float | str]] = []
    kept: list[tuple[int, str]] = []
    for number, text in lines[1:]:
        row, faults = _row(number, text, _cells(text, mark), heads, taken, factors, mark)
        problems += faults
        if not faults:
            rows.append(row)
            kept.append((number, text.strip()))
    if not problems and not rows:
        problems = [Problem("", "has no row below its column names", "needs at least one")]
    if problems:
        more = len(problems) - SHOWN
        rest = [Problem("", f"{more} more like these")] if more > 0 else []
        raise InputError(problems[:SHOWN] + rest, str(path))
    numbers, words = {}, {}
    named = [one for one in taken if one is not None]
    for k, column in enumerate(named):
        if column.words or column.text:
            words[column.name] = tuple(str(row[k]) for row in rows)
        else:
            numbers[column.name] = np.array([float(row[k]) for row in rows])
    return Bench(str(path), tuple(n for n, _ in kept), tuple(t for _, t in kept), numbers, words)


def _quick(
    lines: list[tuple[int, str]],
    mark: str,
    taken: Sequence[Column | None],
    factors: Sequence[float],
    source: str,
) -> Bench | None:
    """A long table of nothing but sound numbers, read at once; None for any other, which is then read row by row."""
    if len(lines) < LONG or any(column is None or column.words or column.text for column in taken):
        return None
    texts = [text for _, text in lines[1:]]
    try:
        read = np.loadtxt(texts, delimiter=mark, ndmin=2)
    except ValueError:
        return None
    if read.shape[1] != len(taken):
        return None
    numbers = {}
    for k, (column, factor) in enumerate(zip(taken, factors, strict=True)):
        assert column is not None
        numbers[column.name] = factor * read[:, k]
        if not np.all((numbers[column.name] >= column.low) & (numbers[column.name] <= column.high)):
            return None
    return Bench(source, tuple(number for number, _ in lines[1:]), tuple(texts), numbers, {})


def _lines(path: Path) -> list[tuple[int, str]]:
    """Number and text of every line that counts."""
    try:
        lines = path.expanduser().read_text(encoding="utf-8-sig").splitlines()
    except OSError as error:
        raise InputError([Problem("", f"cannot be read: {error.strerror}")], str(path)) from None
    except UnicodeDecodeError:
        raise InputError(
            [Problem("", "is not UTF-8 text", "a CSV file", "Export it again as CSV in UTF-8")], str(path)
        ) from None
    kept = [(n, x) for n, x in enumerate(lines, 1) if x.strip(" \t;,") and not x.lstrip().startswith("#")]
    if not kept:
        raise InputError(
            [Problem("", "is empty", "needs a line of column names and rows below it")], str(path)
        )
    return kept


def _separator(head: str) -> str:
    return ";" if ";" in head else "\t" if "\t" in head else ","


def _cells(text: str, mark: str) -> list[str]:
    return [cell.strip() for cell in next(csv.reader([text], delimiter=mark))]


def _matched(
    heads: Sequence[str], columns: Sequence[Column], source: str
) -> tuple[list[Column | None], list[float]]:
    """The column that each heading means (None: passed over) with the factor on its numbers."""
    known = {column.name.lower(): (column, 1.0) for column in columns}
    known |= {other.lower(): (column, factor) for column in columns for other, factor in column.also}
    spelt = {column.name.lower(): column.name for column in columns}
    spelt |= {other.lower(): other for column in columns for other, _ in column.also}
    taken: list[Column | None] = []
    factors: list[float] = []
    problems: list[Problem] = []
    for head in heads:
        if head.lower() in PASSED_OVER or not head:
            taken.append(None)
            factors.append(1.0)
        elif head.lower() not in known:
            near = difflib.get_close_matches(head.lower(), known, n=1, cutoff=0.4)
            hint = f"nearest: {spelt[near[0]]}" if near else "take it out, or call it note"
            allowed = f"known: {', '.join(column.name for column in columns)}, note"
            problems.append(Problem(f"column {head!r}", "unknown", allowed, hint[0].upper() + hint[1:]))
        else:
            column, factor = known[head.lower()]
            if column in taken:
                problems.append(
                    Problem(f"column {head!r}", f"holds {column.name} once more", "each column once")
                )
            taken.append(column)
            factors.append(factor)
    present = {column.name for column in taken if column is not None}
    for column in columns:
        if column.required and column.name not in present:
            problems.append(
                Problem(f"column {column.name}", "is missing", f"{column.meaning} [{column.unit}]")
            )
    if problems:
        raise InputError(problems, source)
    return taken, factors


def _row(
    number: int,
    text: str,
    cells: Sequence[str],
    heads: Sequence[str],
    taken: Sequence[Column | None],
    factors: Sequence[float],
    mark: str,
) -> tuple[list[float | str], list[Problem]]:
    """The cells of a line as numbers and texts, or what is wrong with it."""
    where = f"line {number}"
    if len(cells) != len(heads):
        remedy = ""
        if mark == "," and len(cells) > len(heads) and len(cells) <= 2 * len(heads):
            remedy = "With decimal commas, separate the columns by semicolons, or write decimal points"
        return [], [
            Problem(
                where, f"has {len(cells)} cells: {text.strip()}", f"the head has {len(heads)} columns", remedy
            )
        ]
    found: list[float | str] = []
    problems: list[Problem] = []
    for cell, column, factor in zip(cells, taken, factors, strict=True):
        if column is None:
            continue
        if column.words or column.text:
            found.append(cell.lower() if column.words else cell)
            if column.words and cell.lower() not in column.words:
                problems.append(Problem(where, f"{column.name} is {cell!r}", column.allowed))
            continue
        value = math.nan if not cell else number_of(cell)
        if value is None or (math.isnan(value) and column.required):
            problems.append(Problem(where, f"{column.name} is {cell!r}: {text.strip()}", column.allowed))
            continue
        if not math.isnan(value) and not column.low <= value * factor <= column.high:
            given = f"{column.name} is {value * factor:g}: {text.strip()}"
            problems.append(Problem(where, given, column.allowed))
        found.append(value * factor)
    return found, problems


def number_of(cell: str) -> float | None:
    """A number with a decimal point or a decimal comma; None for anything else, such as one with both."""
    return float(cell.replace(",", ".")) if _NUMBER.fullmatch(cell) else None


def groups(values: Array, apart: Array) -> Iterator[NDArray[np.int64]]:
    """Indices of values that lie together, in rising order: a new group begins where one is more than `apart` above the first
    of its group."""
    order = np.argsort(values, kind="stable")
    first = 0
    for k in range(1, len(order) + 1):
        if k == len(order) or values[order[k]] > values[order[first]] + apart[order[first]]:
            yield order[first:k]
            first = k
