"""The parts check in the terminal: every question with its answer, and what to change."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

from quadsim.cli.fold import room
from quadsim.cli.out import counted, say, styled
from quadsim.cli.table import Cell, Column, table
from quadsim.report.numbers import figure

if TYPE_CHECKING:
    from quadsim.parts import Finding, NotAsked

WIDTH = 100
"""Letters of a line of prose."""


def print_findings(findings: Sequence[Finding], missing: Sequence[NotAsked]) -> None:
    """Print all findings, what to change about those not kept, and what could not be asked."""
    misfits = sum(not f.ok and f.severity == "misfit" for f in findings)
    cautions = sum(not f.ok for f in findings) - misfits
    word = styled("FITS", "good") if not misfits else styled("MISFIT", "bad")
    say(
        f"{word}  {counted(misfits, 'misfit')} and {counted(cautions, 'caution')} in {len(findings)} questions"
    )
    say()
    columns = (
        Column("", words=True), Column("finding", words=True), Column("value"), Column("", words=True), Column("limit"),
        Column("unit", words=True), Column("meaning", words=True, style="soft"),
    )  # fmt: skip
    say(table(columns, [_row(f) for f in findings]))
    say()
    _print_advice(findings)
    if missing:
        keys = ", ".join(one.key for one in missing)
        _say_wrapped(f"Not asked, since the craft file does not state: {keys}.", "", "soft")
    say("Computed from the craft file; weigh, measure and test before you trust it.", "soft")


def _print_advice(findings: Sequence[Finding]) -> None:
    """What to change and why it matters, misfits first."""
    broken = sorted((f for f in findings if not f.ok), key=lambda f: f.severity != "misfit")
    if not broken:
        return
    say("What to change", "title")
    for f in broken:
        _say_wrapped(f"{f.name.replace('_', ' ')}: {f.change}", "  ")
        _say_wrapped(f"why: {f.why}", "    ", "soft")
    say()


def _say_wrapped(text: str, indent: str, style: str = "") -> None:
    for line in textwrap.wrap(text, room() or WIDTH, initial_indent=indent, subsequent_indent=indent):
        say(line, style)


def _row(f: Finding) -> list[str | Cell]:
    mark = (
        Cell("ok", "good")
        if f.ok
        else Cell("MISFIT", "bad")
        if f.severity == "misfit"
        else Cell("caution", "caution")
    )
    return [
        mark,
        f.name.replace("_", " "),
        figure(f.value),
        f.bound,
        figure(f.limit),
        f.unit.replace("-", ""),
        f.message,
    ]
