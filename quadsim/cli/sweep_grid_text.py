"""The grid of a sweep in the terminal: a row for each value of one key, or a matrix of two keys, and where it stops passing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from quadsim.cli.fold import room, shown_length
from quadsim.cli.out import say
from quadsim.cli.table import Cell, Column, table
from quadsim.report.numbers import figure

if TYPE_CHECKING:
    from quadsim.sweep.outcome import InCell, Outcome

MOST_ROWS = 40
"""Rows of a table of combinations."""
FEWEST_FOR_A_SHARE = 5
"""Flights of a combination from which the share that would pass is worth an interval."""
MOST_MATRICES = 3
"""Figures of which a matrix is printed."""
MOST_COLUMNS = 12
"""Columns of a matrix; a wider grid is printed as rows."""


def value_text(value: Any) -> str:
    """A varied value as it was stated."""
    return (
        f"{value:.7g}"
        if isinstance(value, float)
        else str(value).lower()
        if isinstance(value, bool)
        else str(value)
    )


def print_grid(outcome: Outcome) -> None:
    """Print the combinations, if there are several."""
    if len(outcome.sweep.cells) < 2:
        return
    sweep = outcome.sweep
    plain = len(sweep.base.crafts) == len(sweep.base.laws) == 1
    say()
    if plain and len(sweep.axes) == 2 and min(len(axis.values) for axis in sweep.axes) <= MOST_COLUMNS:
        _print_matrices(outcome)
        return
    _print_rows(outcome)
    if plain and len(sweep.axes) == 1:
        _print_edges(outcome)


def _print_rows(outcome: Outcome) -> None:
    """A row for each combination: how many passed, medians with 5 and 95 %; several tables where one is too wide."""
    sweep, cells = outcome.sweep, outcome.cells[:MOST_ROWS]
    single = len(sweep.cases) == len(sweep.cells)
    heads, head_rows = _heads(outcome, cells)
    passed: list[tuple[Column, list[str | Cell]]] = [(Column("passed"), [_verdict(one) for one in cells])]
    if not single and len(sweep.cases) >= FEWEST_FOR_A_SHARE * len(sweep.cells):
        passed.append((Column("would pass", "95 % interval"), [_share_text(one) for one in cells]))
    unit = "" if single else "median (5 to 95 %)"
    figures: list[tuple[Column, list[str | Cell]]] = [
        (Column(label, unit), [_three(one.figures[label], single) for one in cells])
        for label in _moving(outcome) or sweep.shown
    ]
    now: list[tuple[Column, list[str | Cell]]] = passed
    tables = []
    for one in figures:
        wider = _table(heads, head_rows, [*now, one])
        if now and (width := room()) and max(map(shown_length, wider.split("\n"))) > width:
            tables.append(_table(heads, head_rows, now))
            now = []
        now = [*now, one]
    say("\n\n".join([*tables, _table(heads, head_rows, now)]))
    left = len(outcome.cells) - MOST_ROWS
    if left > 0:
        say(f"  and {left} more combinations; all of them with --out FILE.csv or --json", "soft")


def _heads(outcome: Outcome, cells: Sequence[InCell]) -> tuple[list[Column], list[list[str]]]:
    """Columns that say which combination a row is: craft and law where there are several, the varied keys."""
    sweep = outcome.sweep
    many_crafts, many_laws = len(sweep.base.crafts) > 1, len(sweep.base.laws) > 1
    columns = [Column("craft", words=True)] * many_crafts + [Column("law", words=True)] * many_laws
    columns += [Column(axis.key.name, axis.key.unit) for axis in sweep.axes]
    rows = [
        [one.cell.craft] * many_crafts + [one.cell.law] * many_laws + list(map(value_text, one.cell.values))
        for one in cells
    ]
    return columns, rows


def _table(
    heads: Sequence[Column], head_rows: Sequence[Sequence[str]], more: Sequence[tuple[Column, Sequence[str | Cell]]]
) -> str:  # fmt: skip
    """Head columns with further columns beside them."""
    rows = [[*head, *(texts[k] for _, texts in more)] for k, head in enumerate(head_rows)]
    return table([*heads, *(column for column, _ in more)], rows)


def _verdict(one: InCell) -> Cell:
    """`3/4`, with a mark where some did not pass."""
    if one.share.flown == 0:
        return Cell("refused" if one.refused else "-", "caution")
    bad = one.share.passed < one.share.flown
    return Cell(f"{one.share.passed}/{one.share.flown}{' x' if bad else '  '}", "bad" if bad else "")


def _share_text(one: InCell) -> str:
    low, high = one.share.interval
    return f"{100.0 * low:.0f} to {100.0 * high:.0f} %" if one.share.flown else "-"


def _three(three: tuple[float, float, float], single: bool) -> str:
    low, middle, high = map(figure, three)
    return middle if single or middle == "-" else f"{middle} ({low} to {high})"


def _print_edges(outcome: Outcome) -> None:
    """Between which two values it stops passing."""
    from quadsim.sweep.outcome import edges

    axis = outcome.sweep.axes[0]
    if not axis.numeric:
        return
    for a, b in edges(axis.values, [one.share for one in outcome.cells]):
        words = f"{axis.key.name} {value_text(a)} and {value_text(b)} {axis.key.unit}".rstrip()
        say(f"  between {words} it changes whether half of the flights pass", "caution")


def _print_matrices(outcome: Outcome) -> None:
    """How many passed, and the median of the first figures, over two keys: the first one down, the second one across."""
    down, across = outcome.sweep.axes
    turned = len(across.values) > MOST_COLUMNS
    cells = outcome.cells
    count = len(across.values)
    matrix = [list(cells[k * count : (k + 1) * count]) for k in range(len(down.values))]
    if turned:
        down, across, matrix = across, down, [list(row) for row in zip(*matrix, strict=True)]
    rows_of = list(zip(down.values, matrix, strict=True))
    head = f"{down.key.name} down{_in(down.key.unit)}, {across.key.name} across{_in(across.key.unit)}"
    say(f"  {head}; x where not all pass", "soft")
    columns = [Column("passed", words=True), *(Column(value_text(value)) for value in across.values)]
    say(table(columns, [[value_text(value), *map(_verdict, row)] for value, row in rows_of]))
    for label in _moving(outcome)[:MOST_MATRICES]:
        columns = [Column(label, words=True), *(Column(value_text(value)) for value in across.values)]
        say()
        say(
            table(
                columns,
                [[value_text(value), *(_median(one, label) for one in row)] for value, row in rows_of],
            )
        )
    _print_boundary(down.key.name, across, rows_of)


def _moving(outcome: Outcome) -> list[str]:
    """The shown figures that are not the same in every flight."""
    return [
        one.label for one in outcome.figures if one.least and one.greatest and one.least[1] < one.greatest[1]
    ]


def _in(unit: str) -> str:
    return f" in {unit}" if unit else ""


def _median(one: InCell, label: str) -> Cell:
    bad = one.share.passed < one.share.flown
    return Cell(figure(one.figures[label][1]) + (" x" if bad else "  "), "bad" if bad else "")


def _print_boundary(name: str, across: Any, rows: Sequence[tuple[Any, list[InCell]]]) -> None:
    """Between which two columns it stops passing, for the rows that it is the same for."""
    from quadsim.sweep.outcome import edges

    if not across.numeric:
        return
    where: dict[str, list[str]] = {}
    for value, row in rows:
        for a, b in edges(across.values, [one.share for one in row]):
            where.setdefault(f"between {value_text(a)} and {value_text(b)}", []).append(value_text(value))
    if not where:
        return
    say()
    say(
        f"  Half of the flights stop (or begin) to pass along {across.key.name}{_in(across.key.unit)}:",
        "caution",
    )
    for words, values in where.items():
        whom = f"every {name}" if len(values) == len(rows) else f"{name} {', '.join(values)}"
        say(f"    {words} for {whom}")
