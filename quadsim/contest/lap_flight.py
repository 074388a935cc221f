"""A planned line flown by the whole simulation: sensors, wind, control laws, motors and battery."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.config import Craft, resolve_builder, resolve_plant
from quadsim.config.flight_schema import FlightFile
from quadsim.config.position_sensors_schema import Compass, SatelliteReceiver
from quadsim.config.quantity import Uncertain
from quadsim.contest.flights import fly_whole
from quadsim.contest.lap_laws import BLOCKS, lead, set_laws
from quadsim.environment.atmosphere import Site
from quadsim.planning.line import Line
from quadsim.planning.plan import Plan
from quadsim.simulation.fly import snapshot
from quadsim.simulation.run import Run
from quadsim.simulation.session import Session

Array = NDArray[np.float64]

SETTLE_S = 3.0
"""Hover at the start place before the start signal [s]."""
STEP_S = 0.005
"""Between two values of what is learnt [s]."""
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
    """A plan as the flight's timeline asks for it: place and velocity now, acceleration ahead.

    origin : where the flight's own places count from, north-east-down [m]; lead : of the acceleration [s]
    """

    plan: Plan
    origin: Array
    shift: Shift
    lead: float

    def at(self, times: Array) -> tuple[Array, Array, Array]:
        """Place (north, east, height), velocity and acceleration (north, east, down), as of a trajectory's file."""
        spline, t = self.plan.line.spline, np.asarray(times) - SETTLE_S
        place = (spline.at(t) + self.shift.at(t, 0) - self.origin) * np.array([1.0, 1.0, -1.0])
        inside = ((t >= 0.0) & (t <= spline.knots[-1]))[:, None]
        asked = spline.at(t + self.lead, 2) + self.shift.at(t + self.lead, 2)
        return place, (spline.at(t, 1) + self.shift.at(t, 1)) * inside, asked * inside

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


def lap_session(craft: Craft, site: Site, plan: Plan, shift: Shift, conditions: Conditions) -> Session:
    """A session at the start place, ready to fly the plan."""
    start, line = plan.start, plan.line
    origin = np.array([start[0], start[1], 0.0])
    located_craft, told = located(craft)
    plant = resolve_plant(located_craft, site)
    path = LinePath(plan, origin, shift, lead(resolve_builder(located_craft, plant)))
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
    session = Session(located_craft, flight, seed=conditions.seed, blocks=BLOCKS, site=site)
    set_laws(session, plan.limits, told)
    if conditions.plant is not None:
        session.plant = conditions.plant
        session.held.cell[:] = 0.0
    return session


def fly_plan(craft: Craft, site: Site, plan: Plan, shift: Shift, conditions: Conditions) -> Run:
    """The plan flown once, with what was learnt; without metrics and picture, which take half as long again."""
    session = lap_session(craft, site, plan, shift, conditions)
    fly_whole(session)
    return snapshot(session, drawn=False)


def flown_places(run: Run, plan: Plan) -> tuple[Array, Array]:
    """Times since the start signal [s] and places in the course's axes [m], north-east-down, from that signal on."""
    t = run.t_s - SETTLE_S
    origin = np.array([plan.start[0], plan.start[1], 0.0])
    since = t >= 0.0
    return t[since], np.asarray(run["position_m"])[since] + origin
