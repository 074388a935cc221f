"""The lift on the day: which weights in which order, how strong a gust each stands, and how cold or warm it may be."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from quadsim.config import Craft
from quadsim.config.contest_schema import Contest
from quadsim.contest.crowd import joined
from quadsim.contest.lift import Ratings, attempt_margins, first_limit, joined_ratings, ratings
from quadsim.contest.lift_prediction import ROUGH, LiftPrediction, predict_lift
from quadsim.contest.loaded import LoadedCrowd, loaded_crowd, probe
from quadsim.contest.rules import STEP_G, LiftRule
from quadsim.contest.steady import trim
from quadsim.contest.uncertainty import SAMPLES, drawn, moved_plants, unknowns
from quadsim.contest_day.bound import Bound, kept_range
from quadsim.contest_day.run_end import RunEnd, run_end
from quadsim.contest_day.today import Today
from quadsim.contest_day.warmth import swept, warmth_bounds
from quadsim.environment.atmosphere import Site

Array = NDArray[np.float64]

SURE = 0.95
"""Chance with which the first weight holds; our choice."""
KEPT, STOP = 0.90, 0.75
"""Chance of the first weight down to which it is go, and below which it is no-go; our choice."""
WHY = f"the first weight holds with {100 * KEPT:.0f} % and with {100 * STOP:.0f} %"
GUSTS = np.array([0.0, 3.0, 6.0, 9.0, 12.0, 15.0, 18.0])
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
    """prediction : as `quadsim lift` has it; attempts : in flying order; expected : points on the average
    chances : of each attempt's weight in winds up to each of GUSTS (attempts, gusts)
    """

    craft: Craft
    prediction: LiftPrediction
    attempts: list[Attempt]
    expected: float
    chances: Array
    bounds: list[Bound]
    end: RunEnd


def lift_rule(contest: Contest, today: Today) -> LiftRule:
    """The contest's time in today's gust; reserve, climb and voltage by our caution."""
    return LiftRule(time_s=float(contest.lift.time_s), gust_m_s=today.gust_m_s)


def lift_day(
    craft: Craft,
    contest: Contest,
    today: Today,
    *,
    step_g: float = STEP_G,
    samples: int = SAMPLES,
    seed: int = 1,
) -> LiftDay:
    """The sheet's lift for a craft as it is today."""
    rule = lift_rule(contest, today)
    found = predict_lift(craft, today.site, rule, step_g=step_g, samples=samples, seed=seed)
    bare, boxed = probe(craft, today.site)
    inputs = unknowns(craft, today.site, bare)
    crowd = loaded_crowd(moved_plants(craft, today.site, inputs, drawn(samples, inputs, seed)), bare, boxed)
    rated = ratings(craft, bare, samples)
    worst = worst_wind(loaded_crowd([bare], bare, boxed), rule, rated, found.payload)
    winds = {worst, rule.gust_m_s}
    holds = np.min(
        [first_limit(crowd, _in_wind(rule, one), rated, attempt_margins, ROUGH) for one in winds], axis=0
    )
    weights = planned(holds, step_g / 1000.0, contest.lift.attempts)
    worth = float(contest.lift.points) / (float(contest.lift.reference_g) / 1000.0)
    attempts = [Attempt(one, float(np.mean(holds >= one)), worth * one) for one in weights]
    shares = [[held(crowd, _in_wind(rule, gust), rated, one) for gust in GUSTS.tolist()] for one in weights]
    chances = np.minimum.accumulate(np.array(shares), axis=1)
    one = loaded_crowd([bare], bare, boxed).with_payload(np.array([weights[0]]))
    hover = trim(one, one.mass)
    bounds = [_gust_bound(chances[0], today), *_warmth_bounds(craft, rule, today, holds, weights[0])]
    legs = [(hover, rule.time_s + AROUND_S)]
    return LiftDay(
        craft, found, attempts, worth * expected(holds, weights), chances, bounds, run_end(one, hover, legs)
    )


def planned(holds: Array, step: float, attempts: int) -> list[float]:
    """Weights [kg] in the contest's steps, in flying order, with the greatest expected best weight.

    A weight that does not hold ends the event (a craft that comes down with its load seldom flies again), so that
    w1 < w2 < ... give sum (w_k - w_(k-1)) S(w_k), S the share of `holds` that reach a weight; by dynamic programming from the
    last attempt. The first weight is a SURE one, the lightest step when none is.
    """
    grid = np.round(np.arange(1, int(np.max(holds) / step) + 2) * step, 9)
    share = np.array([np.mean(holds >= one) for one in grid])
    gain = (grid[None, :] - grid[:, None]) * share[None, :]
    gain[grid[None, :] <= grid[:, None]] = -np.inf
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
        if after_k <= k or share[after_k] <= 0.0:
            break
        k = after_k
        weights.append(float(grid[k]))
    return weights


def expected(holds: Array, weights: list[float]) -> float:
    """Best weight on the average [kg] of attempts in rising order that end with the first failure."""
    steps = np.diff([0.0, *weights])
    return float(sum(step * np.mean(holds >= one) for step, one in zip(steps, weights, strict=True)))


def held(crowd: LoadedCrowd, rule: LiftRule, rated: Ratings, payload: float) -> float:
    """Share of drawn craft that hold a payload [kg]."""
    left = attempt_margins(crowd, np.full(len(crowd.crowd), payload), rule, rated)
    return float(np.mean(np.min(np.array(list(left.values())), axis=0) >= 0.0))


def worst_wind(loaded: LoadedCrowd, rule: LiftRule, rated: Ratings, payload: float) -> float:
    """Wind up to the gust in which least is left with a payload [kg]: it need not be the strongest, as rotors need less power in
    a breeze and the moments that they answer do not grow alike [m/s]."""
    winds = [*GUSTS[rule.gust_m_s > GUSTS].tolist(), rule.gust_m_s]
    one = rated.repeated(1)
    left = [
        attempt_margins(loaded, np.array([payload]), _in_wind(rule, wind), one)["gust"][0] for wind in winds
    ]
    return float(winds[int(np.argmin(left))])


def _in_wind(rule: LiftRule, wind: float) -> LiftRule:
    return replace(rule, gust_m_s=wind)


def _gust_bound(chances: Array, today: Today) -> Bound:
    go, stop = (kept_range(GUSTS, chances - least, today.gust_m_s) for least in (KEPT, STOP))
    return Bound("gust", "m/s", today.gust_m_s, (0.0, go[1]), (0.0, stop[1]), WHY)


def _warmth_bounds(craft: Craft, rule: LiftRule, today: Today, holds: Array, payload: float) -> list[Bound]:
    """Air and pack: the drawn craft keep their ratio to the file's craft, whose payload is found at every temperature."""
    able = most_held(craft, [today.site, *swept(today.site)], rule)
    ratio = able[1:] / max(float(able[0]), 1e-9)
    chance = np.array([np.mean(holds * one >= payload) for one in ratio])
    return warmth_bounds(today.site, {"": chance}, (KEPT, STOP), WHY)


def most_held(craft: Craft, sites: list[Site], rule: LiftRule) -> Array:
    """Greatest payload that an attempt of the file's craft holds [kg] at each site."""
    return first_limit(*loaded_at([(craft, site) for site in sites], rule), attempt_margins, ROUGH)


def loaded_at(rows: list[tuple[Craft, Site]], rule: LiftRule) -> tuple[LoadedCrowd, LiftRule, Ratings]:
    """Crafts with the box, each at its own site, as `first_limit` takes them."""
    ones, rated = [], []
    for craft, site in rows:
        bare, boxed = probe(craft, site)
        ones.append(loaded_crowd([bare], bare, boxed))
        rated.append(ratings(craft, bare))
    at = np.concatenate([one.at for one in ones])
    most = max(one.most for one in ones)
    return LoadedCrowd(joined([one.crowd for one in ones]), at, most), rule, joined_ratings(rated)
