"""The slalom of a choice planned and flown as `quadsim lap` does, in still air: slower until it passes all gates.

A system at the field tells the craft its place (assumed), in stead of a pilot's eyes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from quadsim.config import Craft, resolve_plant
from quadsim.config.contest_schema import Contest
from quadsim.contest.lap import best_lap, fastest_flown
from quadsim.contest.lap_flight import SETTLE_S
from quadsim.contest.lap_learning import FlownLap
from quadsim.contest.lap_limits import LapRule
from quadsim.contest.lift import ratings
from quadsim.contest.rules import LABEL_SHARE
from quadsim.contest.slalom import slalom_course
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError
from quadsim.parts.flown_dash import NEARLY

RULE = LapRule(label_share=LABEL_SHARE)
"""As of `quadsim lap` without options, but it asks no more of a pack than half its label, on purpose, as in the other events."""
WHILE_S = 0.5
"""Time over which the current of a pack counts [s]: what a correction takes for a moment is no load for it; our choice."""


@dataclass(frozen=True)
class FlownSlalom:
    """Best lap flown [s], infinite where none passed all gates; best lap planned [s], NaN without a line; in words."""

    lap: float
    planned: float
    words: str


def fly_slalom(craft: Craft, site: Site, contest: Contest) -> FlownSlalom:
    """The fastest laps of a craft, at the limits of RULE."""
    course, rated = slalom_course(contest), float(ratings(craft, resolve_plant(craft, site)).pack[0])

    def good(flown: FlownLap) -> bool:
        return flown.whole and hardest_current(flown) <= rated

    try:
        factor, plan, flown = fastest_flown(craft, site, course, RULE, good)
    except InputError as error:
        return FlownSlalom(math.inf, math.nan, f"no line: {error.problems[0]}")
    planned = float(np.min(plan.lap_times))
    if not flown.whole:
        return FlownSlalom(
            math.inf, planned, f"planned {planned:.2f} s; gates missed in {factor:.2f} x that time too"
        )
    pack = hardest_current(flown) / rated
    if pack > 1.0:
        words = f"planned {planned:.2f} s; pack at {100.0 * pack:.0f} % of half its label in {factor:.2f} x that time too"
        return FlownSlalom(math.inf, planned, words)
    off = 100.0 * flown.off_most
    return FlownSlalom(
        best_lap(course, flown),
        planned,
        f"planned {planned:.2f} s, flown in {factor:.2f} x that time, off by {off:.0f} cm at most"
        + (f"; pack at {100.0 * pack:.0f} % of half its label" if pack > NEARLY else ""),
    )


def hardest_current(flown: FlownLap) -> float:
    """Greatest mean current of the pack over WHILE_S, from the start signal on [A]."""
    t = flown.run.t_s
    used = np.asarray(flown.run["battery_current_A"])[t >= SETTLE_S]
    count = max(round(WHILE_S / float(t[1] - t[0])), 1)
    return float(np.max(np.convolve(used, np.full(count, 1.0 / count), mode="valid")))
