"""The lift on the day: which weights in which order, how strong a gust each stands, and how cold or warm it may be."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.config import Craft
from quadsim.config.contest_schema import Contest
from quadsim.contest.rules import STEP_G, LiftRule
from quadsim.contest.steady import trim
from quadsim.contest.uncertainty import Draws, draws
from quadsim.contest_day.bound import Bound, kept_range
from quadsim.contest_day.lift_ability import LiftAbility, lift_ability, most_held
from quadsim.contest_day.run_end import RunEnd, run_end
from quadsim.contest_day.today import Today
from quadsim.contest_day.warmth import swept, warmth_bounds

Array = NDArray[np.float64]

SURE = 0.95
"""Chance with which the first weight holds; our choice."""
LEAST = 0.5
"""Chance of a weight that is attempted at all: a craft is lost for the other events too; our choice."""
KEPT, STOP = 0.90, 0.75
"""Chance of the first weight down to which it is go, and below which it is no-go; our choice."""
WHY = f"the first weight holds with {100 * KEPT:.0f} % and with {100 * STOP:.0f} %"
GUSTS = np.array([0.0, 3.0, 6.0, 9.0, 12.0, 15.0, 18.0])
"""Of the table [m/s]."""
AROUND_S = 20.0
"""Lifting off and setting down, before and after the hold [s]; assumed."""


@dataclass(frozen=True)
class Attempt:
    """payload [kg], chance that it holds, given that the weights before did or not; points it earns."""

    payload: float
    chance: float
    points: float


@dataclass(frozen=True)
class LiftDay:
    """able : what it lifts, as `quadsim lift` has it; attempts : in flying order; expected : points on the average
    chances : of each attempt's weight in winds up to each of GUSTS (attempts, gusts)
    """

    craft: Craft
    able: LiftAbility
    attempts: list[Attempt]
    expected: float
    chances: Array
    bounds: list[Bound]
    end: RunEnd


def lift_rule(contest: Contest, today: Today) -> LiftRule:
    """The contest's time in today's gust; reserve, climb and voltage by our caution."""
    return LiftRule(time_s=float(contest.lift.time_s), gust_m_s=today.gust_m_s)


def lift_day(
    craft: Craft, contest: Contest, today: Today, *, step_g: float = STEP_G, of: Draws | None = None
) -> LiftDay:
    """The sheet's lift for a craft as it is today. of : its draws at the site of today."""
    rule = lift_rule(contest, today)
    able = lift_ability(craft, today.site, rule, draws(craft, today.site) if of is None else of)
    weights = planned(able.holds, step_g / 1000.0, contest.lift.attempts)
    worth = float(contest.lift.points) / (float(contest.lift.reference_g) / 1000.0)
    attempts = [Attempt(one, float(np.mean(able.holds >= one)), worth * one) for one in weights]
    chances = np.minimum.accumulate(able.shares(np.array(weights), GUSTS), axis=1)
    one = able.nominal.with_payload(np.array([weights[0]]))
    hover = trim(one, one.mass)
    bounds = [_gust_bound(chances[0], today), *_warmth_bounds(craft, rule, today, able.holds, weights[0])]
    end = run_end(one, hover, [(hover, rule.time_s + AROUND_S)])
    return LiftDay(craft, able, attempts, worth * expected(able.holds, weights), chances, bounds, end)


def planned(holds: Array, step: float, attempts: int) -> list[float]:
    """Weights [kg] in the contest's steps, in flying order, with the greatest expected best weight.

    A weight that does not hold ends the event (a craft that comes down with its load seldom flies again), so that
    w1 < w2 < ... give sum (w_k - w_(k-1)) S(w_k), S the share of `holds` that reach a weight; by dynamic programming from the
    last attempt. The first weight is a SURE one, the lightest step when none is; none is rather lost than held (LEAST).
    """
    grid = np.round(np.arange(1, int(np.max(holds) / step) + 2) * step, 9)
    share = np.array([np.mean(holds >= one) for one in grid])
    gain = (grid[None, :] - grid[:, None]) * share[None, :]
    gain[(grid[None, :] <= grid[:, None]) | (share[None, :] < LEAST)] = -np.inf
    best, choice = np.zeros(len(grid)), []
    for _ in range(attempts - 1):
        after = gain + best[None, :]
        choice.append(np.argmax(after, axis=1))
        best = np.maximum(np.max(after, axis=1), 0.0)
    sure = np.flatnonzero(share >= SURE)
    sure = sure if len(sure) else np.array([0])
    k = int(sure[np.argmax(grid[sure] * share[sure] + best[sure])])
    weights = [float(grid[k])]
    for taken in reversed(choice):
        after_k = int(taken[k])
        if after_k <= k or share[after_k] < LEAST:
            break
        k = after_k
        weights.append(float(grid[k]))
    return weights


def expected(holds: Array, weights: list[float]) -> float:
    """Best weight on the average [kg] of attempts in rising order that end with the first failure."""
    steps = np.diff([0.0, *weights])
    return float(sum(step * np.mean(holds >= one) for step, one in zip(steps, weights, strict=True)))


def _gust_bound(chances: Array, today: Today) -> Bound:
    go, stop = (kept_range(GUSTS, chances - least, today.gust_m_s) for least in (KEPT, STOP))
    return Bound("gust", "m/s", today.gust_m_s, (0.0, go[1]), (0.0, stop[1]), WHY)


def _warmth_bounds(craft: Craft, rule: LiftRule, today: Today, holds: Array, payload: float) -> list[Bound]:
    """Air and pack: the drawn craft keep their ratio to the file's craft, whose payload is found at every temperature."""
    able = most_held(craft, [today.site, *swept(today.site)], rule)
    ratio = able[1:] / max(float(able[0]), 1e-9)
    chance = np.array([np.mean(holds * one >= payload) for one in ratio])
    return warmth_bounds(today.site, {"": chance}, (KEPT, STOP), WHY)
