"""A set-out sheet in the terminal and as a document."""

from __future__ import annotations

import textwrap
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from quadsim.cli.fold import room
from quadsim.cli.out import say
from quadsim.cli.table import Column, table
from quadsim.report.setout_words import (
    CAUTIONS,
    FIRST,
    MATERIAL_WORDS,
    TAPE_WORDS,
    Grid,
    crowd_words,
    gate_grid,
    material_grid,
    peg_grid,
    summary,
    work_words,
)

if TYPE_CHECKING:
    from quadsim.planning.setout import Peg
    from quadsim.report.setout_words import Sheet

WIDE = 120
"""Letters in a line of words."""


def print_sheet(sheet: Sheet) -> None:
    """Print it all."""
    one = sheet.setout
    say(f"{one.course.name}, laid out", "title")
    say(f"  {summary(sheet)}", "soft")
    say()
    say("Order of work", "title")
    for k, line in enumerate(work_words(sheet), start=1):
        _lines(f"{k}. {line}")
    _lines(TAPE_WORDS, "soft")
    for grid in (gate_grid(one), peg_grid(one), material_grid(one)):
        say()
        _print(grid)
    _lines(MATERIAL_WORDS, "soft")
    say()
    say("Where people stand", "title")
    for line in crowd_words(sheet):
        _lines(line, "caution" if line == sheet.people.note else "")
    for line in (FIRST, *CAUTIONS):
        _lines(line, "caution")


def _lines(words: str, style: str = "") -> None:
    for line in textwrap.wrap(words, (room() or WIDE) - 2):
        say(f"  {line}", style)


def _print(grid: Grid) -> None:
    say(grid.title, "title")
    columns = [Column(head, words=k == 0) for k, head in enumerate(grid.heads)]
    say(table(columns, grid.rows))


def sheet_document(sheet: Sheet) -> dict[str, Any]:
    """What `--json` prints."""
    one, people = sheet.setout, sheet.people
    place = None if people.fastest is None else people.fastest.tolist()
    return {
        "course": one.course.name,
        "craft": people.craft,
        "base_line_m": one.base,
        "right_angle_m": vars(one.square),
        "field_diagonal_m": one.diagonal,
        "gates": [
            {
                "name": frame.name,
                "passages": frame.passages,
                "heading_deg": frame.heading_deg,
                "left": _peg(frame.left),
                "right": _peg(frame.right),
                "lower_m": frame.lower,
                "upper_m": frame.upper,
                "width_m": frame.width,
                "diagonal_m": frame.diagonal,
            }
            for frame in one.frames
        ],
        "pegs": [_peg(peg) for peg in (*one.others, *one.corners)],
        "material": [
            {"what": item.what, "count": item.count, "length_m": item.length or None} for item in one.material
        ],
        "people": {
            "distance_m": sheet.crowd_m,
            "line_m": sheet.rope_m,
            "speed_from": people.speed_from,
            "note": people.note or None,
            "fastest_at_m": place and {"forward": place[0], "right": place[1], "up": -place[2]},
            "runaway_m": people.runaway and people.runaway.distance_m,
        }
        | asdict(people.throw),
    }


def _peg(peg: Peg) -> dict[str, Any]:
    return {
        "name": peg.name,
        "forward_m": peg.forward,
        "right_m": peg.right,
        "from_origin_m": peg.from_origin,
        "from_end_m": peg.from_end,
    }
