"""The lift prediction flown: the rated payload in its gust, and payloads just below and above the one that fails."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from quadsim.config import Craft
from quadsim.config.flight_loader import parse_flight
from quadsim.contest.lift_prediction import BEYOND, LiftPrediction
from quadsim.environment.atmosphere import Site
from quadsim.simulation.fly import fly
from quadsim.simulation.run import Run

SETTLE_S = 4.0
"""Time for the craft to take up the load before it is judged [s]."""
LOST_M = 1.0
"""Height error that counts as not held [m]; our choice."""
WITHIN = 0.97
"""Payload under the failure payload that must still be held."""
HEIGHT_M = 30.0
AT_LIMIT = 98.0
"""Motor command from which a motor counts as at its limit [%]."""

FLIGHT = """title = "Lift attempt"
craft = "{craft}"
duration_s = {duration}
log_rate_Hz = 50
[start]
mode = "height_hold"
height_m = {height}
[[at]]
t_s = 0.0
attach = {{ name = "load", mass_g = {payload} }}
"""
GUST = """[wind]
gusts = [{{ at_s = {at}, duration_s = {long}, form = "holding", speed_m_s = {speed} }}]
"""


@dataclass(frozen=True)
class FlownLift:
    """One attempt as flown: payload [g], whether it was held and was predicted to be, when height was lost [s], what gave out."""

    payload_g: float
    gust_m_s: float
    predicted: bool
    held: bool
    lost_at_s: float | None
    cause: str
    height_error_m: float
    motor_pct: float

    @property
    def agrees(self) -> bool:
        return self.predicted == self.held

    @property
    def words(self) -> str:
        """The attempt in a sentence."""
        fate = "held" if self.held else f"lost its height at {self.lost_at_s:.0f} s: {self.cause}"
        wind = f" in a gust of {self.gust_m_s:g} m/s" if self.gust_m_s else ""
        return f"{fate}{wind}, " + ("as predicted" if self.agrees else "NOT as predicted")


def fly_lift(craft: Craft, site: Site, found: LiftPrediction) -> list[FlownLift]:
    """The three attempts that confirm a prediction."""
    rule = found.rule
    return [
        fly_attempt(craft, site, found.payload, rule.time_s, rule.gust_m_s, True),
        fly_attempt(craft, site, WITHIN * found.failure, rule.time_s, 0.0, True),
        fly_attempt(craft, site, BEYOND * found.failure, rule.time_s, 0.0, False),
    ]


def fly_attempt(
    craft: Craft, site: Site, payload: float, time_s: float, gust: float, predicted: bool
) -> FlownLift:
    """Hover with a payload [kg] for a time; a gust builds up over the last third and stays."""
    duration = SETTLE_S + time_s
    text = FLIGHT.format(craft=craft.name, duration=duration, height=HEIGHT_M, payload=1000.0 * payload)
    if gust > 0.0:
        text += GUST.format(at=SETTLE_S + 0.6 * time_s, long=0.1 * time_s, speed=gust)
    return _judged(fly(parse_flight(text), craft=craft, site=site), payload, gust, predicted)


def _judged(run: Run, payload: float, gust: float, predicted: bool) -> FlownLift:
    """Held is: within LOST_M of the height it had when the load was settled, to the end."""
    t = run.t_s
    settled = int(np.searchsorted(t, min(SETTLE_S, t[-1])))
    error = np.abs(run["height_m"] - HEIGHT_M)
    late = np.flatnonzero(error[settled:] > LOST_M)
    lost_at = float(t[settled + late[0]]) if len(late) else None
    command = 100.0 * np.max(run["duty"] if "duty" in run.data else run["signals/motors"], axis=1)
    until = len(t) if lost_at is None else settled + int(late[0]) + 1
    held = lost_at is None and run.status == "finished"
    most = float(np.max(command[settled:until])) if until > settled else float(np.max(command))
    cause = "thrust" if most >= AT_LIMIT else run.status_text
    return FlownLift(
        1000.0 * payload,
        gust,
        predicted,
        held,
        lost_at,
        "" if held else cause,
        float(np.max(error[settled:])),
        most,
    )
