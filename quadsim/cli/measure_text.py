"""A measurement in the terminal and as a document."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from quadsim.cli.fold import room
from quadsim.cli.out import say
from quadsim.cli.table import Cell, Column, table
from quadsim.config.toml_edit import fragment
from quadsim.report.numbers import figure

if TYPE_CHECKING:
    from quadsim.config.craft_schema import Craft
    from quadsim.measure.effect import Change
    from quadsim.measure.result import Found, Result

WIDE = 120
"""Letters in a line of words where no screen says how many there are."""
SHORTEST_NAME = 20
"""Letters to which the names of numbers are broken at most."""
LEFT_SHOWN = 8


def print_result(result: Result, craft: Craft | None, changed: Sequence[Change]) -> None:
    """Print it all."""
    say(f"{result.kind}, {result.source}", "title")
    say(f"  {result.used} of {result.rows} rows used", "soft")
    say()
    say(_numbers(result, craft))
    say()
    for sentence in result.rests_on:
        _lines(sentence, "soft")
    for warning in result.warnings:
        _lines(warning, "caution")
    _print_left(result)
    if result.entries:
        say()
        say("For the craft file" if craft is None else f"For {craft.name}'s file", "title")
        for line in fragment(result.entries).rstrip().split("\n"):
            say(f"  {line}".rstrip())
    _print_changes(changed)
    say()
    for caution in result.cautions:
        _lines(caution, "caution")
    say("A measurement on the bench is not a clearance to fly.", "soft")


def _print_changes(changed: Sequence[Change]) -> None:
    """What the craft would do with these keys, beside what it did."""
    if not changed:
        return
    say()
    say("What that changes, with 80 % probability", "title")
    columns = [Column("", words=True)]
    columns += [Column("before"), Column("+-"), Column("after"), Column("+-"), Column("unit", words=True)]
    rows = []
    for one in changed:
        name = one.answer.rpartition("_")[0] if one.unit else one.answer
        share = 100.0 if one.answer == "hover_throttle" else 1.0
        values = (one.before, one.before_half, one.after, one.after_half)
        unit = "%" if share != 1.0 else one.unit
        rows.append([name.replace("_", " "), *(figure(share * value) for value in values), unit])
    say(table(columns, rows))


def _numbers(result: Result, craft: Craft | None) -> str:
    columns = [
        Column("", words=True), Column("value"), Column("+-"), Column("unit", words=True),
    ]  # fmt: skip
    if craft is not None:
        columns += [Column("craft file"), Column("", words=True)]
    rows: list[list[str | Cell]] = []
    for one in result.found:
        row: list[str | Cell] = [
            one.name,
            *one.texts(),
            "" if one.unit == "-" else one.unit,
        ]
        if craft is not None:
            had = result.before.get(one.key or one.name)
            row += ["" if had is None else figure(float(had), 4), _verdict(result, one)]
        rows.append(row)
    return table(columns, _short_names(columns, rows))


def _short_names(columns: Sequence[Column], rows: list[list[str | Cell]]) -> list[list[str | Cell]]:
    """The rows, with a name too long for a narrow terminal begun in a row of its own above its numbers."""
    width = room()
    if width is None:
        return rows
    texts = [[one.title for one in columns], *([_text(one) for one in row] for row in rows)]
    others = sum(2 + max(len(row[k]) for row in texts) for k in range(1, len(columns)))
    split: list[list[str | Cell]] = []
    for row in rows:
        *above, last = textwrap.wrap(
            _text(row[0]),
            max(width - 2 - others, SHORTEST_NAME),
            subsequent_indent="  ",
            break_on_hyphens=False,
        )
        split += [[part, *[""] * (len(row) - 1)] for part in above]
        split.append([last, *row[1:]])
    return split


def _text(one: str | Cell) -> str:
    return one.text if isinstance(one, Cell) else one


def _verdict(result: Result, one: Found) -> str | Cell:
    apart = result.differs(one)
    if apart is None:
        return ""
    return Cell("differs", "caution") if apart else "agrees"


def _print_left(result: Result) -> None:
    for one in result.left_out[:LEFT_SHOWN]:
        _lines(f"left out: {one.row}: {one.why}")
    if len(result.left_out) > LEFT_SHOWN:
        _lines(f"and {len(result.left_out) - LEFT_SHOWN} more rows left out")


def _lines(words: str, style: str = "") -> None:
    for line in textwrap.wrap(words, (room() or WIDE) - 2):
        say(f"  {line}", style)


def result_document(result: Result, changed: Sequence[Change]) -> dict[str, Any]:
    """The measurement as JSON."""
    return {
        "kind": result.kind,
        "source": result.source,
        "rows": result.rows,
        "used": result.used,
        "found": [_document(result, one) for one in result.found],
        "keys": {
            key: {"value": float(value), "sigma": value.sigma} if hasattr(value, "sigma") else value
            for key, value in result.entries.items()
        },
        "changes": [asdict(one) for one in changed],
        "left_out": [{"row": one.row, "why": one.why} for one in result.left_out],
        "rests_on": result.rests_on,
        "warnings": result.warnings,
        "cautions": result.cautions,
    }


def _document(result: Result, one: Found) -> dict[str, Any]:
    had = result.before.get(one.key or one.name)
    return {
        "name": one.name,
        "value": one.value,
        "sigma": one.sigma,
        "unit": one.unit,
        "key": one.key or None,
        "before": None if had is None else float(had),
        "before_sigma": None if had is None else had.sigma,
        "differs": result.differs(one),
    }
