"""The slalom of a choice planned and flown as `quadsim lap` does, in still air: slower until it passes all gates.

A system at the field tells the craft its place (assumed), in stead of a pilot's eyes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from quadsim.config import Craft
from quadsim.config.contest_schema import Contest
from quadsim.contest.lap import best_lap, fastest_flown
from quadsim.contest.lap_limits import LapRule
from quadsim.contest.slalom import slalom_course
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError

RULE = LapRule()
"""As of `quadsim lap` without options."""


@dataclass(frozen=True)
class FlownSlalom:
    """Best lap flown [s], infinite where none passed all gates; best lap planned [s], NaN without a line; in words."""

    lap: float
    planned: float
    words: str


def fly_slalom(craft: Craft, site: Site, contest: Contest) -> FlownSlalom:
    """The fastest laps of a craft, at the limits of RULE."""
    course = slalom_course(contest)
    try:
        factor, plan, flown = fastest_flown(craft, site, course, RULE)
    except InputError as error:
        return FlownSlalom(math.inf, math.nan, f"no line: {error.problems[0]}")
    planned = float(np.min(plan.lap_times))
    if not flown.whole:
        return FlownSlalom(
            math.inf, planned, f"planned {planned:.2f} s; gates missed in {factor:.2f} x that time too"
        )
    off = 100.0 * flown.off_most
    return FlownSlalom(
        best_lap(course, flown),
        planned,
        f"planned {planned:.2f} s, flown in {factor:.2f} x that time, off by {off:.0f} cm at most",
    )
