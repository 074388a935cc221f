"""What there is to draw of a dash: the share used of each limit over airspeed, and the run over the straight."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.config import Craft, resolve_plant
from quadsim.contest.crowd import crowd_of
from quadsim.contest.dash import both_ways, margins
from quadsim.contest.dash_prediction import DashPrediction, dash_of
from quadsim.contest.lift import ratings
from quadsim.contest.rules import DashRule
from quadsim.contest.straight import SPARE, STOPPED_M_S, Legs, fly_legs
from quadsim.environment.atmosphere import Site

Array = NDArray[np.float64]
POINTS = 81
"""Airspeeds that are drawn."""
BEYOND = 1.12
"""Greatest of them, over the top speed or the upper end of its interval."""


@dataclass(frozen=True)
class RunWay:
    """One run: along the straight from the lean-in [m], speed over ground there [m/s]; both gates and the stop [m]; wind from
    behind [m/s]."""

    wind: float
    along_m: Array
    ground_m_s: Array
    gates_m: tuple[float, float]
    stop_m: float


@dataclass(frozen=True)
class DashCurve:
    """airspeed : (N,) [m/s]; used : share of each limit of quadsim.contest.dash.WORDS (N,) [-], NaN beyond steady flight."""

    airspeed: Array
    used: dict[str, Array]
    runs: tuple[RunWay, ...]


def dash_curve(craft: Craft, site: Site, found: DashPrediction) -> DashCurve:
    """The curves of a prediction."""
    dash, plant = dash_of(craft, found.rule), resolve_plant(craft, site)
    one = crowd_of([plant])
    speeds = np.linspace(1.0, BEYOND * max(found.speed, found.spread.interval[1]), POINTS)
    left = margins(one.rows([0] * POINTS), speeds, dash, ratings(craft, plant, POINTS))
    used = {name: share_used(name, values) for name, values in left.items()}
    legs = fly_legs(one, found.speed, dash.tilt, both_ways(found.rule))
    return DashCurve(speeds, used, tuple(_run(legs, k, found.rule) for k in range(len(legs.wind))))


def share_used(name: str, left: Array) -> Array:
    """Share of a limit that is used [-], of what is left of it; a voltage falls towards its limit, so that is over it."""
    flown = np.where(left > -1.0, left, np.nan)
    return np.asarray(1.0 / (1.0 + flown) if name == "cell_voltage" else 1.0 - flown)


def _run(legs: Legs, k: int, rule: DashRule) -> RunWay:
    """The run with the k-th wind, its first gate where the crew of the flights puts it."""
    first = SPARE * float(legs.run_up_m[k]) if rule.start == "flying" else 0.0
    last = first + rule.course_m
    up, down = legs.up, legs.down
    here = up.ground_m[:, k] < last
    stopped = down.ground_m_s[:, k] <= STOPPED_M_S
    end = int(np.argmax(stopped)) + 1 if stopped.any() else len(stopped)
    at_last = float(np.interp(last, up.ground_m[:, k], up.ground_m_s[:, k]))
    along = np.concatenate([up.ground_m[here, k], [last], last + down.ground_m[1:end, k]])
    speed = np.concatenate([up.ground_m_s[here, k], [at_last], down.ground_m_s[1:end, k]])
    return RunWay(float(legs.wind[k]), along, speed, (first, last), float(along[-1]))
