"""`quadsim lap` without the printing: the line planned, flown, and flown again in wind by craft as they might be."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from quadsim.config import Craft, resolve_plant
from quadsim.contest.lap_flight import Conditions, Shift, located
from quadsim.contest.lap_learning import FlownLap, fly_lap, in_more_time, learn
from quadsim.contest.lap_limits import LapRule, lap_limits
from quadsim.contest.lap_pilot import PilotLap, pilot_lap
from quadsim.contest.uncertainty import drawn, moved_plants, unknowns
from quadsim.environment.atmosphere import Site
from quadsim.planning.plan import Plan, lap_times, plan

LADDER = (1.0, 1.05, 1.1, 1.2, 1.3, 1.45, 1.6, 1.8, 2.0)
"""Factors on the planned time that are tried until a flight holds the line."""
HELD = 0.8
"""Share of the flights in wind and scatter that must pass all gates; our choice."""


@dataclass(frozen=True)
class Lap:
    """What was found.

    plan : at the craft's limits; factor : on its time with which it was flown; flown : the nominal flight in still air
    still_factor : the least one with which that flight passed all gates, NaN if none did
    laps : times of the laps of all flights that passed all gates [s], in wind and scatter; tried : how many flights there were
    place_told : the craft's place came from a system at the field
    """

    craft: str
    rule: LapRule
    plan: Plan
    factor: float
    flown: FlownLap
    still_factor: float
    laps: list[float]
    tried: int
    misses: dict[str, int]
    place_told: bool
    pilot: PilotLap

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
        if self.factor > LADDER[2]:
            return "laws"
        return max((n for n in self.plan.share if n != "none"), key=lambda n: self.plan.share[n])


def best_lap(course: Any, flown: FlownLap) -> float:
    """Best lap of a flight that passed all gates [s]."""
    times = lap_times(course, np.array([one.flown_s for one in flown.passages]))
    return float(np.min(times)) if flown.whole else math.nan


@dataclass(frozen=True)
class Rung:
    """A plan in `factor` of its time, what was learnt for it, and its best flight in still air."""

    factor: float
    plan: Plan
    shift: Shift
    flown: FlownLap


def rungs(craft: Craft, site: Site, planned: Plan) -> Iterator[Rung]:
    """A plan learnt in more and more time."""
    for factor in LADDER:
        slower = in_more_time(planned, factor)
        yield Rung(factor, slower, *learn(craft, site, slower))


def fastest_flown(craft: Craft, site: Site, course: Any, rule: LapRule) -> tuple[float, Plan, FlownLap]:
    """The first flight in still air that passes all gates, or the last that was tried; its factor, and the plan at the limits.

    Raises
    ------
    InputError
        when the course cannot be flown; it says which gate, and why.
    """
    planned = plan(course, lap_limits(craft, resolve_plant(craft, site), rule), rule.margin)
    for rung in rungs(craft, site, planned):
        if rung.flown.whole:
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
    tell: Callable[[str], None] = lambda _: None,
) -> Lap:
    """The fastest line of a craft through a course, and how it is flown.

    Raises
    ------
    InputError
        when the course cannot be flown; it says which gate, and why.
    """
    plant = resolve_plant(craft, site)
    planned = plan(course, lap_limits(craft, plant, rule), rule.margin)
    tell(f"planned {planned.line.total:.2f} s to the last gate; flying it ...")
    days = _days(craft, site, plant, wind_m_s, samples, seed)
    still = math.nan
    for rung in rungs(craft, site, planned):
        factor, flown = rung.factor, rung.flown
        flights = _in_wind(craft, site, rung, days) if flown.whole else []
        still = factor if flown.whole and math.isnan(still) else still
        if len(flights) == len(days) and np.mean([one.whole for one in flights]) >= HELD:
            break
    laps = [best_lap(course, one) for one in flights if one.whole]
    return Lap(
        craft.name, rule, planned, factor, flown, still, laps, len(flights), _misses(flights), located(craft)[1],
        pilot_lap(planned),
    )  # fmt: skip


def _days(craft: Craft, site: Site, plant: Any, wind: float, samples: int, seed: int) -> list[Conditions]:
    inputs = unknowns(craft, site, plant)
    plants = moved_plants(craft, site, inputs, drawn(samples, inputs, seed))
    towards = np.random.default_rng(seed).uniform(0.0, 360.0, samples).tolist()
    return [
        Conditions(wind, way, seed + 1 + k, one)
        for k, (way, one) in enumerate(zip(towards, plants, strict=True))
    ]


def _in_wind(craft: Craft, site: Site, rung: Rung, days: list[Conditions]) -> list[FlownLap]:
    """Flights on all days; given up when too many have missed to be held."""
    flights: list[FlownLap] = []
    for day in days:
        flights.append(fly_lap(craft, site, rung.plan, rung.shift, day))
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
