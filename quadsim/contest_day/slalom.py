"""The slalom on the day: an estimated lap, the gust that pushes a craft towards a gate's frame, what the laps take of the pack.

The lap is that of a point mass (`quadsim choose` estimates it alike); it does not know how fast the craft turns.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.config import Craft, resolve_plant
from quadsim.config.contest_schema import Contest
from quadsim.contest.crossing import last_kept
from quadsim.contest.crowd import Crowd, crowd_of
from quadsim.contest.dash import Dash, speed_limits
from quadsim.contest.dash_prediction import dash_of
from quadsim.contest.feed import Store, feed, hold
from quadsim.contest.lift import Ratings, ratings
from quadsim.contest.rules import LOADED_CELL_V, DashRule
from quadsim.contest.steady import trim
from quadsim.contest_day.bound import Bound, kept_range
from quadsim.contest_day.run_end import RunEnd, run_end
from quadsim.contest_day.today import Today
from quadsim.contest_day.warmth import swept, warmth_bounds
from quadsim.parts.course_kernels import lap_time
from quadsim.parts.figures import LAP_CHARGE, course_rows

Array = NDArray[np.float64]

REACTION_S = 0.6
"""From a gust until the craft leans against it: seeing, stick, attitude loop [s]; assumed."""
PUSH_GO, PUSH_STOP = 0.35, 0.7
"""Share of the free room beside a craft in the middle of a gate that a gust may take, for go and before no-go; our choice."""
GUSTS = np.arange(0.0, 21.0, 1.0)
APPROACH_S = 10.0
"""Hover before the start and after the last lap together [s]; assumed."""
HEAVIEST = 12.0
"""Greatest thrust that is looked at, in weights."""
OVER = -0.1
"""What is left of a rating where laps are no-go; our choice."""


@dataclass(frozen=True)
class Lap:
    """Of each craft of a crowd (N,): lap [s], mean speed [m/s], thrust that the estimate uses, in weights."""

    seconds: Array
    speed: Array
    load_factor: Array


@dataclass(frozen=True)
class SlalomDay:
    """lap_s : estimated; mean_speed : along it [m/s]; points : it earns; room_m : beside the craft in the middle of a gate
    push_m : what today's gust moves it until it leans against it; end : after all laps at the limit
    """

    craft: Craft
    lap_s: float
    mean_speed: float
    load_factor: float
    points: float
    room_m: float
    push_m: float
    bounds: list[Bound]
    end: RunEnd


def slalom_day(craft: Craft, contest: Contest, today: Today, top: float | None = None) -> SlalomDay:
    """The sheet's slalom for a craft as it is today. top : its level top speed [m/s], worked out when None."""
    plant = resolve_plant(craft, today.site)
    crowd = crowd_of([plant])
    rated = ratings(craft, plant)
    top = top_speed(crowd, dash_of(craft, DashRule()), rated) if top is None else top
    lap = laps(crowd, contest, rated, np.array([top]))
    seconds, speed = float(lap.seconds[0]), float(lap.speed[0])
    room = 0.5 * contest.slalom.opening - reach(crowd)
    pushed = pushes(crowd, speed, GUSTS)
    now = float(pushes(crowd, speed, np.array([today.gust_m_s]))[0])
    hover = trim(crowd, crowd.mass)
    hard = trim(crowd, crowd.mass * lap.load_factor)
    end = run_end(crowd, hover, [(hover, APPROACH_S), (hard, contest.slalom.laps * seconds)])
    bounds = [_gust_bound(room, pushed, today), *_warmth_bounds(craft, contest, today, top)]
    points = float(contest.slalom.points * contest.slalom.reference_s) / seconds if seconds > 0.0 else 0.0
    return SlalomDay(craft, seconds, speed, float(lap.load_factor[0]), points, room, now, bounds, end)


def top_speed(crowd: Crowd, dash: Dash, rated: Ratings) -> float:
    """Level top speed of the first craft [m/s]; hardly any where a limit is passed at every speed."""
    return max(min(speed_limits(crowd.rows([0]), dash, rated.repeated(1)).values()), 1.0)


def reach(crowd: Crowd) -> float:
    """Half the span of the first craft [m]: a hub's offset to the side and a propeller's radius."""
    return float(np.max(np.abs(crowd.hubs[0, :, 1]))) + float(crowd.rotor_radius[0])


def laps(crowd: Crowd, contest: Contest, rated: Ratings, top: Array) -> Lap:
    """Estimated laps of a crowd with top speeds (N,) [m/s], part of the pack used, some thrust kept for control by the contest.

    A craft whose thrust is n weights accelerates level by g sqrt(n^2 - 1).
    """
    kept = 1.0 - float(contest.slalom.thrust_kept_pct) / 100.0
    factor = np.maximum(kept * full_thrust(crowd, rated), 1.0)
    rows = course_rows(contest)
    length = float(np.sum(rows[:, 1:]))
    push = crowd.gravity * np.sqrt(factor**2 - 1.0)
    room = np.zeros(len(rows))
    pairs = zip(push.tolist(), top.tolist(), strict=True)
    seconds = np.array([lap_time(rows, a, v, room) for a, v in pairs])
    return Lap(seconds, length / seconds, factor)


def full_thrust(crowd: Crowd, rated: Ratings) -> Array:
    """Greatest thrust in hover (N,), in weights, at what the guide asks for or full command, at LAP_CHARGE of the pack."""

    def left(factor: Array) -> Array:
        at = feed(crowd, trim(crowd, crowd.mass * factor), Store.full(crowd, LAP_CHARGE))
        found = np.minimum(1.0 - at.command, 1.0 - at.across / rated.across)
        return np.where(np.isfinite(found), found, -1.0)

    return last_kept(left, np.ones(len(crowd)), np.full(len(crowd), HEAVIEST))


def pushes(crowd: Crowd, speed: float, gusts: Array) -> Array:
    """How far gusts from the side (N,) [m/s] move the first craft at a speed [m/s] until it leans against them [m].

    Drag at the airspeed Va = sqrt(V^2 + w^2) decelerates by g tan(tilt); its part to the side is w/Va of it, and s = a t^2/2.
    The same drag from every side is assumed.
    """
    many = crowd.rows([0] * len(gusts))
    airspeed = np.hypot(speed, gusts)
    tilt = trim(many, many.mass, airspeed).tilt
    side = many.gravity * np.tan(tilt) * gusts / np.maximum(airspeed, 1e-9)
    return np.where(np.isfinite(side), 0.5 * side * REACTION_S**2, np.inf)


def _gust_bound(room: float, pushed: Array, today: Today) -> Bound:
    left = [np.nan_to_num(share * room - pushed, neginf=-1e6) for share in (PUSH_GO, PUSH_STOP)]
    go, stop = (kept_range(GUSTS, one, today.gust_m_s) for one in left)
    takes = f"{100 * PUSH_GO:.0f} % and {100 * PUSH_STOP:.0f} % of the {room:.2f} m beside the craft"
    why = f"a gust from the side takes {takes}"
    return Bound("gust", "m/s", today.gust_m_s, (max(go[0], 0.0), go[1]), (max(stop[0], 0.0), stop[1]), why)


def _warmth_bounds(craft: Craft, contest: Contest, today: Today, top: float) -> list[Bound]:
    """Air and pack; the top speed of today counts at every temperature, it hardly matters."""
    plants = [resolve_plant(craft, site) for site in swept(today.site)]
    crowd = crowd_of(plants)
    left = laps_left(crowd, contest, ratings(craft, plants[0], len(plants)), np.full(len(plants), top))
    words = f"laps at the limit bring {{}} to its rating and {-100 * OVER:.0f} % past it"
    return warmth_bounds(today.site, left, (0.0, OVER), words)


def laps_left(crowd: Crowd, contest: Contest, rated: Ratings, top: Array) -> dict[str, Array]:
    """What is left of the ratings (N,) as a share when all laps are flown at the thrust that the estimate uses."""
    lap, store = laps(crowd, contest, rated, top), Store.full(crowd)
    hold(crowd, trim(crowd, crowd.mass), APPROACH_S, store)
    at = hold(crowd, trim(crowd, crowd.mass * lap.load_factor), contest.slalom.laps * lap.seconds, store)
    air = crowd.air_temperature
    found = {
        "motor current": 1.0 - at.worst_current / rated.motor,
        "ESC current": 1.0 - at.worst_current / rated.esc,
        "winding": (crowd.winding_limit - store.winding) / (crowd.winding_limit - air),
        "magnets": (crowd.magnet_limit - store.case) / (crowd.magnet_limit - air),
        "cell voltage": at.volts / crowd.cells / LOADED_CELL_V - 1.0,
        "charge": store.charge,
    }
    return {name: np.where(np.isfinite(one), one, -1.0) for name, one in found.items()}
