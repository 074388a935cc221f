"""`quadsim dash` without the printing: top level speed, how sure that is, and the straight it takes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.config import Craft, resolve_plant
from quadsim.contest.changes import Sensitivity, sensitivities
from quadsim.contest.crowd import crowd_of
from quadsim.contest.dash import Course, Dash, course, speed_limits, top_speeds
from quadsim.contest.lift import joined_ratings, ratings
from quadsim.contest.rules import DashRule
from quadsim.contest.steady import trim
from quadsim.contest.uncertainty import SAMPLES, Draws, Spread, spread
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError, Problem
from quadsim.units import DEG

Array = NDArray[np.float64]
TILT_MAX = 80.0
"""Greatest tilt when neither rule nor craft says one [deg]; assumed."""


@dataclass(frozen=True)
class DashPrediction:
    """Speeds [m/s], tilt [rad].

    speed : airspeed in level flight; limited_by : name of quadsim.contest.dash.WORDS; limits : airspeed at which each bites
    """

    rule: DashRule
    speed: float
    limited_by: str
    tilt: float
    limits: dict[str, float]
    course: Course
    spread: Spread
    sensitivities: list[Sensitivity]


def dash_of(craft: Craft, rule: DashRule) -> Dash:
    """The rule with what the craft itself bounds: its guide's greatest tilt and its idle command."""
    own = craft.gains.get("guide", {}).get("tilt_max")
    tilt = TILT_MAX * DEG if own is None else float(own)
    tilt = tilt if rule.tilt_deg is None else rule.tilt_deg * DEG
    return Dash(rule, tilt, float(craft.esc.idle_pct) / 100.0)


def predict_dash(
    craft: Craft, site: Site, rule: DashRule, *, samples: int = SAMPLES, seed: int = 1, of: Draws | None = None,
    effects: bool = True,
) -> DashPrediction:  # fmt: skip
    """Top level speed of a craft at a site under a rule. of : draws of this craft; effects : whether sensitivities are asked for.

    Raises
    ------
    InputError
        when a limit is passed at every speed.
    """
    dash, plant = dash_of(craft, rule), resolve_plant(craft, site)
    crowd = crowd_of([plant])
    limits = speed_limits(crowd, dash, ratings(craft, plant))
    by = min(limits, key=lambda name: limits[name])
    speed = limits[by]
    if speed < 1.0:
        given = f"{craft.name} cannot fly level within the limit {by.replace('_', ' ')}"
        raise InputError([Problem("", given, "", "Look at `quadsim inspect` for what does not fit")])

    def fastest(plants: list[Any]) -> Array:
        return top_speeds(crowd_of(plants), dash, ratings(craft, plant, len(plants)), speed)

    def changed(crafts: list[Craft]) -> Array:
        plants = [resolve_plant(one, site) for one in crafts]
        rated = joined_ratings([ratings(one, own) for one, own in zip(crafts, plants, strict=True)])
        return top_speeds(crowd_of(plants), dash, rated, speed)

    tilt = float(trim(crowd, crowd.mass, speed).tilt[0])
    return DashPrediction(
        rule,
        speed,
        by,
        tilt if math.isfinite(tilt) else dash.tilt,
        limits,
        course(crowd, speed, dash, float(craft.battery.reserve_pct) / 100.0),
        spread(fastest, craft, site, samples, seed, of),
        sensitivities(craft, changed) if effects else [],
    )
