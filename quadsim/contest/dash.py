"""Level top speed: a sweep of trims to the first limit, for one craft or for hundreds; then the straight around it.

The speed is where the first limit is passed for good: power first falls with speed, so a limit that the hover passes and a
faster flight keeps does not count.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.contest.crossing import last_kept
from quadsim.contest.crowd import Crowd
from quadsim.contest.feed import Store, feed, hold, raised_current
from quadsim.contest.lift import BITES, Ratings
from quadsim.contest.rules import DashRule
from quadsim.contest.steady import Trim, trim
from quadsim.contest.straight import SPARE, Legs, fly_legs

Array = NDArray[np.float64]

WORDS = {
    "command": "motor command, less what is kept for attitude",
    "guide_cap": "thrust the guide asks for (gain thrust_high)",
    "rotor_speed": "greatest speed of a propeller",
    "motor_current": "rating of a motor",
    "esc_current": "rating of an ESC",
    "current_reserve": "current that motor and ESC let through, less what is kept for attitude",
    "pack_current": "half the label's C rating",
    "winding_temperature": "winding",
    "magnet_temperature": "magnets",
    "cell_voltage": "loaded voltage of a cell",
    "tilt": "greatest tilt",
    "pitch_authority": "rotor that carries least, against its idle speed",
}
FASTEST = 120.0
"""Greatest airspeed that is looked at [m/s]."""
GRID = 25
"""Speeds at which draws look for the first limit before they search between two."""
DRAWN = 24
"""Halvings of the step between two of these: 1e-7 m/s are left, so that small changes of a craft show."""


@dataclass(frozen=True)
class Dash:
    """What bounds a dash besides the parts: greatest tilt [rad], idle command [-], rule."""

    rule: DashRule
    tilt: float
    idle: float


def margins(crowd: Crowd, speed: Array, dash: Dash, rated: Ratings) -> dict[str, Array]:
    """What is left of each limit at airspeeds (N,) [m/s], as a share of it, at the end of one run from a full battery."""
    flown = trim(crowd, crowd.mass, speed)
    store = Store.full(crowd)
    seconds = np.minimum(dash.rule.course_m / np.maximum(speed, 1.0), 60.0) + 2.0
    at = hold(crowd, flown, seconds, store, 4)
    air, limit = crowd.air_temperature, crowd.winding_limit
    magnets = crowd.magnet_limit
    least = feed(crowd, _least(flown), store)
    raised = raised_current(crowd, flown.worst_speed, at.worst_current, at.command, dash.rule.moment_reserve)
    found = {
        "command": 1.0 - dash.rule.moment_reserve - at.command,
        "guide_cap": 1.0 - at.across / rated.across,
        "rotor_speed": 1.0 - flown.worst_speed / crowd.propeller_limit,
        "motor_current": 1.0 - at.worst_current / rated.motor,
        "esc_current": 1.0 - at.worst_current / rated.esc,
        "current_reserve": 1.0 - raised / crowd.current_limit,
        "pack_current": 1.0 - at.pack_current / rated.pack,
        "winding_temperature": (limit - store.winding) / (limit - air),
        "magnet_temperature": (magnets - store.case) / (magnets - air),
        "cell_voltage": at.volts / crowd.cells / dash.rule.cell_V - 1.0,
        "tilt": 1.0 - flown.tilt / dash.tilt,
        "pitch_authority": least.command - dash.idle,
    }
    fed = np.isfinite(at.command)
    return {name: np.where(fed & np.isfinite(one), one, -1.0) for name, one in found.items()}


def _least(flown: Trim) -> Trim:
    """The trim seen from the rotor that carries least, by the square root and the share of the mean one."""
    share = np.maximum(flown.least_share, 0.0)
    values = vars(flown) | {
        "worst_speed": flown.rotor_speed * np.sqrt(share),
        "worst_torque": flown.torque * share,
    }
    return Trim(**values)


def speed_limits(crowd: Crowd, dash: Dash, rated: Ratings) -> dict[str, float]:
    """Airspeed [m/s] of the first craft at which each limit bites, infinite where no trim is left before it does: a grid, then a
    search between two of its speeds, one row a limit."""
    names, grid = tuple(WORDS), np.linspace(1.0, FASTEST, 120)
    rows, many = crowd.rows([0] * len(grid)), rated.repeated(len(grid))
    left = margins(rows, grid, dash, many)
    low, high = zip(*(_bracket(grid, left[name]) for name in names), strict=True)
    rows, many, which = crowd.rows([0] * len(names)), rated.repeated(len(names)), np.arange(len(names))

    def own(speed: Array) -> Array:
        found = margins(rows, speed, dash, many)
        return np.array([found[name] for name in names])[which, which]

    found = last_kept(own, np.array(low), np.array(high))
    bites = (own(found) < BITES) | (found <= grid[0])
    return dict(zip(names, np.where(bites, found, np.inf).tolist(), strict=True))


def _bracket(grid: Array, left: Array) -> tuple[float, float]:
    """The last speed that keeps a limit, and the next one."""
    kept = np.flatnonzero(left >= 0.0)
    if not len(kept):
        return 0.0, float(grid[0])
    last = int(kept[-1])
    return float(grid[last]), float(grid[min(last + 1, len(grid) - 1)])


def top_speeds(crowd: Crowd, dash: Dash, rated: Ratings, around: float) -> Array:
    """Airspeed (N,) [m/s] at which the first limit of each craft bites, looked for from 0.5 to 1.6 times a speed."""

    def left(speed: Array) -> Array:
        return np.min(np.array(list(margins(crowd, speed, dash, rated).values())), axis=0)

    best = np.full(len(crowd), np.nan)
    grid = around * np.linspace(0.5, 1.6, GRID)
    for one in grid.tolist():
        best = np.where(left(np.full(len(crowd), one)) >= 0.0, one, best)
    step = float(grid[1] - grid[0])
    low = np.where(np.isfinite(best), best, 0.0)
    return last_kept(left, low, low + step, DRAWN)


@dataclass(frozen=True)
class Course:
    """The straight around a top speed, each way: mean speed by the rule [m/s]; way [m] and time [s] of run-up and braking, and
    length of the field [m], for the run with the wind, which needs most of it, SPARE run-ups; runs that a pack gives."""

    scored_speed: float
    with_wind: float
    against_wind: float
    run_up_m: float
    run_up_s: float
    braking_m: float
    field_m: float
    runs_per_pack: int


def course(crowd: Crowd, speed: float, dash: Dash, reserve: float) -> Course:
    """The straight of the first craft at its top speed [m/s]; reserve : charge left at landing [-]."""
    one, rule = crowd.rows([0]), dash.rule
    legs = fly_legs(one, speed, dash.tilt, both_ways(rule))
    flown, hover = trim(one, one.mass, speed), trim(one, one.mass)
    ahead, back = (_run_speed(legs, k, speed, rule) for k in (0, 1))
    up, took, stop = float(legs.run_up_m[0]), float(np.max(legs.run_up_s)), float(np.max(legs.braking_m))
    field = rule.course_m + stop + (SPARE * up if rule.start == "flying" else 0.0)
    runs = _runs(one, flown, hover, dash, took, speed, reserve)
    return Course(mean_speed(rule, ahead, back), ahead, back, up, took, stop, field, runs)


def mean_speed(rule: DashRule, ahead: float, back: float) -> float:
    """The speed that counts [m/s], of those of the two runs."""
    if rule.mean_of == "one way":
        return back
    if rule.mean_of == "speeds":
        return 0.5 * (ahead + back)
    return 2.0 * ahead * back / (ahead + back) if ahead + back > 0.0 else 0.0


def both_ways(rule: DashRule) -> Array:
    """Wind from behind on the two runs [m/s]."""
    return np.array([rule.wind_m_s, -rule.wind_m_s])


def _run_speed(legs: Legs, k: int, speed: float, rule: DashRule) -> float:
    """Mean speed over the course [m/s]; a standing start, or too little room before a flying one, spends the run-up on it."""
    ground = max(speed + float(legs.wind[k]), 0.0)
    begin = 0.0 if rule.start == "standing" else rule.run_up_m
    if begin is None or ground <= 0.0:
        return ground
    way, times = legs.up.ground_m[:, k], legs.up.t_s

    def passed(line: float) -> float:
        return float(np.interp(line, way, times)) + max(line - float(way[-1]), 0.0) / ground

    return rule.course_m / (passed(begin + rule.course_m) - passed(begin))


def _runs(one: Crowd, flown: Trim, hover: Trim, dash: Dash, took: float, speed: float, reserve: float) -> int:
    """Runs from a full pack until the reserve or the loaded voltage, hovering between them."""
    store, runs = Store.full(one), 0
    seconds = took + dash.rule.course_m / max(speed - dash.rule.wind_m_s, 1.0)
    while runs < 200:
        at = hold(one, flown, seconds, store, 8)
        low = at.volts[0] / one.cells[0] < dash.rule.cell_V or at.command[0] > 1.0
        if low or store.charge[0] < reserve or store.winding[0] > one.winding_limit[0]:
            break
        runs += 1
        hold(one, hover, dash.rule.between_s, store, 8)
    return runs
