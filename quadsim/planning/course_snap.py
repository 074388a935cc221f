"""Snapping: to a grid, to a round heading, to the lines that neighbours stand on; and distances to neighbours."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

from quadsim.planning.course_entries import tidy
from quadsim.planning.course_plan import Chosen, CoursePlan, items, place_of

GRID_M = 0.5
TURN_DEG = 15.0


@dataclass(frozen=True)
class Snapped:
    """A place after snapping, and the things whose line it took: by their forward place, by their right place."""

    at: tuple[float, float]
    forward_of: Chosen | None = None
    right_of: Chosen | None = None


@dataclass(frozen=True)
class Distance:
    """Ground distance from a thing to another [m]."""

    to: Chosen
    length_m: float


def snapped(plan: CoursePlan, chosen: Chosen, at: tuple[float, float], reach_m: float) -> Snapped:
    """Where a thing dragged to `at` comes to rest: on a neighbour's line within `reach_m`, else on the grid."""
    others = [other for other in items(plan) if other != chosen]
    lines: list[Chosen | None] = []
    place = []
    for axis in (0, 1):
        near = min(others, key=lambda other: abs(place_of(plan, other)[axis] - at[axis]), default=None)
        line = None if near is None else place_of(plan, near)[axis]
        if line is None or abs(line - at[axis]) > reach_m:
            lines.append(None)
            place.append(tidy(round(at[axis] / GRID_M) * GRID_M))
        else:
            lines.append(near)
            place.append(tidy(line))
    return Snapped((place[0], place[1]), *lines)


def snapped_heading(heading_deg: float) -> float:
    """The nearest whole step of 15 degrees, 0 to below 360."""
    return round(heading_deg / TURN_DEG) * TURN_DEG % 360.0


def snapped_length(length_m: float, step_m: float) -> float:
    """The nearest whole step of a length."""
    return tidy(round(length_m / step_m) * step_m)


def stepped(value: float, step: float, steps: float) -> float:
    """So many steps on, ending on a whole multiple: 7 with steps of 15 goes up to 15, or down to 0."""
    whole = value / step
    begin = math.floor(whole + 1e-6) if steps > 0 else math.ceil(whole - 1e-6)
    return tidy((begin + steps) * step)


def distances(plan: CoursePlan, chosen: Chosen) -> list[Distance]:
    """From a thing to its neighbours: to the gates before and after it where it is flown, else to the nearest thing."""
    if chosen.kind == "gate":
        return [Distance(other, _apart(plan, chosen, other)) for other in _beside(plan, chosen)]
    if chosen.kind not in ("post", "box", "start"):
        return []
    found = [Distance(other, _apart(plan, chosen, other)) for other in items(plan) if other != chosen]
    return [min(found, key=lambda distance: distance.length_m)] if found else []


def leg_lengths(plan: CoursePlan) -> list[float]:
    """Straight distance between the middles of gates that follow one another, in space [m]; with the way back if closed."""
    gates = plan.flown
    pairs = list(itertools.pairwise(gates))
    if plan.closed and len(gates) > 1:
        pairs.append((gates[-1], gates[0]))
    return [
        math.dist((a.forward_m, a.right_m, a.height_m), (b.forward_m, b.right_m, b.height_m))
        for a, b in pairs
    ]


def _beside(plan: CoursePlan, chosen: Chosen) -> list[Chosen]:
    """The gates flown before and after a gate, or the start before the first; each once."""
    index = {gate.name: k for k, gate in enumerate(plan.gates)}
    name, count, found = plan.gates[chosen.index].name, len(plan.order), []
    for place in (number - 1 for number in plan.numbers(name)):
        for other in (place - 1, place + 1):
            if 0 <= other < count or (plan.closed and count > 1):
                found.append(Chosen("gate", index[plan.order[other % count]]))
            elif other < 0:
                found.append(Chosen("start"))
    return [other for other in dict.fromkeys(found) if other != chosen]


def _apart(plan: CoursePlan, here: Chosen, there: Chosen) -> float:
    return math.dist(place_of(plan, here), place_of(plan, there))
