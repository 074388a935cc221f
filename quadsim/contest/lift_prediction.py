"""`quadsim lift` without the printing: what a craft lifts, how sure that is, and which weights to attempt."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.config import Craft, resolve_plant
from quadsim.contest.changes import Sensitivity, sensitivities
from quadsim.contest.crowd import Crowd
from quadsim.contest.feed import Store, feed, hold
from quadsim.contest.lift import (
    HARD,
    WORDS,
    attempt_margins,
    first_limit,
    hard_margins,
    joined_ratings,
    margins,
    payload_limits,
    ratings,
)
from quadsim.contest.loaded import LoadedCrowd, loaded_crowd, loaded_of, probe
from quadsim.contest.rules import STEP_G, LiftRule
from quadsim.contest.steady import Trim, trim
from quadsim.contest.uncertainty import SAMPLES, Spread, spread
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError, Problem

Array = NDArray[np.float64]
ROUGH = 14
"""Halvings for draws: a gram in ten kilograms; sampling leaves more."""
BEYOND = 1.05
"""Payload over the failure payload for which the time to failure is given."""
SURE, HOPELESS = 0.995, 0.01
"""Chances between which weights stand on the ladder."""
LONGEST = 12
"""Most weights on the ladder; then every second, third ... is left out."""
CURVE = 41
"""Payloads of the picture."""


@dataclass(frozen=True)
class LiftCurve:
    """Over payload [kg]: hover throttle at the end of the time, command left for attitude, minutes until nothing holds."""

    payload: Array
    throttle: Array
    reserve: Array
    minutes: Array
    chance: Array


@dataclass(frozen=True)
class LiftPrediction:
    """Payloads [kg].

    payload : rated, with reserve; limited_by : name of WORDS; limits : payload at which each bites
    failure : where a hover in still air fails within the time; failure_mode : name of HARD
    time_to_failure : of a payload BEYOND times that [s]
    spread : of the rated payload; attempts : (payload, chance that the attempt holds in the gust)
    """

    rule: LiftRule
    payload: float
    limited_by: str
    limits: dict[str, float]
    failure: float
    failure_mode: str
    time_to_failure: float
    spread: Spread
    attempts: list[tuple[float, float]]
    sensitivities: list[Sensitivity]
    curve: LiftCurve


def rated_payloads(crafts: list[Craft], site: Site, rule: LiftRule) -> Array:
    """The greatest payloads with reserve [kg] alone, of different craft."""
    rated = joined_ratings([ratings(craft, resolve_plant(craft, site)) for craft in crafts])
    return first_limit(loaded_of(crafts, site), rule, rated, margins)


def predict_lift(
    craft: Craft, site: Site, rule: LiftRule, *, step_g: float = STEP_G, samples: int = SAMPLES, seed: int = 1
) -> LiftPrediction:
    """What a craft lifts at a site under a contest's rule.

    Raises
    ------
    InputError
        when the craft does not lift even itself for that time.
    """
    bare, boxed = probe(craft, site)
    loaded, rated = loaded_crowd([bare], bare, boxed), ratings(craft, bare)
    limits = payload_limits(loaded, rule, rated, tuple(WORDS), margins)
    failures = payload_limits(loaded, rule, rated, tuple(HARD), hard_margins)
    mode = min(failures, key=lambda name: failures[name])
    if failures[mode] <= 0.0:
        given = f"{craft.name} does not hold itself for {rule.time_s:g} s: {HARD[mode]}"
        raise InputError([Problem("", given, "", "Take weight off, shorten the time, or a stronger drive")])
    by = min(limits, key=lambda name: limits[name])

    def lifted(plants: list[Any]) -> Array:
        crowd, many = loaded_crowd(plants, bare, boxed), ratings(craft, bare, len(plants))
        held.append(first_limit(crowd, rule, many, attempt_margins, ROUGH))
        return first_limit(crowd, rule, many, margins, ROUGH)

    held: list[Array] = []
    seen = spread(lifted, craft, site, samples, seed)
    holds = held[0][:samples]
    return LiftPrediction(
        rule,
        limits[by],
        by,
        limits,
        failures[mode],
        mode,
        float(times_to_failure(loaded, np.array([BEYOND * failures[mode]]))[0]),
        seen,
        ladder(holds, step_g / 1000.0),
        sensitivities(craft, lambda crafts: rated_payloads(crafts, site, rule)),
        lift_curve(loaded, 1.1 * failures[mode], rule, holds),
    )


def ladder(holds: Array, step: float) -> list[tuple[float, float]]:
    """Weights in steps [kg] with the chance that an attempt holds, from the last sure one to the first hopeless one.

    holds : greatest payload of each drawn craft in the contest's gust [kg]
    """
    steps = np.arange(1, int(np.max(holds) / step) + 2) * step
    chances = [(float(one), float(np.mean(holds >= one))) for one in steps]
    first = max((k for k, (_, chance) in enumerate(chances) if chance >= SURE), default=0)
    last = next(
        (k for k, (_, chance) in enumerate(chances) if k >= first and chance <= HOPELESS), len(chances) - 1
    )
    shown = chances[first : last + 1]
    return shown[:: math.ceil(len(shown) / LONGEST)]


def times_to_failure(loaded: LoadedCrowd, payloads: Array, until: float = 7200.0) -> Array:
    """Seconds of hover in still air until something of HARD fails [s], from a full battery; NaN when nothing does by then.

    loaded : the first craft counts; payloads : (N,) [kg]. Steps of half a second, then ever longer ones: 2 % of the time.
    """
    crowd = loaded.repeated(len(payloads)).with_payload(payloads)
    flown, store = trim(crowd, crowd.mass), Store.full(crowd)
    ended = np.full(len(payloads), np.nan)
    seconds = 0.0
    while seconds < until and np.any(np.isnan(ended)):
        ended = np.where(np.isnan(ended) & ~_holds(crowd, flown, store), seconds, ended)
        step = max(0.5, 0.02 * seconds)
        hold(crowd, flown, step, store, 1)
        seconds += step
    return ended


def _holds(crowd: Crowd, flown: Trim, store: Store) -> NDArray[np.bool_]:
    at = feed(crowd, flown, store)
    fed = (at.command <= 1.0) & (at.worst_current <= crowd.current_limit)
    return np.asarray(fed & (store.winding <= crowd.winding_limit) & (store.charge > 0.0))


def lift_curve(loaded: LoadedCrowd, most: float, rule: LiftRule, holds: Array) -> LiftCurve:
    """What there is to draw from no payload to the greatest [kg]."""
    payload = np.linspace(0.0, most, CURVE)
    crowd = loaded.repeated(CURVE).with_payload(payload)
    flown, store = trim(crowd, crowd.mass), Store.full(crowd)
    at = hold(crowd, flown, rule.time_s, store)
    throttle = np.where(np.isfinite(at.command), at.command, np.nan)
    chance = np.array([np.mean(holds >= one) for one in payload])
    return LiftCurve(payload, throttle, 1.0 - throttle, times_to_failure(loaded, payload) / 60.0, chance)
