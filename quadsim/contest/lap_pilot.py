"""From an autopilot's line to what a practised pilot may fly: an estimate from assumed habits, until practice runs say better.

    t = max(t_auto, t_plan sqrt(a/a_pilot)) + sum over gates of [ share reaction + turn (1/w_pilot - 1/w) + 2 m sin(turn/2)/V ]
t_auto as the autopilot flew it, for a pilot flies through the same loops; or less thrust on the average, if that is slower;
of the reaction the share that is not anticipated; the slower turning of the thrust by sticks; the way round that a larger margin
m at each gate costs, with the turn of the course there and the speed V of the plan.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from quadsim.planning.plan import Plan, lap_times

REACTION_S = 0.25
"""To what is seen; 0.2 to 0.3 s is common practice, no source."""
SURPRISE = 0.25
"""Share of the reaction that costs time at a gate: a pilot sees the next one coming; assumed."""
STICK_RATE = 8.0
"""Turning of the thrust asked for by the sticks [rad/s]; assumed."""
MARGIN_M = 0.25
"""Kept from a frame beside an autopilot's margin [m]; assumed."""
THRUST = 0.8
"""Share of the greatest thrust that is used on the average of a lap; assumed."""


@dataclass(frozen=True)
class PilotLap:
    """Best lap [s] and what makes it longer than the planned one [s]."""

    seconds: float
    planned: float
    by_laws: float
    by_thrust: float
    by_reaction: float
    by_sticks: float
    by_margin: float


def pilot_lap(plan: Plan, autopilot: float = 0.0) -> PilotLap:
    """The estimate for the best lap of a plan. autopilot : its lap as flown, where there is one [s]."""
    laps = lap_times(plan.course, plan.line.times)
    k = int(np.argmin(laps))
    planned, count = float(laps[k]), len(plan.course.gates)
    limits, gravity = plan.limits, plan.limits.gravity
    full, used = (math.sqrt(max((share * limits.thrust) ** 2 - gravity**2, 1.0)) for share in (1.0, THRUST))
    first = k * count
    times = plan.line.times[first : first + count]
    velocity = plan.line.spline.at(times, 1)
    speed = np.linalg.norm(velocity, axis=1)
    turns = _turns(plan)[first : first + count]
    slower = max(1.0 / STICK_RATE - 1.0 / limits.rate, 0.0)
    held = max(autopilot, planned)
    parts = (
        held - planned,
        max(planned * math.sqrt(full / used) - held, 0.0),
        count * SURPRISE * REACTION_S,
        float(np.sum(turns)) * slower,
        float(np.sum(2.0 * MARGIN_M * np.sin(turns / 2.0) / np.maximum(speed, 1.0))),
    )
    return PilotLap(planned + sum(parts), planned, *parts)


def _turns(plan: Plan) -> np.ndarray:
    """Angle between the ways to and from each passage [rad]."""
    places = np.concatenate([plan.start[None], plan.line.spline.at(plan.line.times)])
    ways = np.diff(places, axis=0)
    ways = np.concatenate([ways, ways[-1:]])
    unit = ways / np.maximum(np.linalg.norm(ways, axis=1, keepdims=True), 1e-9)
    return np.asarray(np.arccos(np.clip(np.sum(unit[:-1] * unit[1:], axis=1), -1.0, 1.0)))
