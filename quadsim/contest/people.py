"""How far away people stand from a course: the worst fall of a craft at the top speed of its lap, and what comes before it.

    distance = farthest fall from the ceiling, at the worst angle and with the wind behind it, + 1 s of reaction at that speed

The speed is the greatest of the planned line, in still air, and the wind on top. A craft that leaves its line with the stick at
its stop may be faster: its level top speed after a dive (`quadsim.analysis.throw.dive_speed`) stands beside it, and in its place
where no line is planned.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from quadsim.analysis.throw import Throw, dive_speed, worst_throw
from quadsim.config import Craft, resolve_plant
from quadsim.config.course import Course
from quadsim.contest.crowd import crowd_of
from quadsim.contest.dash import speed_limits
from quadsim.contest.dash_prediction import dash_of
from quadsim.contest.lap_limits import LapRule, lap_limits
from quadsim.contest.lift import ratings
from quadsim.contest.rules import DashRule
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError
from quadsim.planning.plan import plan_line
from quadsim.planning.reachable import outline_radius, unreachable
from quadsim.planning.setout import way_through
from quadsim.planning.speeds import speeds_along

Array = NDArray[np.float64]

SPEEDS = 5
"""Speeds at which the footprint is worked out; it grows faster than in proportion, so what is read between them is too much."""
ROUGH = 12
"""Samples from gate to gate of a way that is not planned."""


@dataclass(frozen=True)
class People:
    """throw : the worst one, that the distance is from; speed_from : where its speed is from
    way : of the flight (n, 3) [m]; reaches : how far from there it may come down (n,) [m]
    fastest : where the planned line is fastest (3,), None where none is planned
    runaway : the throw of a craft that leaves its line, None where the first one is that already
    note : what whoever reads the distance must know besides
    """

    craft: str
    throw: Throw
    speed_from: str
    way: Array
    reaches: Array
    fastest: Array | None = None
    runaway: Throw | None = None
    note: str = ""


def people(
    craft: Craft, course: Course, site: Site, wind_m_s: float, *, speed_m_s: float | None = None, planned: bool = True
) -> People:  # fmt: skip
    """Where people stand for a craft that fits through the course. speed_m_s : greatest over ground, where it is known;
    planned : whether the line is looked for."""
    if speed_m_s is not None:
        return _unplanned(craft, course, site, wind_m_s, speed_m_s, "as given")
    level = level_speed(craft, site)
    free = dive_speed(level, ceiling(course), wind_m_s)
    loose = f"{level:.1f} m/s level, a dive from the ceiling, the wind"
    if not planned:
        return _unplanned(craft, course, site, wind_m_s, free, loose)
    rule = LapRule()
    try:
        plan = plan_line(course, lap_limits(craft, resolve_plant(craft, site), rule), rule.margin)
    except InputError as error:
        note = f"No line of the lap was found ({error.problems[0].where} {error.problems[0].given}): the speed is that of a dive."
        return replace(_unplanned(craft, course, site, wind_m_s, free, loose), note=note)
    along = speeds_along(plan.line)
    top = along.top + wind_m_s
    throw = worst_throw(craft, site, ceiling(course), top, wind_m_s)
    words = f"{along.top:.1f} m/s on the planned line between {' and '.join(along.between)}, the wind"
    reaches = _reaches(craft, course, site, throw, along.speeds + wind_m_s)
    runaway = worst_throw(craft, site, ceiling(course), free, wind_m_s) if free > top else None
    return People(craft.name, throw, words, along.places, reaches, along.fastest, runaway)


def farthest_of(
    crafts: Iterable[Craft], course: Course, site: Site, wind_m_s: float, speed_m_s: float | None
) -> People | None:
    """The craft that comes farthest of those that fit through a course, without a planned line; None where none fits."""
    fit = [one for one in crafts if not unreachable(course, outline_radius(resolve_plant(one, site)))]
    found = [people(one, course, site, wind_m_s, speed_m_s=speed_m_s, planned=False) for one in fit]
    return max(found, key=lambda one: one.throw.distance_m, default=None)


def level_speed(craft: Craft, site: Site) -> float:
    """Airspeed [m/s] at which the first limit of level flight bites."""
    plant = resolve_plant(craft, site)
    limits = speed_limits(crowd_of([plant]), dash_of(craft, DashRule()), ratings(craft, plant))
    return min(limits.values())


def ceiling(course: Course) -> float:
    """Greatest height of the flying space [m]."""
    return -float(course.field.low[2])


def _unplanned(craft: Craft, course: Course, site: Site, wind: float, speed: float, words: str) -> People:
    """The same distance everywhere along a way that is only a picture."""
    throw = worst_throw(craft, site, ceiling(course), speed, wind)
    way = way_through(course, ROUGH)
    return People(craft.name, throw, words, way, np.full(len(way), throw.distance_m))


def _reaches(craft: Craft, course: Course, site: Site, worst: Throw, speeds: Array) -> Array:
    """How far a craft may come at speeds over ground (n,), from the ceiling as well."""
    looked = np.linspace(0.0, worst.speed_m_s, SPEEDS)
    slower = [worst_throw(craft, site, ceiling(course), one, worst.wind_m_s) for one in looked[:-1].tolist()]
    return np.interp(speeds, looked, [*(one.distance_m for one in slower), worst.distance_m])
