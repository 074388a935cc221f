"""A course's lap planned for a middling craft: what a good line takes there, beside a point mass that knows no line."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from quadsim.config.course import Course
from quadsim.constants import G0
from quadsim.contest.lap_limits import LapRule
from quadsim.contest.lap_lines import CARES, careful, most_margin
from quadsim.planning.limits import Limits
from quadsim.planning.plan import plan_line
from quadsim.units import DEG

MIDDLING = Limits(
    gravity=G0, thrust=5.0 * G0, thrust_fall=1.0, least_thrust=0.5 * G0, rate=15.0, tilt=85.0 * DEG, drag=0.02,
    drag_squared=0.011, radius=0.2, push=0.006,
)  # fmt: skip
"""Limits of a craft in the middle of nineteen whose laps were planned."""
CARE = CARES[0]
"""Care of the first line that is flown."""
LAPS, EFFORT = 2, 0.5
"""Laps of the plan, the faster of which counts, and share of the usual steps: within 0.2 % of three laps with all steps."""
LEVEL = math.sqrt((CARE.thrust * MIDDLING.thrust) ** 2 - G0**2)
"""Its level acceleration [m/s2]."""


def middling_lap(course: Course) -> float:
    """Best lap [s].

    Raises
    ------
    InputError
        when the course cannot be flown; it says which gate, and why.
    """
    room = max(LapRule.margin, min(CARE.room, CARE.share * most_margin(course, MIDDLING)))
    plan = plan_line(replace(course, laps=LAPS), careful(MIDDLING, CARE), room, EFFORT)
    return float(np.min(plan.lap_times))
