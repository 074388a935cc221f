"""Tables of the terminal: columns aligned, units under the titles, no rules, as wide as they need to be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from quadsim.cli.out import styled

GAP = "  "


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
    return "\n".join(" " * indent + _line(row, columns, widths) for row in whole)


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
