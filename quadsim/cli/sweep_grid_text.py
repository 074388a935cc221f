"""The grid of a sweep in the terminal: a row for each value of one key, or a matrix of two keys, and where it stops passing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from quadsim.cli.out import say
from quadsim.cli.table import Cell, Column, table
from quadsim.report.numbers import figure

if TYPE_CHECKING:
    from quadsim.sweep.outcome import InCell, Outcome, Share

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
    """A row for each combination: how many passed, medians with 5 and 95 %."""
    sweep = outcome.sweep
    many_crafts, many_laws = len(sweep.base.crafts) > 1, len(sweep.base.laws) > 1
    single = len(sweep.cases) == len(sweep.cells)
    columns = [Column("craft", words=True)] * many_crafts + [Column("law", words=True)] * many_laws
    columns += [Column(axis.key.name, axis.key.unit) for axis in sweep.axes]
    sure = not single and len(sweep.cases) >= FEWEST_FOR_A_SHARE * len(sweep.cells)
    columns += [
        Column("passed"),
        *([Column("would pass", "95 % interval")] if sure else []),
        *(Column(label, "" if single else "median (5 to 95 %)") for label in sweep.shown),
    ]
    cells = outcome.cells
    rows: list[list[str | Cell]] = []
    for one in cells[:MOST_ROWS]:
        head = [one.cell.craft] * many_crafts + [one.cell.law] * many_laws
        head += [value_text(value) for value in one.cell.values]
        rows.append(
            [
                *head,
                _verdict(one),
                *([_share_text(one)] if sure else []),
                *(_three(one.figures[label], single) for label in sweep.shown),
            ]
        )
    say(table(columns, rows))
    if len(cells) > MOST_ROWS:
        say(
            f"  and {len(cells) - MOST_ROWS} more combinations; all of them with --out FILE.csv or --json",
            "soft",
        )


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
    for label in _moving(outcome):
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
    """The first shown figures that are not the same in every flight."""
    return [
        one.label for one in outcome.figures if one.least and one.greatest and one.least[1] < one.greatest[1]
    ][:MOST_MATRICES]


def _in(unit: str) -> str:
    return f" in {unit}" if unit else ""


def _median(one: InCell, label: str) -> Cell:
    bad = one.share.passed < one.share.flown
    return Cell(figure(one.figures[label][1]) + (" x" if bad else "  "), "bad" if bad else "")


def _print_boundary(name: str, across: Any, rows: Sequence[tuple[Any, list[InCell]]]) -> None:
    """For each row between which two columns it stops passing."""
    from quadsim.sweep.outcome import edges

    if not across.numeric:
        return
    lines = []
    for value, row in rows:
        shares: list[Share] = [one.share for one in row]
        for a, b in edges(across.values, shares):
            lines.append(f"{name} {value_text(value)}: between {value_text(a)} and {value_text(b)}")
    if lines:
        say()
        say(
            f"  Half of the flights stop (or begin) to pass along {across.key.name}{_in(across.key.unit)}:",
            "caution",
        )
        for line in lines:
            say(f"    {line}")
