"""The dash on the day: speeds with their chances, whether the field is long enough in this wind, what warmth the parts stand."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from quadsim.config import Craft, resolve_plant
from quadsim.config.contest_schema import Contest
from quadsim.constants import G0
from quadsim.contest.crowd import Crowd, crowd_of
from quadsim.contest.dash import SETTLED, Course, Dash, margins
from quadsim.contest.dash_prediction import DashPrediction, dash_of, predict_dash
from quadsim.contest.lift import Ratings, halved, ratings
from quadsim.contest.rules import DashRule
from quadsim.contest.steady import trim
from quadsim.contest.uncertainty import SAMPLES
from quadsim.contest_day.bound import Bound, kept_range
from quadsim.contest_day.run_end import RunEnd, run_end
from quadsim.contest_day.today import Today
from quadsim.contest_day.warmth import swept, warmth_bounds

Array = NDArray[np.float64]

CHANCES = (0.95, 0.80, 0.50, 0.20)
"""Of the speeds on the sheet."""
FIELD_GO = 0.8
"""Share of the braking distance that may be needed for go; our choice."""
WINDS = np.arange(0.0, 21.0, 1.0)
FLAT_OUT = ("command", "guide_cap", "rotor_speed", "tilt")
"""What ends a run with the stick at its stop; everything else is a rating that may be passed meanwhile."""
RATINGS = ("motor_current", "esc_current", "winding_temperature", "magnet_temperature", "cell_voltage")
OVER = -0.1
"""What is left of a rating where a run is no-go; our choice."""


@dataclass(frozen=True)
class DashDay:
    """prediction : as `quadsim dash` has it; speeds : (chance, scored speed [m/s], points)
    scored : by the rule, with the run-up that there is [m/s]; run_up, braking : needed over ground with the wind behind [m]
    """

    craft: Craft
    prediction: DashPrediction
    scored: float
    speeds: list[tuple[float, float, float]]
    run_up_m: float
    braking_m: float
    bounds: list[Bound]
    end: RunEnd


def dash_rule(contest: Contest, today: Today) -> DashRule:
    """The contest's timing in today's wind, all of it along the straight."""
    mean_of = "times" if contest.dash.timing == "mean of times" else "speeds"
    return DashRule(float(contest.dash.measured_m), today.wind_m_s, mean_of, contest.dash.start)


def dash_day(
    craft: Craft, contest: Contest, today: Today, *, samples: int = SAMPLES, seed: int = 1
) -> DashDay:
    """The sheet's dash for a craft as it is today."""
    rule = dash_rule(contest, today)
    found = predict_dash(craft, today.site, rule, samples=samples, seed=seed)
    scored = scored_speed(found.course, found.speed, contest, today.wind_m_s)
    worth = float(contest.dash.points) / float(contest.dash.reference_m_s)
    share = np.quantile(found.spread.samples, [1.0 - one for one in CHANCES]) / found.speed
    speeds = [
        (chance, float(one) * scored, worth * float(one) * scored)
        for chance, one in zip(CHANCES, share, strict=True)
    ]
    crowd = crowd_of([resolve_plant(craft, today.site)])
    flown, hover = trim(crowd, crowd.mass, found.speed), trim(crowd, crowd.mass)
    one_way = found.course.run_up_s + rule.course_m / max(found.speed, 1.0)
    legs = [(flown, one_way), (hover, rule.between_s), (flown, one_way)]
    run_up, braking = over_ground(found.course, found.speed, today.wind_m_s)
    bounds = [_wind_bound(found, contest, today), *_warmth_bounds(craft, rule, today, found.speed)]
    return DashDay(craft, found, scored, speeds, run_up, braking, bounds, run_end(crowd, hover, legs))


def scored_speed(course: Course, speed: float, contest: Contest, wind: float) -> float:
    """Mean of both runs by the contest's rule [m/s] where its run-up is shorter than a full one.

    The run-up follows dv/dt = a (1 - (v/V)^2) and goes on along the straight, whose mean speed counts; a one-way run counts
    against the wind.
    """
    if contest.dash.start == "standing":
        there, back = course.with_wind, course.against_wind
    else:
        share = run_up_share(course, speed, float(contest.dash.run_up_m), float(contest.dash.measured_m))
        there, back = (max(share * speed + sign * wind, 0.0) for sign in (1.0, -1.0))
    if contest.dash.timing == "one way":
        return back
    if contest.dash.timing == "mean of times":
        return 2.0 * there * back / (there + back) if there + back > 0.0 else 0.0
    return 0.5 * (there + back)


def push_of(course: Course, speed: float) -> float:
    """Acceleration from rest [m/s2] behind a run-up: s = -V^2/(2 a) ln(1 - k^2)."""
    return -(speed**2) / (2.0 * course.run_up_m) * math.log(1.0 - SETTLED**2)


def run_up_share(course: Course, speed: float, run_up: float, measured: float) -> float:
    """Mean speed over the measured distance as a share of the top speed: x = V^2/a ln cosh(a t/V) from rest."""
    push = push_of(course, speed)

    def after(distance: float) -> float:
        return speed / push * math.acosh(math.exp(push * distance / speed**2))

    return measured / (after(run_up + measured) - after(run_up)) / speed


def over_ground(course: Course, speed: float, wind: float) -> tuple[float, float]:
    """Run-up and braking with the wind behind [m]: the ways through the air and what the air moves meanwhile.

    Braking takes V/sqrt(g b) atan(sqrt(b/g)), from dv/dt = -(g + b (v/V)^2) as in `quadsim.contest.dash.course`.
    """
    braking = _drag(course, speed)
    took = speed / math.sqrt(G0 * braking) * math.atan(math.sqrt(braking / G0))
    return course.run_up_m + wind * course.run_up_s, course.braking_m + wind * took


def _drag(course: Course, speed: float) -> float:
    """Deceleration by drag at top speed [m/s2] from the way: s = V^2/(2 b) ln(1 + b/g), halved."""
    low, high = 1e-3, 1e3
    for _ in range(60):
        middle = math.sqrt(low * high)
        longer = speed**2 / (2.0 * middle) * math.log(1.0 + middle / G0) > course.braking_m
        low, high = (middle, high) if longer else (low, middle)
    return low


def _wind_bound(found: DashPrediction, contest: Contest, today: Today) -> Bound:
    """The field's length behind the straight, with the wind behind the craft."""
    room = float(contest.dash.braking_m)
    needed = np.array([over_ground(found.course, found.speed, wind)[1] for wind in WINDS.tolist()])
    go, stop = (kept_range(WINDS, share * room - needed, today.wind_m_s) for share in (FIELD_GO, 1.0))
    why = f"braking with the wind behind takes {100 * FIELD_GO:.0f} % and all of {room:g} m"
    return Bound("wind", "m/s", today.wind_m_s, _from_zero(go), _from_zero(stop), why)


def _from_zero(one: tuple[float, float]) -> tuple[float, float]:
    return (max(one[0], 0.0), one[1])


def _warmth_bounds(craft: Craft, rule: DashRule, today: Today, around: float) -> list[Bound]:
    plants = [resolve_plant(craft, site) for site in swept(today.site)]
    rated = ratings(craft, plants[0], len(plants))
    left = flat_out_left(crowd_of(plants), dash_of(craft, rule), rated, around)
    words = f"flat out, {{}} comes to its rating and {-100 * OVER:.0f} % past it"
    return warmth_bounds(today.site, left, (0.0, OVER), words)


def flat_out_left(crowd: Crowd, dash: Dash, rated: Ratings, around: float) -> dict[str, Array]:
    """What is left of the ratings (N,) as a share at the end of a run with the stick at its stop."""
    free = replace(dash, rule=replace(dash.rule, moment_reserve=0.0))

    def left(speed: Array) -> Array:
        found = margins(crowd, speed, free, rated)
        return np.min(np.array([found[name] for name in FLAT_OUT]), axis=0)

    speed = halved(left, np.full(len(crowd), 0.5 * around), np.full(len(crowd), 1.6 * around), 12)
    found = margins(crowd, speed, free, rated)
    return {name.replace("_", " "): found[name] for name in RATINGS}
