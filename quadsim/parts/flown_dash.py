"""The dash of a choice flown: from a hover into a lean, down the run-up and the timed distance, at the lean that is fastest.

Lean by lean the whole simulation is flown, so nothing of the estimate's top speed comes in.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from controllers.contract import SLOTS
from controllers.guide_gains import GuideGain
from quadsim.config import Craft
from quadsim.config.contest_schema import Contest
from quadsim.config.flight_loader import parse_flight
from quadsim.environment.atmosphere import Site
from quadsim.simulation.fly import finish, start
from quadsim.simulation.run import Run
from quadsim.simulation.session import fly_through

HEIGHT_M = 40.0
LEAN_AT_S, LEAN_S = 1.0, 0.4
"""When the craft leans in, and how long that takes [s]."""
LEANS_DEG = 30.0, 79.0
"""Leans that are tried; the guide's gain tilt_max ends at 80 degrees."""
COARSE_DEG, FINE_DEG = 7.0, 1.0
LEVEL = 0.02
"""Mean climb or sink over the timed distance that still counts as level, over the speed [-]; our choice."""
SUNK_M = 2.0
"""Height lost since the lean-in that still counts as held [m]: worth g h / v, 0.5 m/s at 40 m/s; our choice."""
SLOWEST = 8.0
"""Mean speed a dash is given time for [m/s]; assumed."""

FLIGHT = """title = "Dash"
craft = "{craft}"
duration_s = {duration}
log_rate_Hz = 100
[start]
height_m = {height}
[wind]
speed_m_s = {wind}
from_deg = {source}
[[at]]
t_s = {lean_at}
pitch_deg = {pitch}
ramp_s = {ramp}
"""


@dataclass(frozen=True)
class FlownDash:
    """Mean speed over the timed distance by the rule [m/s], 0 where no lean is level; the lean [deg]; what else was seen in words."""

    speed: float
    lean_deg: float
    words: str


def dash_gains(lean_deg: float) -> dict[str, float]:
    """Gains of the guide that let a craft lean so far, for its file: greatest tilt, and thrust made up for it."""
    lean = math.radians(lean_deg)
    tilt = min(lean + math.radians(1.0), float(GuideGain.TILT_MAX.high))
    factor = min(1.05 / math.cos(lean), float(GuideGain.TILT_FACTOR_MAX.high))
    return {
        "tilt_max": round(tilt, 3),
        "tilt_factor_max": round(factor, 2),
        "thrust_high": 1.0,
    }


def fly_dash(craft: Craft, site: Site, contest: Contest) -> FlownDash:
    """The fastest level dash of a craft."""
    low, high = LEANS_DEG
    tried = {lean: _speed(craft, site, contest, lean) for lean in np.arange(low, high + 0.1, COARSE_DEG).tolist()}
    best = max(tried, key=lambda lean: tried[lean])
    for lean in np.arange(best - COARSE_DEG + FINE_DEG, best + COARSE_DEG, FINE_DEG).tolist():
        if low <= lean <= high and lean not in tried:
            tried[lean] = _speed(craft, site, contest, lean)
    best = max(tried, key=lambda lean: tried[lean])
    if tried[best] <= 0.0:
        return FlownDash(0.0, low, f"not level at a lean of {low:g} degrees")
    return FlownDash(tried[best], best, f"leaning {best:.0f} degrees")


def _speed(craft: Craft, site: Site, contest: Contest, lean: float) -> float:
    """Mean speed by the rule at a lean [deg]; 0 where it is not level or does not get there. With wind, the mean of the times
    both ways, as the estimate has it."""
    wind = float(contest.air.wind_m_s) if contest.dash.timing == "mean of times" else 0.0
    speeds = [fly_lean(craft, site, contest, lean, one) for one in ((wind, -wind) if wind else (0.0,))]
    return len(speeds) / sum(1.0 / one for one in speeds) if all(one > 0.0 for one in speeds) else 0.0


def fly_lean(craft: Craft, site: Site, contest: Contest, lean: float, wind: float = 0.0) -> float:
    """One run with a lean [deg] and a wind from behind [m/s]: its mean speed [m/s], or 0."""
    dash = contest.dash
    run_up = 0.0 if dash.start == "standing" else float(dash.run_up_m)
    lines = np.array([run_up, run_up + float(dash.measured_m)])
    text = FLIGHT.format(
        craft=craft.name, duration=LEAN_AT_S + lines[1] / SLOWEST, height=HEIGHT_M, wind=abs(wind),
        source=180 if wind >= 0.0 else 0, lean_at=LEAN_AT_S, pitch=-lean, ramp=LEAN_S,
    )  # fmt: skip
    session = start(parse_flight(text), craft=craft, site=site)
    gains = session.gains[SLOTS.index("guide")]
    for name, value in dash_gains(lean).items():
        gains[GuideGain[name.upper()]] = value
    return timed(finish(session, fly_through(session)), lines)


def timed(run: Run, lines: np.ndarray) -> float:
    """Mean speed between two lines [m] ahead of the lean-in; 0 where it is not level, or they are not reached."""
    t, ahead, height = run.t_s, run["position_m"][:, 0], run["height_m"]
    first = int(np.searchsorted(t, LEAN_AT_S))
    way = ahead[first:] - ahead[first]
    if way[-1] < lines[1] or np.any(np.diff(np.maximum.accumulate(way)) < 0.0):
        return 0.0
    passed = np.interp(lines, np.maximum.accumulate(way), t[first:])
    seconds = float(passed[1] - passed[0])
    here = np.interp(passed, t, height)
    speed = float(lines[1] - lines[0]) / seconds
    level = abs(here[1] - here[0]) / seconds <= LEVEL * speed
    until = int(np.searchsorted(t, passed[1]))
    held = float(height[first] - np.min(height[first : until + 1])) <= SUNK_M
    return speed if level and held else 0.0
