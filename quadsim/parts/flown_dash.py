"""The dash of a choice flown: from a hover into a lean, down the run-up and the timed distance, at the lean that is fastest.

Lean by lean the whole simulation is flown, so nothing of the estimate's top speed comes in. Braking is not flown.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from controllers.contract import SLOTS
from controllers.guide_gains import GuideGain
from quadsim.config import Craft
from quadsim.config.contest_schema import Contest
from quadsim.config.flight_loader import parse_flight
from quadsim.environment.atmosphere import Site
from quadsim.parts.figures import LABEL_SHARE
from quadsim.simulation.fly import finish, start
from quadsim.simulation.run import Run
from quadsim.simulation.session import fly_through

Array = NDArray[np.float64]

HEIGHT_M = 40.0
LEAN_AT_S, LEAN_S = 1.0, 0.4
"""When the craft leans in, and how long that takes [s]."""
LEANS_DEG = 30.0, 79.0
"""Leans that are tried; the guide's gain tilt_max ends at 80 degrees."""
COARSE_DEG, FINE_DEG = 7.0, 1.0
HEIGHT_GAINS = {"height_p": 2.0, "climb_p": 8.0, "climb_i": 10.0}
"""Of the guide in a dash: thrust falls as speed rises, and with the stock gains some craft sank by metres; found by flying three
choices. Poles of the third order loop are stable, s^3 + 8 s^2 + 26 s + 20 (as of GuideGain.HEIGHT_P)."""
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
    """Mean speed over the timed distance by the rule [m/s], 0 where no lean is level; the lean [deg]; in words."""

    speed: float
    lean_deg: float
    words: str


@dataclass(frozen=True)
class Timed:
    """Mean speed [m/s], 0 where it is not level or does not get there; pack current over half the label's [-]."""

    speed: float
    pack: float


def dash_gains(lean_deg: float) -> dict[str, float]:
    """Gains of the guide that let a craft lean so far, for its file: greatest tilt, thrust made up for it, HEIGHT_GAINS."""
    lean = math.radians(lean_deg)
    tilt = min(lean + math.radians(1.0), float(GuideGain.TILT_MAX.high))
    factor = min(1.05 / math.cos(lean), float(GuideGain.TILT_FACTOR_MAX.high))
    return {
        "tilt_max": round(tilt, 3),
        "tilt_factor_max": round(factor, 2),
        "thrust_high": 1.0,
        **HEIGHT_GAINS,
    }


def fly_dash(craft: Craft, site: Site, contest: Contest) -> FlownDash:
    """The fastest level dash of a craft."""
    tried: dict[float, Timed] = {}

    def best(leans: list[float]) -> float:
        for lean in leans:
            if lean not in tried and low <= lean <= high:
                tried[lean] = fly_both(craft, site, contest, lean)
        return max(tried, key=lambda lean: tried[lean].speed)

    low, high = LEANS_DEG
    near = best(np.arange(low, high + 0.1, COARSE_DEG).tolist())
    lean = best(np.arange(near - COARSE_DEG + FINE_DEG, near + COARSE_DEG, FINE_DEG).tolist())
    run = tried[lean]
    if run.speed <= 0.0:
        return FlownDash(0.0, low, f"not level at a lean of {low:g} degrees or more")
    words = f"leaning {lean:.0f} degrees" + (", the most that is tried" if lean >= high - 0.5 else "")
    if run.pack > 1.0:
        words += f"; pack at {100.0 * run.pack:.0f} % of half its label"
    return FlownDash(run.speed, lean, words)


def fly_both(craft: Craft, site: Site, contest: Contest, lean: float) -> Timed:
    """A dash by the rule at a lean [deg]. With wind, the mean of the times both ways, as the estimate has it."""
    wind = float(contest.air.wind_m_s) if contest.dash.timing == "mean of times" else 0.0
    runs = [fly_lean(craft, site, contest, lean, one) for one in ((wind, -wind) if wind else (0.0,))]
    mean = 0.0
    if all(one.speed > 0.0 for one in runs):
        mean = len(runs) / sum(1.0 / one.speed for one in runs)
    return Timed(mean, max(one.pack for one in runs))


def fly_lean(craft: Craft, site: Site, contest: Contest, lean: float, wind: float = 0.0) -> Timed:
    """One run with a lean [deg] and a wind from behind [m/s]."""
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
    half_label = LABEL_SHARE * float(craft.battery.label_C_rating * craft.battery.capacity_mAh) / 1e3
    return timed(finish(session, fly_through(session)), lines, half_label)


def timed(run: Run, lines: Array, half_label: float) -> Timed:
    """The run between two lines [m] ahead of the lean-in; half_label : current that the pack's label is taken for [A]."""
    t, height = run.t_s, run["height_m"]
    first = int(np.searchsorted(t, LEAN_AT_S))
    way = np.maximum.accumulate(run["position_m"][first:, 0] - run["position_m"][first, 0])
    if way[-1] < lines[1]:
        return Timed(0.0, 0.0)
    passed = np.interp(lines, way, t[first:])
    seconds = float(passed[1] - passed[0])
    speed = float(lines[1] - lines[0]) / seconds
    here = np.interp(passed, t, height)
    level = abs(here[1] - here[0]) / seconds <= LEVEL * speed
    until = int(np.searchsorted(t, passed[1])) + 1
    held = float(height[first] - np.min(height[first:until])) <= SUNK_M
    on = (t >= passed[0]) & (t <= passed[1])
    return Timed(speed if level and held else 0.0, float(np.mean(run["battery_current_A"][on])) / half_label)
