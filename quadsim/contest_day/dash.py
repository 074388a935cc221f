"""The dash on the day: speeds with their chances, whether the field is long enough in this wind, what warmth the parts stand."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from quadsim.config import Craft, resolve_plant
from quadsim.config.contest_schema import Contest
from quadsim.contest.crossing import last_kept
from quadsim.contest.crowd import Crowd, crowd_of
from quadsim.contest.dash import Dash, margins
from quadsim.contest.dash_prediction import DashPrediction, dash_of, predict_dash
from quadsim.contest.lift import Ratings, ratings
from quadsim.contest.rules import DashRule, dash_rule_of
from quadsim.contest.steady import trim
from quadsim.contest.straight import fly_legs
from quadsim.contest.uncertainty import Draws
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
    return dash_rule_of(contest, today.wind_m_s)


def dash_day(craft: Craft, contest: Contest, today: Today, *, of: Draws | None = None) -> DashDay:
    """The sheet's dash for a craft as it is today. of : its draws at the site of today."""
    rule = dash_rule(contest, today)
    found = predict_dash(craft, today.site, rule, of=of, effects=False)
    scored = found.course.scored_speed
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
    run_up, braking = found.course.run_up_m, found.course.braking_m
    bounds = [_wind_bound(craft, found, contest, today), *_warmth_bounds(craft, rule, today, found.speed)]
    return DashDay(craft, found, scored, speeds, run_up, braking, bounds, run_end(crowd, hover, legs))


def _wind_bound(craft: Craft, found: DashPrediction, contest: Contest, today: Today) -> Bound:
    """The field's length behind the straight, with the wind behind the craft."""
    room = float(contest.dash.braking_m)
    one = crowd_of([resolve_plant(craft, today.site)])
    needed = fly_legs(one, found.speed, dash_of(craft, found.rule).tilt, WINDS).braking_m
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

    speed = last_kept(left, np.full(len(crowd), 0.5 * around), np.full(len(crowd), 1.6 * around), 12)
    found = margins(crowd, speed, free, rated)
    return {name.replace("_", " "): found[name] for name in RATINGS}
