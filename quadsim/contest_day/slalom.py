"""The slalom on the day: a lap, the gust that pushes a craft towards a gate's frame, what the laps take of the pack.

Where the contest names a course, the lap is planned as by `quadsim lap`, and a pilot's is estimated from it; a point mass says
only what warmth and packs change of it. Else, or where no line is found, the lap is that of the point mass (`quadsim choose`
estimates it alike); that one does not know how fast the craft turns.
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
from quadsim.contest.lap_limits import LapRule
from quadsim.contest.lift import Ratings, ratings
from quadsim.contest.rules import LOADED_CELL_V, DashRule
from quadsim.contest.steady import trim
from quadsim.contest_day.bound import CAUTION, GO, NO_GO, Bound, kept_range
from quadsim.contest_day.run_end import RunEnd, run_end
from quadsim.contest_day.slalom_line import Passing, PlannedLap, planned_lap
from quadsim.contest_day.today import Today
from quadsim.contest_day.warmth import swept, warmth_bounds
from quadsim.errors import InputError
from quadsim.parts.course_kernels import lap_time
from quadsim.parts.course_line import line_over_point_mass
from quadsim.parts.figures import LAP_CHARGE, course_rows
from quadsim.planning.reachable import outline_radius, unreachable

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
    """Of each craft of a crowd (N,): lap [s], mean speed [m/s], thrust in weights: steady one that the laps take, greatest."""

    seconds: Array
    speed: Array
    load_factor: Array
    peak: Array

    def scaled(self, seconds: float, steady: float, peak: float) -> Lap:
        """Times and loads by factors, loads no less than level flight."""
        hard, hardest = (np.maximum(self.load_factor * by, 1.0) for by in (steady, peak))
        return Lap(self.seconds * seconds, self.speed / seconds, hard, np.maximum(hardest, hard))


@dataclass(frozen=True)
class SlalomDay:
    """lap_s : a pilot's where it is planned, else a point mass's; mean_speed : along it [m/s]; load_factor : greatest thrust used
    points : it earns; tightest : the gate where today's gust takes most of the room beside the craft; push_m : what it moves it
    there until it leans against it; end : after all laps; planned : the lap as planned, None for the point mass
    why : the lap is no better than that, empty where all is as wanted; word : what that alone says
    estimate_s : the point mass's lap
    """

    craft: Craft
    lap_s: float
    mean_speed: float
    load_factor: float
    points: float
    tightest: Passing
    push_m: float
    bounds: list[Bound]
    end: RunEnd
    estimate_s: float
    planned: PlannedLap | None = None
    why: str = ""
    word: str = GO


def slalom_day(
    craft: Craft, contest: Contest, today: Today, top: float | None = None, *, flights: int = 0, own_lap_s: float | None = None
) -> SlalomDay:  # fmt: skip
    """The sheet's slalom for a craft as it is today.

    top : its level top speed [m/s], worked out when None; flights : of the planned lap in today's wind
    own_lap_s : the pilot's own lap from practice, which then counts for the estimate [s]
    """
    plant = resolve_plant(craft, today.site)
    crowd = crowd_of([plant])
    rated = ratings(craft, plant)
    top = top_speed(crowd, dash_of(craft, DashRule()), rated) if top is None else top
    estimate = laps(crowd, contest, rated, np.array([top]))
    planned, why, word = _planned(craft, contest, today, flights)
    lap_s = float(estimate.seconds[0]) if planned is None else own_lap_s or planned.pilot.seconds
    by = (lap_s / float(estimate.seconds[0]), *_load_ratios(estimate, planned))
    lap = estimate.scaled(*by)
    passings = _in_the_middle(contest, crowd, lap) if planned is None else planned.passings
    pushed = np.array([pushes(crowd, one.speed, np.append(GUSTS, today.gust_m_s)) for one in passings])
    rooms = np.array([one.room for one in passings])
    worst = int(np.argmax(pushed[:, -1] - PUSH_STOP * rooms))
    hover, hard = trim(crowd, crowd.mass), trim(crowd, crowd.mass * lap.load_factor)
    end = run_end(crowd, hover, [(hover, APPROACH_S), (hard, contest.slalom.laps * lap_s)])
    bounds = [_gust_bound(rooms, pushed[:, :-1], today), *_warmth_bounds(craft, contest, today, top, by)]
    points = float(contest.slalom.points * contest.slalom.reference_s) / lap_s if lap_s > 0.0 else 0.0
    return SlalomDay(
        craft, lap_s, float(lap.speed[0]), float(lap.peak[0]), points, passings[worst], float(pushed[worst, -1]), bounds, end,
        float(estimate.seconds[0]), planned, why, word,
    )  # fmt: skip


def _planned(
    craft: Craft, contest: Contest, today: Today, flights: int
) -> tuple[PlannedLap | None, str, str]:
    """The planned lap where there is one, why there is not, and the word for that."""
    course = contest.slalom.laid
    if course is None:
        return None, "the contest file names no course to plan a line through", GO
    try:
        found = planned_lap(craft, today.site, course, flights=flights, wind_m_s=today.wind_m_s)
    except InputError as error:
        fits = not unreachable(course, outline_radius(resolve_plant(craft, today.site)))
        first = error.problems[0]
        return None, f"no line was found: {first.where} {first.given}", CAUTION if fits else NO_GO
    if found.held:
        return found, "", GO
    return found, "too few flights in today's wind passed all gates", CAUTION


def _load_ratios(estimate: Lap, planned: PlannedLap | None) -> tuple[float, float]:
    """Steady and greatest load of the planned lap over that of the point mass."""
    if planned is None:
        return 1.0, 1.0
    today = float(estimate.load_factor[0])
    return planned.mean_load / today, planned.peak_load / today


def _in_the_middle(contest: Contest, crowd: Crowd, lap: Lap) -> list[Passing]:
    """What the point mass knows of the gates: the narrowest one, at the mean speed."""
    return [Passing("", float(lap.speed[0]), 0.5 * contest.slalom.opening - reach(crowd))]


def top_speed(crowd: Crowd, dash: Dash, rated: Ratings) -> float:
    """Level top speed of the first craft [m/s]; hardly any where a limit is passed at every speed."""
    return max(min(speed_limits(crowd.rows([0]), dash, rated.repeated(1)).values()), 1.0)


def reach(crowd: Crowd) -> float:
    """Half the span of the first craft [m]: a hub's offset to the side and a propeller's radius."""
    return float(np.max(np.abs(crowd.hubs[0, :, 1]))) + float(crowd.rotor_radius[0])


def laps(crowd: Crowd, contest: Contest, rated: Ratings, top: Array) -> Lap:
    """Estimated laps of a crowd with top speeds (N,) [m/s], part of the pack used, as `quadsim choose` estimates them: at the
    command of a planned lap, some thrust kept for control by the contest, the point mass scaled to the course's line.

    A craft whose thrust is n weights accelerates level by g sqrt(n^2 - 1).
    """
    kept = 1.0 - float(contest.slalom.thrust_kept_pct) / 100.0
    factor = np.maximum(kept * full_thrust(crowd, rated, 1.0 - LapRule.reserve), 1.0)
    rows = course_rows(contest)
    line = line_over_point_mass(contest, rows)
    length = float(np.sum(rows[:, 1:]))
    push = crowd.gravity * np.sqrt(factor**2 - 1.0)
    room = np.zeros(len(rows))
    pairs = zip(push.tolist(), top.tolist(), strict=True)
    seconds = np.array([line * lap_time(rows, a, v, room) for a, v in pairs])
    return Lap(seconds, length / seconds, factor, factor)


def full_thrust(crowd: Crowd, rated: Ratings, command: float = 1.0) -> Array:
    """Greatest thrust in hover (N,), in weights, at what the guide asks for or a motor command, at LAP_CHARGE of the pack."""

    def left(factor: Array) -> Array:
        at = feed(crowd, trim(crowd, crowd.mass * factor), Store.full(crowd, LAP_CHARGE))
        found = np.minimum(command - at.command, 1.0 - at.across / rated.across)
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


def _gust_bound(rooms: Array, pushed: Array, today: Today) -> Bound:
    """rooms : beside the craft at each gate (G,) [m]; pushed : by GUSTS there (G, N) [m]; the worst gate counts."""
    left = [
        np.min(np.nan_to_num(share * rooms[:, None] - pushed, neginf=-1e6), axis=0)
        for share in (PUSH_GO, PUSH_STOP)
    ]
    go, stop = (kept_range(GUSTS, one, today.gust_m_s) for one in left)
    beside = (
        f"the {rooms[0]:.2f} m beside the craft"
        if len(rooms) == 1
        else "what is free beside the craft in a gate"
    )
    why = f"a gust from the side takes {100 * PUSH_GO:.0f} % and {100 * PUSH_STOP:.0f} % of {beside}"
    return Bound("gust", "m/s", today.gust_m_s, (max(go[0], 0.0), go[1]), (max(stop[0], 0.0), stop[1]), why)


def _warmth_bounds(
    craft: Craft, contest: Contest, today: Today, top: float, by: tuple[float, float, float]
) -> list[Bound]:
    """Air and pack; the top speed of today counts at every temperature, it hardly matters. by : see `Lap.scaled`."""
    plants = [resolve_plant(craft, site) for site in swept(today.site)]
    crowd = crowd_of(plants)
    rated = ratings(craft, plants[0], len(plants))
    lap = laps(crowd, contest, rated, np.full(len(plants), top)).scaled(*by)
    left = laps_left(crowd, contest, rated, lap)
    words = f"the laps bring {{}} to its rating and {-100 * OVER:.0f} % past it"
    return warmth_bounds(today.site, left, (0.0, OVER), words)


def laps_left(crowd: Crowd, contest: Contest, rated: Ratings, lap: Lap) -> dict[str, Array]:
    """What is left of the ratings (N,) as a share after all laps at the steady load; currents and voltage at the greatest one."""
    store = Store.full(crowd)
    hold(crowd, trim(crowd, crowd.mass), APPROACH_S, store)
    hold(crowd, trim(crowd, crowd.mass * lap.load_factor), contest.slalom.laps * lap.seconds, store)
    at = feed(crowd, trim(crowd, crowd.mass * lap.peak), store)
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
