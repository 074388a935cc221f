"""`quadsim report --contest` without the printing: three events, packs, and what this day's numbers changed."""

from __future__ import annotations

import contextlib
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import cast

from quadsim.config import Craft
from quadsim.config.contest_schema import Contest
from quadsim.contest.rules import STEP_G
from quadsim.contest.uncertainty import SAMPLES, draws
from quadsim.contest_day.bound import CAUTION, worst
from quadsim.contest_day.dash import DashDay, dash_day
from quadsim.contest_day.lift import LiftDay, lift_day
from quadsim.contest_day.morning import Step, morning
from quadsim.contest_day.packs import EVENTS, PackRow
from quadsim.contest_day.slalom import SlalomDay, slalom_day
from quadsim.contest_day.today import Today, craft_of_today

STAGES = 4
"""Calls of `told`."""
Day = SlalomDay | LiftDay | DashDay


@dataclass(frozen=True)
class DaySheet:
    """What is known of a day; an event is missing where Ctrl-C came first, the slalom never.

    craft : as in its file; others : crafts of single events, by event
    days : the events by name; each has a craft, bounds, and an end of a run
    steps : what this day's numbers changed, in order
    """

    craft: Craft
    others: dict[str, Craft]
    contest: Contest
    today: Today
    days: dict[str, Day]
    packs: list[PackRow]
    steps: list[Step]

    @property
    def slalom(self) -> SlalomDay:
        """The laps."""
        return cast("SlalomDay", self.days["slalom"])

    @property
    def lift(self) -> LiftDay:
        """The weights; KeyError where they are not worked out."""
        return cast("LiftDay", self.days["lift"])

    @property
    def dash(self) -> DashDay:
        """The runs; KeyError where they are not worked out."""
        return cast("DashDay", self.days["dash"])

    @property
    def missing(self) -> list[str]:
        """Events that Ctrl-C left out."""
        return [event for event in EVENTS if event not in self.days]

    @property
    def verdicts(self) -> dict[str, str]:
        """Go, caution or no-go of each event: the worst of its bounds; no better than caution on a worn pack."""
        packs = [CAUTION] if self.packs and all(row.worn for row in self.packs) else []
        return {
            event: worst([*packs, *self._own(event), *(one.verdict for one in day.bounds)])
            for event, day in self.days.items()
        }

    def _own(self, event: str) -> list[str]:
        """What the lap itself says: no line found, or one that flights did not hold."""
        return [self.slalom.word] if event == "slalom" else []

    @property
    def packs_needed(self) -> dict[str, int]:
        """Full packs that each event asks for: one a lift, the two runs of a dash, one for the laps."""
        needed = {"slalom": 1}
        if "lift" in self.days:
            needed["lift"] = len(self.lift.attempts)
        if "dash" in self.days:
            needed["dash"] = math.ceil(2 / max(self.dash.prediction.course.runs_per_pack, 1))
        return needed


def day_sheet(
    craft: Craft, contest: Contest, today: Today, others: Mapping[str, Craft] | None = None, *,
    step_g: float = STEP_G, samples: int = SAMPLES, seed: int = 1, flights: int = 0, own_lap_s: float | None = None,
    told: Callable[[int, str], None] = lambda done, what: None,
) -> DaySheet:  # fmt: skip
    """The whole sheet; of what is known when Ctrl-C comes, as soon as one event is.

    others : other crafts by event; what was weighed and measured counts for them where mass and battery are the same
    flights, own_lap_s : of the slalom's planned lap, see `slalom_day`

    Raises
    ------
    InputError
        when a craft cannot fly an event at all, or the scales show another craft.
    """
    others = dict(others or {})
    told(0, "packs")
    packs, steps = morning(craft, contest, today)
    by_event = {event: _of_event(craft, others, event, today, packs) for event in EVENTS}
    told(1, "slalom" if contest.slalom.laid is None else f"line through {contest.slalom.laid.name}")
    top = next((row.speed for row in packs if "slalom" in row.use), steps[-1].speed)
    slalom = slalom_day(
        by_event["slalom"], contest, today, None if "slalom" in others else top, flights=flights, own_lap_s=own_lap_s
    )  # fmt: skip
    ratio = slalom.lap_s / slalom.estimate_s
    packs = [replace(row, lap_s=row.lap_s * ratio) for row in packs]
    steps = [replace(one, lap_s=one.lap_s * ratio) for one in steps]
    days: dict[str, Day] = {"slalom": slalom}
    with contextlib.suppress(KeyboardInterrupt):
        told(2, "lift")
        of = draws(by_event["lift"], today.site, samples, seed)
        days["lift"] = lift_day(by_event["lift"], contest, today, step_g=step_g, of=of)
        told(3, "dash")
        if by_event["dash"] != by_event["lift"]:
            of = draws(by_event["dash"], today.site, samples, seed)
        days["dash"] = dash_day(by_event["dash"], contest, today, of=of)
        told(STAGES, "done")
    return DaySheet(craft, others, contest, today, days, packs, steps)


def _of_event(
    craft: Craft, others: Mapping[str, Craft], event: str, today: Today, packs: list[PackRow]
) -> Craft:
    """The craft of an event with its pack; another craft keeps its file's mass, and its pack if it has another one."""
    chosen = next((row.pack for row in packs if event in row.use), None)
    other = others.get(event)
    if other is None:
        return craft_of_today(craft, today, chosen)
    own = replace(today, weighed_g=None)
    return craft_of_today(other, own, chosen) if other.battery == craft.battery else other
