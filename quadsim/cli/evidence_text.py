"""How sure an inspection is, in the terminal."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from quadsim.cli.fold import room
from quadsim.cli.out import say
from quadsim.cli.table import Cell, Column, table
from quadsim.report.evidence_words import (
    SHOWN,
    WORTH_SHOWING,
    best_sentence,
    caution,
    decimals,
    installed_sentence,
    map_errors,
    rests_on,
)
from quadsim.report.numbers import figure

if TYPE_CHECKING:
    from quadsim.analysis.inspection import Inspection

WIDTH = 102
"""Letters of a line of prose."""


def print_evidence(seen: Inspection) -> None:
    """Print what the map rests on, the intervals, what makes them wide, and what to measure next."""
    say("Rotor map", "title")
    for line in _map_lines(seen):
        say(f"  {line}", "soft")
    say()
    say("How sure: the true value lies within with 80 % probability", "title")
    say(_intervals(seen))
    say()
    say("What makes it uncertain: change per standard deviation", "title")
    say(_contributions(seen))
    say()
    for line in textwrap.wrap(best_sentence(seen), (room() or WIDTH) - 2):
        say(f"  {line}")
    for line in textwrap.wrap(caution(seen), (room() or WIDTH) - 2):
        say(f"  {line}", "caution")


def _map_lines(seen: Inspection) -> list[str]:
    lines = [rests_on(seen), map_errors(seen), installed_sentence(seen)]
    return [part for line in lines for part in textwrap.wrap(line, (room() or WIDTH) - 2)]


def _intervals(seen: Inspection) -> str:
    columns = (Column("", words=True), Column("value"), Column("low"), Column("high"), Column("", words=True))
    rows = []
    for name, value in seen.evidence.answers.items():
        words, unit, scale = SHOWN[name]
        low, high = seen.evidence.interval(name)
        rows.append([words, *(figure(scale * number) for number in (value, low, high)), unit])
    return table(columns, rows)


def _contributions(seen: Inspection) -> str:
    evidence = seen.evidence
    columns = (
        Column("input", words=True), Column("sigma"), Column("", words=True),
        *(Column(SHOWN[name][0], SHOWN[name][1]) for name in evidence.judged),
    )  # fmt: skip
    places = {name: decimals(0.1 * evidence.answers[name]) for name in evidence.judged}
    rows: list[list[str | Cell]] = []
    for one in evidence.contributions:
        if max((abs(one.shares[name]) for name in evidence.judged), default=0.0) < WORTH_SHOWING:
            continue
        effects = [_signed(evidence.effect(one, name), places[name]) for name in evidence.judged]
        rows.append([one.input, figure(one.sigma), one.unit, *effects])
    return table(columns, rows)


def _signed(value: float, places: int) -> str:
    """A change with its sign, which nothing has not."""
    text = f"{value:+.{places}f}"
    return text if float(text) else text[1:]
