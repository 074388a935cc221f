"""A line learnt by flying it: what a flight was off the plan is taken off what the next one is asked for.

    c <- smooth(c - share e(t + delay)),  e = flown - planned place
Flights of the nominal craft in still air; the best one is kept. A plan too hard to be learnt is followed by a more careful one.

References
----------
A. P. Schoellig, F. L. Mueller, R. D'Andrea, Optimization-based iterative learning for precise quadrocopter trajectory tracking,
Autonomous Robots 33 (2012), doi 10.1007/s10514-012-9283-2 (the idea; the simple law here: common practice; from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.ndimage import gaussian_filter1d

from quadsim.config import Craft
from quadsim.contest.lap_flight import STEP_S, Conditions, Shift, flown_places, fly_plan, shift_times
from quadsim.contest.lap_passages import Passage, judge, least_room
from quadsim.environment.atmosphere import Site
from quadsim.planning.plan import Plan
from quadsim.simulation.run import Run

SHARES = (0.6, 0.5, 0.4)
"""Of the error that is taken off after each flight; found by flying, as are the next three."""
DELAY_S = 0.05
SMOOTH_S = 0.05
SOFT_START_S = 0.2
ENOUGH_M = 0.25
"""Room of which more is no better [m]; our choice."""
LIMIT_M = 2.0
"""Greatest shift of a place [m]."""


@dataclass(frozen=True)
class FlownLap:
    """One flight: passages in their order, rms and greatest distance from the plan [m], least distance to obstacles [m] and to
    which, share of the time in which a motor was at full command."""

    run: Run
    passages: list[Passage]
    off_rms: float
    off_most: float
    room: float
    nearest: str
    saturated: float

    @property
    def whole(self) -> bool:
        """All gates passed in order, nothing touched."""
        return self.run.status == "done" and self.room > 0.0 and all(one.passed for one in self.passages)

    @property
    def gate_room(self) -> float:
        """Least distance from the craft's outline to a frame [m]; below zero where it struck or missed."""
        return min(-1.0 if np.isnan(one.room_m) else one.room_m for one in self.passages)

    @property
    def score(self) -> tuple[int, float, float]:
        """For the comparison of two flights of one line: gates passed, then the least room where it is little, then nearness."""
        room = min(self.gate_room, self.room)
        return sum(one.passed for one in self.passages), min(room, ENOUGH_M), -self.off_rms


def fly_lap(craft: Craft, site: Site, plan: Plan, shift: Shift, conditions: Conditions) -> FlownLap:
    """A plan flown and judged."""
    run = fly_plan(craft, site, plan, shift, conditions)
    times, places = flown_places(run, plan)
    line = plan.line
    off = np.linalg.norm(places - line.spline.at(times), axis=1)[times <= line.total]
    points = line.spline.at(line.times)
    passages = judge(line.gates, line.times, points, times, places, plan.limits.radius)
    room, nearest = least_room(plan.course, plan.limits.radius, places)
    since = len(run.t_s) - len(times)
    full = np.max(run["signals/motor"][since:][times <= line.total], axis=1) > 0.98
    return FlownLap(
        run,
        passages,
        float(np.sqrt(np.mean(off**2))),
        float(np.max(off)),
        room,
        nearest,
        float(np.mean(full)),
    )


def learn(
    craft: Craft, site: Site, plan: Plan, told: Callable[[], None] = lambda: None
) -> tuple[Shift, FlownLap]:
    """The best shift that was found for a plan, and its flight. told : called after each flight."""
    shift, t = Shift.none(plan.line), shift_times(plan.line)
    best = shift, fly_lap(craft, site, plan, shift, Conditions())
    latest = best[1]
    for share in SHARES:
        times, places = flown_places(latest.run, plan)
        error = places - plan.line.spline.at(times)
        ahead = np.stack([np.interp(t + DELAY_S, times, error[:, k]) for k in range(3)], axis=1)
        moved = np.clip(shift.place - share * ahead, -LIMIT_M, LIMIT_M)
        moved = gaussian_filter1d(moved, SMOOTH_S / STEP_S, axis=0, mode="nearest")
        shift = Shift(moved * np.clip(t / SOFT_START_S, 0.0, 1.0)[:, None])
        told()
        latest = fly_lap(craft, site, plan, shift, Conditions())
        if latest.score > best[1].score:
            best = shift, latest
    told()
    return best
