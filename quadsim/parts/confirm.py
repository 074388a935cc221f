"""Winners of a search flown by the whole simulation, event by event: does the estimate hold, and does the winner stay first?

Flown are the first of the front in all events, and who is best in one event in that event. A craft that two of them share is
flown once.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from quadsim.environment.atmosphere import Site
from quadsim.parts import figures
from quadsim.parts.build import build_craft
from quadsim.parts.choice import EVENTS, Choice, Event
from quadsim.parts.search import Found, Market, Ranked, best_in, points_of

FIRST = 3
"""Choices of the front that are flown in all events."""
WITHIN = 0.10
"""By how much a flown figure may differ from its estimate [-]; what the estimates claim of themselves."""
Progress = Callable[[float, str], None]


@dataclass(frozen=True)
class Flown:
    """One event of a choice: figures estimated and flown (slalom s, lift kg, dash m/s), in words how it was flown,
    and the gains that it takes by "slot.gain", for the craft's file."""

    event: Event
    estimated: float
    flown: float
    words: str
    gains: dict[str, float]

    @property
    def difference(self) -> float:
        """Flown over estimated, less one; infinite or -1 where it cannot be flown."""
        return self.flown / self.estimated - 1.0

    @property
    def agrees(self) -> bool:
        return abs(self.difference) <= WITHIN


@dataclass(frozen=True)
class Confirmed:
    """A choice of the front flown in all events. points : of what was flown, 0 where one event cannot be."""

    ranked: Ranked
    flown: dict[Event, Flown]
    points: float


@dataclass(frozen=True)
class Confirmation:
    """first : by falling flown points; best : of each event's best choice that event flown"""

    first: list[Confirmed]
    best: dict[Event, tuple[Ranked, Flown]]

    @property
    def every(self) -> list[Flown]:
        return [one for many in self.first for one in many.flown.values()] + [
            one for _, one in self.best.values()
        ]

    @property
    def agrees(self) -> bool:
        """Whether all that was flown is as estimated."""
        return all(one.agrees for one in self.every)


def confirm(here: Market, found: Found, progress: Progress | None = None) -> Confirmation:
    """Fly the winners of a search whose front is not empty."""
    best = {event: best_in(found, event) for event in EVENTS}
    jobs = [(one, event) for one in found.front[:FIRST] for event in EVENTS]
    jobs += [(one, event) for event, one in best.items()]
    done: dict[tuple[Event, str], Flown] = {}
    site = figures.site_of(here.contest)
    for count, (one, event) in enumerate(jobs):
        if progress:
            progress(100.0 * count / len(jobs), f"{one.choice.shared.frame.name}, {event}")
        key = craft_key(one.choice, event)
        if key not in done:
            done[key] = fly_event(here, one, event, site)
    first = []
    for one in found.front[:FIRST]:
        flown = {event: done[craft_key(one.choice, event)] for event in EVENTS}
        first.append(Confirmed(one, flown, _points(here, flown)))
    first.sort(key=lambda one: (-one.points, one.ranked.price))
    return Confirmation(first, {e: (one, done[craft_key(one.choice, e)]) for e, one in best.items()})


def craft_key(choice: Choice, event: Event) -> tuple[Event, str]:
    """What two choices have in common that fly an event with the same craft."""
    names = [getattr(choice.shared, kind).name for kind in vars(choice.shared)]
    fitted = choice.of(event)
    return event, "; ".join([*names, fitted.propeller.name, fitted.battery.name])


def fly_event(here: Market, ranked: Ranked, event: Event, site: Site) -> Flown:
    """One event of a choice."""
    choice, contest = ranked.choice, here.contest
    craft = build_craft(choice.shared, choice.of(event), event, here.catalogue, contest)
    if event == "dash":
        from quadsim.parts.flown_dash import fly_dash

        dash = fly_dash(craft, site, contest, ranked.dash)
        return Flown(event, ranked.dash, dash.speed, dash.words, dash.gains)
    if event == "lift":
        from quadsim.parts.flown_lift import LIFT_GAINS, fly_lift

        lift = fly_lift(craft, site, contest, ranked.lift)
        return Flown(event, ranked.lift, lift.load, lift.words, LIFT_GAINS)
    from quadsim.parts.flown_slalom import fly_slalom

    slalom = fly_slalom(craft, site, contest)
    return Flown(event, ranked.lap, slalom.lap, slalom.words, {})


def _points(here: Market, flown: dict[Event, Flown]) -> float:
    dash, lift, lap = (flown[event].flown for event in ("dash", "lift", "slalom"))
    if dash <= 0.0 or lift <= 0.0 or not math.isfinite(lap):
        return 0.0
    return points_of(here.contest, dash, lift, lap)
