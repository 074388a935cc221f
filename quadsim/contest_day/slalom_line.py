"""The slalom's lap as `quadsim lap` plans it: its time, a pilot's, and at each gate the speed and the room beside the craft."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from quadsim.config import Craft, resolve_plant
from quadsim.config.course import Course, Gate
from quadsim.contest.lap import Lap, predict_lap
from quadsim.contest.lap_limits import LapRule, lap_limits
from quadsim.contest.lap_pilot import MARGIN_M, PilotLap, pilot_lap
from quadsim.environment.atmosphere import Site
from quadsim.planning.plan import Plan, plan_line
from quadsim.planning.reachable import check_reachable
from quadsim.planning.speeds import loads_along, speeds_along, steady_load


@dataclass(frozen=True)
class Passing:
    """A gate as the planned line passes it: speed [m/s], and what a pilot leaves free to the side of the craft [m]."""

    gate: str
    speed: float
    room: float


@dataclass(frozen=True)
class PlannedLap:
    """seconds : best lap at the craft's limits; pilot : estimate of a practised pilot's
    top : greatest speed [m/s], between : the places on both sides of where it is
    passings : of that lap; mean_load, peak_load : thrust in weights, steady for the mean power, and greatest
    flown : how many flights in today's wind passed all gates, of how many; None where none were asked for
    held : False where too few did
    """

    course: str
    seconds: float
    pilot: PilotLap
    top: float
    between: tuple[str, str]
    passings: list[Passing]
    mean_load: float
    peak_load: float
    flown: tuple[int, int] | None = None
    held: bool = True


def planned_lap(
    craft: Craft, site: Site, course: Course, *, flights: int = 0, wind_m_s: float = 0.0, seed: int = 1
) -> PlannedLap:
    """The lap of a craft as it is today, planned as by `quadsim lap` left at its defaults, and flown where flights are asked for.

    Raises
    ------
    InputError
        when the craft does not fit through the course, or no line was found.
    """
    rule = LapRule()
    if flights:
        found = predict_lap(craft, site, course, rule, wind_m_s=wind_m_s, samples=flights, seed=seed)
        return _of_plan(found.plan, found.pilot, found)
    limits = lap_limits(craft, resolve_plant(craft, site), rule)
    check_reachable(course, limits.radius)
    plan = plan_line(course, limits, rule.margin)
    return _of_plan(plan, pilot_lap(plan))


def _of_plan(plan: Plan, pilot: PilotLap, flown: Lap | None = None) -> PlannedLap:
    line, count = plan.line, len(plan.course.gates)
    laps = plan.lap_times
    first = int(np.argmin(laps)) * count
    speeds = np.linalg.norm(line.spline.at(line.times, 1), axis=1)
    places = line.spline.at(line.times)
    passings = [
        Passing(gate.name, float(speeds[k]), beside(gate, float((places[k] - gate.centre) @ gate.right), plan.limits.radius))
        for k, gate in list(enumerate(line.gates))[first : first + count]
    ]  # fmt: skip
    last = first + count if plan.course.closed else first + count - 1
    loads = loads_along(line, plan.limits, float(line.times[first]), float(line.times[last]))
    along = speeds_along(line)
    return PlannedLap(
        plan.course.name, float(np.min(laps)), pilot, along.top, along.between, passings, steady_load(loads),
        float(np.max(loads)),
        None if flown is None else (len(flown.laps), flown.tried), flown is None or flown.holds,
    )  # fmt: skip


def beside(gate: Gate, aside: float, radius: float) -> float:
    """Room [m] to the side of a craft of a radius that passes a gate so far from its middle: what the line leaves and the pilot's
    own margin, at most that of the middle."""
    middle = 0.5 * gate.width - radius
    return min(middle - abs(aside) + MARGIN_M, middle)
