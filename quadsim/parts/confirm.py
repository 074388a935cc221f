"""Winners of a search flown by the whole simulation, event by event: does the estimate hold, and does the winner stay first?

Flown are the first of the front in all events, and who is best in one event in that event. A craft that two of them share is
flown once, and what was flown before is taken from disk (`quadsim.parts.kept`).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from quadsim.config import Craft
from quadsim.environment.atmosphere import Site
from quadsim.parts import figures
from quadsim.parts.build import build_craft, craft_text
from quadsim.parts.choice import EVENTS, Choice, Event
from quadsim.parts.flown import Flown
from quadsim.parts.gains import with_gains
from quadsim.parts.kept import Kept, name_of
from quadsim.parts.search import Found, Market, Ranked, best_in, points_of

FIRST = 3
"""Choices of the front that are flown in all events."""
Progress = Callable[[float, str], None]
Key = tuple[Event, str]


@dataclass(frozen=True)
class Confirmed:
    """A choice of the front flown in all events, in fewer when it was stopped. points : of what was flown, 0 where one event
    cannot be, NaN where one was not yet"""

    ranked: Ranked
    flown: dict[Event, Flown]
    points: float


@dataclass(frozen=True)
class Confirmation:
    """first : by falling flown points; best : of each event's best choice that event flown
    jobs, flown, kept : flights of one craft in one event there are, made or kept, kept from before; notes : on files on disk
    """

    first: list[Confirmed]
    best: dict[Event, tuple[Ranked, Flown]]
    jobs: int = 0
    flown: int = 0
    kept: int = 0
    notes: tuple[str, ...] = ()

    @property
    def stopped(self) -> bool:
        """Ctrl-C came before all was flown."""
        return self.flown < self.jobs

    @property
    def every(self) -> list[Flown]:
        return [one for many in self.first for one in many.flown.values()] + [
            one for _, one in self.best.values()
        ]

    @property
    def agrees(self) -> bool:
        """Whether all that was flown is as estimated."""
        return all(one.agrees for one in self.every)


def confirm(
    here: Market,
    found: Found,
    progress: Progress | None = None,
    tuned: bool = False,
    shelf: Kept | None = None,
) -> Confirmation:
    """Fly the winners of a search whose front is not empty; Ctrl-C ends it with what is flown by then.

    tuned : each craft also with gains found for it, and the better of both counts
    """
    best = {event: best_in(found, event) for event in EVENTS}
    wanted = [(one, event) for one in found.front[:FIRST] for event in EVENTS]
    wanted += [(one, event) for event, one in best.items()]
    wanted.sort(key=lambda job: job[1] == "slalom")  # it takes longest: stopped, the most is known
    jobs = {craft_key(one.choice, event): (one, event) for one, event in wanted}
    done: dict[Key, Flown] = {}
    shelf = shelf or Kept()
    try:
        for count, (key, (one, event)) in enumerate(jobs.items()):
            if progress:
                progress(100.0 * count / len(jobs), f"{one.choice.shared.frame.name}, {event}")
            done[key] = _kept_or_flown(here, one, event, tuned, shelf)
    except KeyboardInterrupt:
        pass
    first = [_confirmed(here, one, done) for one in found.front[:FIRST]]
    first = sorted(
        (one for one in first if one.flown),
        key=lambda one: (_last(one.points), -one.ranked.points, one.ranked.price),
    )
    keys = {event: craft_key(one.choice, event) for event, one in best.items()}
    both = {event: (one, done[keys[event]]) for event, one in best.items() if keys[event] in done}
    return Confirmation(first, both, len(jobs), len(done), shelf.found, tuple(shelf.notes))


def craft_key(choice: Choice, event: Event) -> Key:
    """What two choices have in common that fly an event with the same craft."""
    names = [getattr(choice.shared, kind).name for kind in vars(choice.shared)]
    fitted = choice.of(event)
    return event, "; ".join([*names, fitted.propeller.name, fitted.battery.name])


def _kept_or_flown(here: Market, ranked: Ranked, event: Event, tuned: bool, shelf: Kept) -> Flown:
    choice = ranked.choice
    text = craft_text(choice.shared, choice.of(event), event, here.catalogue, here.contest)
    name = name_of(here.contest, text, event, estimate_of(ranked, event), tuned)
    flown = shelf.look_up(name)
    if flown is None:
        flown = fly_event(here, ranked, event, figures.site_of(here.contest), tuned)
        shelf.keep(name, flown)
    return flown


def estimate_of(ranked: Ranked, event: Event) -> float:
    """Of an event's figure: lap [s], load [kg], speed [m/s]."""
    return {"slalom": ranked.lap, "lift": ranked.lift, "dash": ranked.dash}[event]


def fly_event(here: Market, ranked: Ranked, event: Event, site: Site, tuned: bool = False) -> Flown:
    """One event of a choice, with the shipped gains or the better of both; a load hangs on thrust, whatever the gains."""
    choice = ranked.choice
    craft = build_craft(choice.shared, choice.of(event), event, here.catalogue, here.contest)
    shipped = fly_craft(here, craft, event, site, estimate_of(ranked, event))
    if not tuned or event == "lift":
        return shipped
    from quadsim.parts.own_gains import better, own_gains

    own = own_gains(craft, site)
    if own is None:
        return better(shipped, None)
    flown = fly_craft(here, with_gains(craft, own), event, site, estimate_of(ranked, event))
    return better(shipped, flown, own)


def fly_craft(here: Market, craft: Craft, event: Event, site: Site, estimate: float) -> Flown:
    """One event of one craft."""
    if event == "dash":
        from quadsim.parts.flown_dash import fly_dash

        dash = fly_dash(craft, site, here.contest, estimate)
        return Flown(event, estimate, dash.speed, dash.words, dash.gains)
    if event == "lift":
        from quadsim.parts.flown_lift import LIFT_GAINS, fly_lift

        lift = fly_lift(craft, site, here.contest, estimate)
        return Flown(event, estimate, lift.load, lift.words, LIFT_GAINS)
    from quadsim.parts.flown_slalom import fly_slalom

    slalom = fly_slalom(craft, site, here.contest)
    return Flown(event, estimate, slalom.lap, slalom.words, {})


def _confirmed(here: Market, one: Ranked, done: dict[Key, Flown]) -> Confirmed:
    keys = {event: craft_key(one.choice, event) for event in EVENTS}
    flown = {event: done[key] for event, key in keys.items() if key in done}
    return Confirmed(one, flown, _points(here, flown) if len(flown) == len(EVENTS) else math.nan)


def _last(points: float) -> float:
    """For sorting: most points first, unknown ones last."""
    return math.inf if math.isnan(points) else -points


def _points(here: Market, flown: dict[Event, Flown]) -> float:
    if not all(one.was_flown for one in flown.values()):
        return 0.0
    dash, lift, lap = (flown[event].flown for event in ("dash", "lift", "slalom"))
    return points_of(here.contest, dash, lift, lap)
