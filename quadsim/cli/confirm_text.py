"""What `quadsim choose --flown` prints of its flights."""

from __future__ import annotations

import math
from typing import Any

from quadsim.cli.out import say
from quadsim.cli.table import Column, table
from quadsim.parts.choice import Event
from quadsim.parts.confirm import Confirmation, Confirmed
from quadsim.parts.flown import WITHIN, Flown

UNITS: dict[Event, tuple[str, float, int]] = {
    "slalom": ("s", 1.0, 2),
    "lift": ("g", 1e3, 0),
    "dash": ("m/s", 1.0, 1),
}
"""Unit of an event's figure for people, what SI is multiplied with, and decimals."""


def print_confirmation(confirmed: Confirmation) -> None:
    """Tables for people."""
    if not confirmed.flown:
        return
    say()
    say("Flown by the whole simulation", "title")
    rows = [row for k, one in enumerate(confirmed.first, 1) for row in _choice_rows(k, one)]
    for event, (ranked, flown) in confirmed.best.items():
        rows.append([f"best {event}", ranked.choice.shared.frame.name, *_event_cells(flown)])
    words = ("event", "estimated", "flown", "differs", "", "how")
    say(
        table(
            [
                Column("", words=True),
                Column("frame", words=True),
                *(Column(one, words=True) for one in words),
            ],
            rows,
        )
    )
    if not confirmed.stopped:
        say(_verdict(confirmed))
    say(LAP_NOTE, "soft")


LAP_NOTE = (
    "A lap is planned at the craft's limits, learnt by flying in still air, and flown slower until it passes all gates; the "
    "craft is told its place. An autopilot's time, not a pilot's. The dash brakes as gently as the crew of "
    "`quadsim dash` does."
)


def _choice_rows(place: int, one: Confirmed) -> list[list[str]]:
    frame = one.ranked.choice.shared.frame.name
    flown = [[frame if k == 0 else "", *_event_cells(each)] for k, each in enumerate(one.flown.values())]
    points = "not all flown" if math.isnan(one.points) else f"{one.points:.1f} points"
    heads = [f"{place}.", points, f"({one.ranked.points:.1f} estimated)"]
    return [[head, *cells] for head, cells in zip(heads, flown, strict=False)]


def _event_cells(one: Flown) -> list[str]:
    unit, scale, digits = UNITS[one.event]
    flown = f"{scale * one.flown:.{digits}f} {unit}" if one.was_flown else "not flown"
    differs = f"{100.0 * one.difference:+.1f} %" if one.was_flown else ""
    return [
        one.event, f"{scale * one.estimated:.{digits}f} {unit}", flown, differs,
        "as estimated" if one.agrees else "NOT as estimated", "; ".join(filter(None, (one.words, one.choice_of_gains))),
    ]  # fmt: skip


def _verdict(confirmed: Confirmation) -> str:
    wrong = sorted({one.event for one in confirmed.every if not one.agrees})
    within = f"within {100.0 * WITHIN:.0f} %"
    events = (
        f"not {within} of the estimate: {', '.join(wrong)}" if wrong else f"all {within} of the estimates"
    )
    estimated = max(confirmed.first, key=lambda one: one.ranked.points)
    if confirmed.first[0] is estimated:
        return f"{events}; the best by the estimate stays first"
    return f"{events}; another choice is first by what was flown"


def confirmation_document(confirmed: Confirmation) -> dict[str, Any]:
    """The JSON document, SI but for the load in g."""
    return {
        "agrees": confirmed.agrees,
        "stopped": confirmed.stopped,
        "events": confirmed.jobs,
        "events_flown": confirmed.flown,
        "events_kept": confirmed.kept,
        "first": [
            {
                "frame": one.ranked.choice.shared.frame.name,
                "price": round(one.ranked.price, 2),
                "points_estimated": one.ranked.points,
                "points_flown": None if math.isnan(one.points) else one.points,
                "events": {event: _event_document(flown) for event, flown in one.flown.items()},
            }
            for one in confirmed.first
        ],
        "best_per_event": {
            event: {"frame": ranked.choice.shared.frame.name} | _event_document(flown)
            for event, (ranked, flown) in confirmed.best.items()
        },
    }


def _event_document(one: Flown) -> dict[str, Any]:
    unit, scale, _ = UNITS[one.event]
    flown = one.was_flown
    return {
        "unit": unit,
        "estimated": scale * one.estimated,
        "flown": scale * one.flown if flown else None,
        "difference": one.difference if flown else None,
        "agrees": one.agrees,
        "how": one.words,
        "gains": one.gains,
        "choice_of_gains": one.choice_of_gains,
    }
