"""`quadsim lap` without the printing: the line planned, flown, and flown again in wind by craft as they might be.

The line at the craft's limits is the one reported as planned. The laws cannot hold it in wind, so others are planned for the
flights with more and more care (`lap_lines`); the first one that is held is the lap.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

import numpy as np

from quadsim.config import Craft, resolve_plant
from quadsim.contest.lap_flight import Conditions, Shift, located
from quadsim.contest.lap_learning import SHARES, FlownLap, fly_lap, learn
from quadsim.contest.lap_limits import LapRule, lap_limits
from quadsim.contest.lap_lines import lines
from quadsim.contest.lap_pilot import PilotLap, pilot_lap
from quadsim.contest.lap_watch import LapWatch
from quadsim.contest.uncertainty import drawn, moved_plants, unknowns
from quadsim.environment.atmosphere import Site
from quadsim.planning.plan import Plan, compared, lap_times, plan_line

AT_ONCE = 2
"""Flights at a time: the kernels leave the interpreter free."""
LAWS = 1.1
"""Factor on the planned lap above which the laws, and not the craft, are said to limit it; our choice."""
HELD = 0.8
"""Share of the flights in wind and scatter that must pass all gates; our choice."""


@dataclass(frozen=True)
class Lap:
    """What was found.

    plan : at the craft's limits; flown_plan : the one that was flown, with its room and in its time; flown : the nominal flight
    of it in still air; still_factor : its best lap over the planned one where that flight first passed all gates, NaN if none did
    laps : times of the laps of all flights that passed all gates [s], in wind and scatter; tried : how many flights there were
    place_told : the craft's place came from a system at the field
    """

    craft: str
    rule: LapRule
    plan: Plan
    flown_plan: Plan
    flown: FlownLap
    still_factor: float
    laps: list[float]
    tried: int
    misses: dict[str, int]
    place_told: bool
    pilot: PilotLap

    @property
    def factor(self) -> float:
        """Best lap of the line that was flown over that of the planned one."""
        return _over(self.flown_plan, self.plan)

    @property
    def held(self) -> float:
        """Share of the flights in wind and scatter that passed all gates."""
        return len(self.laps) / self.tried if self.tried else math.nan

    @property
    def holds(self) -> bool:
        """True when the line was flown on nearly all days."""
        return self.tried > 0 and self.held >= HELD

    @property
    def interval(self) -> tuple[float, float]:
        """80 % of the lap times of flights that passed all gates [s]."""
        if not self.laps:
            return math.nan, math.nan
        low, high = np.quantile(self.laps, (0.1, 0.9)).tolist()
        return low, high

    @property
    def best_flown(self) -> float:
        """Best lap of the nominal flight [s], NaN where it missed a gate."""
        return best_lap(self.plan.course, self.flown)

    @property
    def limited_by(self) -> str:
        """What limits the lap: the limit that is tight for most of the planned time, or the laws that cannot hold the line."""
        if self.factor > LAWS:
            return "laws"
        return max((n for n in self.plan.share if n != "none"), key=lambda n: self.plan.share[n])


def best_lap(course: Any, flown: FlownLap) -> float:
    """Best lap of a flight that passed all gates [s]."""
    times = lap_times(course, np.array([one.flown_s for one in flown.passages]))
    return float(np.min(times)) if flown.whole else math.nan


@dataclass(frozen=True)
class Rung:
    """A line that was tried, its best lap over the planned one, what was learnt for it, and its best flight in still air."""

    factor: float
    plan: Plan
    shift: Shift
    flown: FlownLap


def rungs(
    craft: Craft, site: Site, planned: Plan, margin: float, watch: LapWatch | None = None
) -> Iterator[Rung]:
    """Lines learnt, the fastest first. margin : of the planned one [m]."""
    seen = watch or LapWatch()
    seen.begin("a line with more care", 1)
    for plan in lines(planned, margin):
        factor = _over(plan, planned)
        seen.begin(f"learning to fly it in {factor:.2f} times the planned time", len(SHARES) + 1)
        yield Rung(factor, plan, *learn(craft, site, plan, seen.step))
        seen.begin("a line with more care", 1)


def fastest_flown(
    craft: Craft, site: Site, course: Any, rule: LapRule, good: Callable[[FlownLap], bool] = lambda flown: flown.whole
) -> tuple[float, Plan, FlownLap]:  # fmt: skip
    """The first flight in still air that is good (by itself: passes all gates), or the last that was tried; its factor, and the
    plan at the limits.

    Raises
    ------
    InputError
        when the course cannot be flown; it says which gate, and why.
    """
    planned = plan_line(course, lap_limits(craft, resolve_plant(craft, site), rule), rule.margin)
    for rung in rungs(craft, site, planned, rule.margin):
        if good(rung.flown):
            break
    return rung.factor, planned, rung.flown


def predict_lap(
    craft: Craft,
    site: Site,
    course: Any,
    rule: LapRule,
    *,
    wind_m_s: float = 2.0,
    samples: int = 12,
    seed: int = 1,
    watch: LapWatch | None = None,
) -> Lap:
    """The fastest line of a craft through a course, and how it is flown. watch : is told of the stages, and knows what was found
    when they are interrupted.

    Raises
    ------
    InputError
        when the course cannot be flown; it says which gate, and why.
    """
    watch = watch or LapWatch()
    plant = resolve_plant(craft, site)
    watch.begin("the fastest line", 1)
    planned = watch.plan = plan_line(course, lap_limits(craft, plant, rule), rule.margin)
    with ThreadPoolExecutor(1) as pool:
        beside = pool.submit(compared, planned, rule.margin)
        days = _days(craft, site, plant, wind_m_s, samples, seed)
        slower, still, flown, flights = _held(craft, site, planned, rule.margin, days, watch)
        planned = beside.result()
    laps = [best_lap(course, one) for one in flights if one.whole]
    autopilot = max([float(np.min(slower.lap_times)), *np.median(laps or [0.0], keepdims=True).tolist()])
    return Lap(
        craft.name, rule, planned, slower, flown, still, laps, len(flights), _misses(flights), located(craft)[1],
        pilot_lap(planned, autopilot),
    )  # fmt: skip


def _over(one: Plan, other: Plan) -> float:
    return float(np.min(one.lap_times) / np.min(other.lap_times))


def _held(
    craft: Craft, site: Site, planned: Plan, margin: float, days: list[Conditions], watch: LapWatch
) -> tuple[Plan, float, FlownLap, list[FlownLap]]:
    """The fastest line that is held, the least factor for still air, and the flights."""
    still = math.nan
    for rung in rungs(craft, site, planned, margin, watch):
        slower, flown = rung.plan, rung.flown
        flights = _in_wind(craft, site, rung, days, watch) if flown.whole else []
        still = rung.factor if flown.whole and math.isnan(still) else still
        if len(flights) == len(days) and np.mean([one.whole for one in flights]) >= HELD:
            break
    return slower, still, flown, flights


def _days(craft: Craft, site: Site, plant: Any, wind: float, samples: int, seed: int) -> list[Conditions]:
    inputs = unknowns(craft, site, plant)
    plants = moved_plants(craft, site, inputs, drawn(samples, inputs, seed))
    towards = np.random.default_rng(seed).uniform(0.0, 360.0, samples).tolist()
    return [
        Conditions(wind, way, seed + 1 + k, one)
        for k, (way, one) in enumerate(zip(towards, plants, strict=True))
    ]


def _in_wind(craft: Craft, site: Site, rung: Rung, days: list[Conditions], watch: LapWatch) -> list[FlownLap]:
    """Flights on all days; given up when too many have missed to be held."""
    flights: list[FlownLap] = []
    tried = watch.tried[rung.factor] = []
    watch.begin(f"flown in {rung.factor:.2f} times the planned time, days", len(days))

    def flown(day: Conditions) -> FlownLap:
        found = fly_lap(craft, site, rung.plan, rung.shift, day)
        tried.append(found)
        watch.step()
        return found

    with ThreadPoolExecutor(AT_ONCE) as pool:
        for k in range(0, len(days), AT_ONCE):
            some = days[k : k + AT_ONCE]
            flights += pool.map(flown, some)
            if sum(not one.whole for one in flights) > (1.0 - HELD) * len(days):
                break
    return flights


def _misses(flights: list[FlownLap]) -> dict[str, int]:
    """How many flights missed or struck each gate first, or came too near to something else."""
    found: dict[str, int] = {}
    for one in flights:
        if one.whole:
            continue
        first = next((p.gate for p in one.passages if not p.passed), one.nearest)
        found[first] = found.get(first, 0) + 1
    return found
