"""Tables of the terminal: columns aligned, units under the titles, no rules, as wide as they need to be.

Where that is wider than the terminal, the words of the last column go on below: in their column where it has room, else on
lines of their own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from quadsim.cli.fold import folded, room, shown_length
from quadsim.cli.out import styled

GAP = "  "
LEAST_ROOM = 28
"""Letters that a last column needs to go on below itself."""
OWN_LINE = 4
"""How far words on a line of their own stand further in than the table."""


@dataclass(frozen=True)
class Column:
    """Title and unit of a column; numbers stand to the right, words to the left."""

    title: str
    unit: str = ""
    words: bool = False
    style: str = ""


@dataclass(frozen=True)
class Cell:
    """A cell with a look of its own."""

    text: str
    style: str = ""


def table(columns: Sequence[Column], rows: Sequence[Sequence[str | Cell]], indent: int = 2) -> str:
    """The table as text, ending without a newline."""
    cells = [[_cell(item, column) for item, column in zip(row, columns, strict=True)] for row in rows]
    heads = [[Cell(column.title, "soft") for column in columns]]
    if any(column.unit for column in columns):
        heads.append([Cell(column.unit, "soft") for column in columns])
    if not any(column.title for column in columns):
        heads = []
    whole = heads + cells
    widths = [max((len(row[k].text) for row in whole), default=0) for k in range(len(columns))]
    lines = [(" " * indent + _line(row, columns, widths)).rstrip() for row in whole]
    width = room() if columns and columns[-1].words else None
    if width is None:
        return "\n".join(lines)
    start = indent + sum(widths[:-1]) + len(GAP) * (len(widths) - 1)
    return "\n".join(
        line
        if start + len(row[-1].text) <= width
        else _narrowed(" " * indent + _line(row[:-1], columns[:-1], widths[:-1]), row[-1], start, width)
        for row, line in zip(whole, lines, strict=True)
    )


def _narrowed(first: str, last: Cell, start: int, width: int) -> str:
    """A row whose last words go on below. first : the row without them; start : where their column does; width : of a line."""
    below = width - start < LEAST_ROOM
    hang = len(first) - len(first.lstrip(" ")) + OWN_LINE if below else start
    words = folded(" " * hang + last.text, width, hang).split("\n")
    looks = [" " * hang + styled(one.strip(), last.style) for one in words]
    if below:
        return "\n".join([first, *looks])
    return "\n".join([first + " " * (start - shown_length(first)) + looks[0].lstrip(" "), *looks[1:]])


def _cell(item: str | Cell, column: Column) -> Cell:
    return Cell(item, column.style) if isinstance(item, str) else item


def _line(row: Sequence[Cell], columns: Sequence[Column], widths: Sequence[int]) -> str:
    parts = []
    for k, (cell, column, width) in enumerate(zip(row, columns, widths, strict=True)):
        room = " " * (width - len(cell.text))
        shown = styled(cell.text, cell.style)
        last = k == len(row) - 1
        parts.append((shown + ("" if last else room)) if column.words else room + shown)
    return GAP.join(parts).rstrip()
