"""The lines that are tried on a lap, the fastest first: planned with more and more care, the last one then in more time.

The line at the craft's limits leaves its laws nothing to hold it with. So others are planned for the flights, each from the one
before, with more room in the gates, thrust kept for what wind and scatter take, and a thrust vector that never gets short.

Rationale: more time alone is no care. It makes a turn gentler and a dive the contrary: where a line falls with nearly 1 g it
needs little thrust, and a stretched one may need least of all in between. Whether a line is held is therefore not monotone in
its time, so the lines are flown in order and none is inferred from another; one whose thrust gets short by
stretching is left out.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from quadsim.errors import InputError
from quadsim.planning.limits import Limits
from quadsim.planning.plan import Plan, plan_line
from quadsim.units import DEG

AGAIN = 0.5
"""Share of the usual steps when a line is planned again from one that is near."""
LADDER = (1.0, 1.1, 1.25, 1.5, 2.0)
"""Factors on the time of the most careful line."""
SHORT = 0.9
"""Share of the least thrust of its plan that a line in more time must keep."""
SAMPLES = 400


@dataclass(frozen=True)
class Care:
    """Of one line. thrust : share of the limit; least : thrust over mass [g]; tilt [rad]; room : margin in the gates [m]; share :
    the most of a gate's free half-width that it may take."""

    thrust: float
    least: float
    tilt: float
    room: float
    share: float


CARES = (
    Care(0.97, 0.5, 82.0 * DEG, 0.25, 0.60),
    Care(0.95, 0.65, 79.0 * DEG, 0.30, 0.75),
    Care(0.90, 0.8, 75.0 * DEG, 0.40, 0.80),
)
"""Found by flying: in wind and scatter flights were 0.2 to 0.5 m off their line at most."""


def most_margin(course: Any, limits: Limits) -> float:
    """Margin at which the smallest gate is filled [m]."""
    least = min(min(gate.width, gate.height) for gate in course.gates)
    return float(0.5 * least - limits.radius - course.clearance)


def careful(limits: Limits, care: Care) -> Limits:
    """The limits with what is kept; never wider than they were."""
    return replace(
        limits,
        thrust=care.thrust * limits.thrust,
        least_thrust=max(limits.least_thrust, care.least * limits.gravity),
        tilt=min(limits.tilt, care.tilt),
    )


def with_care(planned: Plan, near: Plan, margin: float, care: Care) -> Plan | None:
    """A line planned anew from one that is near; None where none is found. margin : of the line at the limits [m]."""
    room = max(margin, min(care.room, care.share * most_margin(planned.course, planned.limits)))
    try:
        return plan_line(planned.course, careful(planned.limits, care), room, AGAIN, near.line)
    except InputError:
        return None


def least_used(plan: Plan) -> float:
    """Least thrust over mass from the start to the last passage [m/s2]."""
    times = np.linspace(0.0, plan.line.total, SAMPLES)
    spline = plan.line.spline
    return float(np.min(np.linalg.norm(plan.limits.force(spline.at(times, 1), spline.at(times, 2)), axis=1)))


def in_more_time(plan: Plan, factor: float) -> Plan:
    """The same line flown slower."""
    return replace(plan, line=plan.line.stretched(factor))


def lines(planned: Plan, margin: float) -> Iterator[Plan]:
    """What is tried, the fastest first; planned : at the craft's limits with its margin [m]."""
    last = planned
    for k, care in enumerate(CARES):
        found = with_care(planned, last, margin, care)
        if found is not None:
            last = found
            yield found
        elif k == 0:
            yield planned
    for factor in LADDER[1:]:
        slower = in_more_time(last, factor)
        if factor == LADDER[-1] or least_used(slower) >= SHORT * last.limits.least_thrust:
            yield slower
