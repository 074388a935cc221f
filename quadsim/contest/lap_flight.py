"""A planned line flown by the whole simulation: sensors, wind, control laws, motors and battery."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from controllers.attitude import AttitudeGain
from controllers.contract import SLOTS
from controllers.guide_gains import GuideGain
from quadsim.config import Craft
from quadsim.config.flight_schema import FlightFile
from quadsim.config.position_sensors_schema import Compass, SatelliteReceiver
from quadsim.config.quantity import Uncertain
from quadsim.contest.whole_flight import fly_whole
from quadsim.environment.atmosphere import Site
from quadsim.planning.limits import Limits
from quadsim.planning.line import Line
from quadsim.planning.plan import Plan
from quadsim.simulation.run import Run
from quadsim.simulation.session import Session

Array = NDArray[np.float64]

SETTLE_S = 3.0
"""Hover at the start place before the start signal [s]."""
LEAD_S = 0.07
"""Time by which the acceleration is asked for ahead: what guide, attitude and rate take to turn the thrust; found by flying."""
STEP_S = 0.005
"""Between two values of what is learnt [s]."""
BLOCKS = {"estimate": "kalman", "guide": "track"}
GAINS = {
    GuideGain.PLACE_P: 8.0, GuideGain.PLACE_D: 6.0, GuideGain.PLACE_I: 2.0, GuideGain.PLACE_FREQUENCY: 60.0,
    GuideGain.JERK_MAX: 300.0, GuideGain.TILT_MAX: 1.5, GuideGain.THRUST_HIGH: 1.0, GuideGain.THRUST_LOW: 0.1,
}  # fmt: skip
"""Of the guide on a lap, beside what the craft needs for its inflow; found by flying."""
ATTITUDE_GAINS = {AttitudeGain.TILT_P: 12.0, AttitudeGain.TILT_RATE_MAX: 10.0}
"""Of the attitude law on a lap, where it is `quaternion_p`; found by flying."""
PLACE_RATE_HZ, PLACE_SIGMA_M, PLACE_DELAY_MS = 50.0, 0.05, 10.0
"""Of a system at the field that tells a craft without a receiver fit for gates its place; assumed."""


@dataclass(frozen=True)
class Conditions:
    """Of one flight: wind [m/s] with turbulence and where it comes from [deg], seed, a PLANT record unless the craft's own."""

    wind_m_s: float = 0.0
    from_deg: float = 0.0
    seed: int = 1
    plant: Any = None


@dataclass(frozen=True)
class Shift:
    """What is asked for beside the plan, at STEP_S from the start signal on: place, velocity and acceleration (n, 3)."""

    place: Array

    @classmethod
    def none(cls, line: Line) -> Shift:
        return cls(np.zeros((len(shift_times(line)), 3)))

    def at(self, times: Array, derivative: int) -> Array:
        """Of the place, at times since the start signal [s]."""
        value, t = self.place, np.arange(len(self.place)) * STEP_S
        for _ in range(derivative):
            value = np.gradient(value, STEP_S, axis=0)
        return np.stack([np.interp(times, t, value[:, k]) for k in range(3)], axis=1)


def shift_times(line: Line) -> Array:
    """Times since the start signal at which a shift is known [s]."""
    return np.arange(0.0, float(line.spline.knots[-1]) + 0.3, STEP_S)


@dataclass(frozen=True)
class LinePath:
    """A plan as the flight's timeline asks for it: place and velocity now, acceleration with what drag takes LEAD_S ahead.

    origin : where the flight's own places count from, north-east-down [m]
    """

    plan: Plan
    origin: Array
    shift: Shift

    def at(self, times: Array) -> tuple[Array, Array, Array]:
        """Place (north, east, height), velocity and acceleration (north, east, down), as of a trajectory's file."""
        spline, t = self.plan.line.spline, np.asarray(times) - SETTLE_S
        place = (spline.at(t) + self.shift.at(t, 0) - self.origin) * np.array([1.0, 1.0, -1.0])
        inside = ((t >= 0.0) & (t <= spline.knots[-1]))[:, None]
        v, a = (spline.at(t + LEAD_S, k) for k in (1, 2))
        limits = self.plan.limits
        pushed = limits.force(v, a) + np.array([0.0, 0.0, limits.gravity]) + self.shift.at(t + LEAD_S, 2)
        return place, (spline.at(t, 1) + self.shift.at(t, 1)) * inside, pushed * inside

    def heading_at(self, times: Array) -> None:
        """The heading of the start is kept: this pilot need not look where it flies."""
        return None


def located(craft: Craft) -> tuple[Craft, bool]:
    """The craft with a place and a heading good enough for gates; True where that is not its own."""
    own = craft.gnss is not None and float(craft.gnss.cep_m) <= 2.0 * PLACE_SIGMA_M
    update: dict[str, Any] = {}
    if not own:
        update["gnss"] = SatelliteReceiver(
            name="place told by the field", mass_g=Uncertain(0.0), size_mm=(1.0, 1.0, 1.0), at_mm=(0.0, 0.0, 0.0),
            rate_Hz=Uncertain(PLACE_RATE_HZ), delay_ms=Uncertain(PLACE_DELAY_MS), cep_m=Uncertain(1.177 * PLACE_SIGMA_M),
            vertical_sigma_m=Uncertain(PLACE_SIGMA_M), white_pct=Uncertain(100.0),
            velocity_sigma_m_s=Uncertain(0.1),
        )  # fmt: skip
    if craft.compass is None:
        update["compass"] = Compass(
            name="heading told by the field", mass_g=Uncertain(0.0), size_mm=(1.0, 1.0, 1.0), at_mm=(0.0, 0.0, 0.0),
        )  # fmt: skip
    return (craft.model_copy(update=update) if update else craft), not own


def inflow_loss(limits: Limits) -> float:
    """The guide's gain c: T = a Omega^2 - b Omega w loses k at full thrust f0, so c = k/sqrt(f0 g) [s/m]."""
    return float(limits.thrust_fall / np.sqrt(limits.thrust * limits.gravity))


def lap_session(craft: Craft, site: Site, plan: Plan, shift: Shift, conditions: Conditions) -> Session:
    """A session at the start place, ready to fly the plan."""
    start, line = plan.start, plan.line
    origin = np.array([start[0], start[1], 0.0])
    path = LinePath(plan, origin, shift)
    wind: dict[str, Any] = {"speed_m_s": conditions.wind_m_s, "from_deg": conditions.from_deg}
    if conditions.wind_m_s > 0.0:
        wind["turbulence"] = {"intensity": "mean"}
    heading = float(np.degrees(plan.course.start.heading))
    flight = FlightFile.model_validate(
        {
            "title": f"Lap of {plan.course.name}",
            "craft": craft.name,
            "duration_s": SETTLE_S + float(line.spline.knots[-1]) + 0.5,
            "log_rate_Hz": 200.0,
            "start": {"height_m": -float(start[2]), "heading_deg": heading, "mode": "waypoint"},
            "wind": wind,
            "at": [{"t_s": SETTLE_S, "text": "start signal", "mode": "trajectory"}],
        }
    )
    flight._trajectory = path  # type: ignore[assignment]
    located_craft, _ = located(craft)
    session = Session(located_craft, flight, seed=conditions.seed, blocks=BLOCKS, site=site)
    gains = session.gains[SLOTS.index("guide")]
    for gain, value in GAINS.items():
        gains[gain] = value
    gains[GuideGain.INFLOW_LOSS] = inflow_loss(plan.limits)
    row = SLOTS.index("attitude")
    if session.blocks[row].gains is AttitudeGain:
        for tilt_gain, value in ATTITUDE_GAINS.items():
            session.gains[row][tilt_gain] = value
    if conditions.plant is not None:
        session.plant = conditions.plant
        session.held.cell[:] = 0.0
    return session


def fly_plan(craft: Craft, site: Site, plan: Plan, shift: Shift, conditions: Conditions) -> Run:
    """The plan flown once, with what was learnt."""
    session = lap_session(craft, site, plan, shift, conditions)
    return fly_whole(session)


def flown_places(run: Run, plan: Plan) -> tuple[Array, Array]:
    """Times since the start signal [s] and places in the course's axes [m], north-east-down, from that signal on."""
    t = run.t_s - SETTLE_S
    origin = np.array([plan.start[0], plan.start[1], 0.0])
    since = t >= 0.0
    return t[since], np.asarray(run["position_m"])[since] + origin
