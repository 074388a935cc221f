"""Where a craft comes down after a lost link, and with what energy: each choice, from a height, speed and wind."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from controllers.guide_gains import GuideGain
from quadsim.analysis.falling import Body, Landing, coast, fall, sinking_time
from quadsim.config import Craft, resolve_plant
from quadsim.config.equilibrium import hover_balance, static_factors
from quadsim.dynamics.rotor_map import AXIAL_MIN, AXIAL_STEP, INPLANE_STEP, N_INPLANE
from quadsim.environment.atmosphere import Site

TYPICAL_SPEED = {"slalom": 12.0, "lift": 5.0, "speed": 30.0}
"""Speed over ground [m/s] taken for an event when none is given; assumed."""
HEIGHT, WIND, AWAY = 20.0, 5.0, 100.0
"""Height [m], wind [m/s] and distance from the take-off point [m] taken when none is given; assumed."""
CHOICES = ("cut", "level descent", "homing")
LEVEL_ERROR = math.radians(2.0)
"""Tilt that a craft may take for level after it has flown fast [rad]; assumed."""
DRAG_SHARES = (0.7, 1.4)
"""Least and greatest drag of the level craft over the computed one; assumed."""
WINDWARD = (1.0, -1.0)
"""The wind from behind and from ahead, in that order."""


@dataclass(frozen=True)
class Case:
    """From where a link is lost: height [m], speed over ground [m/s], wind [m/s], distance from the take-off point [m]."""

    height_m: float
    speed_m_s: float
    wind_m_s: float
    away_m: float = AWAY


@dataclass(frozen=True)
class Footprint:
    """Where one choice comes down. Distances over ground from where the link was lost, the last sticks' flight before it acts
    included; wind from behind.

    spread_m : least and greatest distance: wind from behind or ahead, least or most drag, level as well as the craft knows it
    """

    choice: str
    own: bool
    acts_after_s: float
    lands_after_s: float
    distance_m: float
    spread_m: tuple[float, float]
    impact_speed_m_s: float
    impact_energy_J: float
    note: str


def typical_case(
    craft: Craft,
    height_m: float | None = None,
    speed_m_s: float | None = None,
    wind_m_s: float | None = None,
    away_m: float | None = None,
) -> Case:
    """The case asked about; what is left out is typical of the craft's event."""
    given = (height_m, speed_m_s, wind_m_s, away_m)
    usual = (HEIGHT, TYPICAL_SPEED[craft.event], WIND, AWAY)
    return Case(*(u if g is None else g for g, u in zip(given, usual, strict=True)))


def footprints(craft: Craft, site: Site, case: Case) -> list[Footprint]:
    """One row for each choice, in the order of CHOICES."""
    plant = resolve_plant(craft, site)
    return [_cut(craft, plant, case), _level_descent(craft, plant, case), _homing(craft, plant, case)]


def own_footprint(rows: list[Footprint]) -> Footprint:
    """The row of the craft's own choice."""
    return next(row for row in rows if row.own)


def _row(
    craft: Craft, plant: Any, case: Case, choice: str, nominal: Landing, spread: list[float], note: str
) -> Footprint:
    """The row of a choice: what the last sticks fly before it acts, and then `nominal`, or a distance of `spread`."""
    delay = float(craft.radio.failsafe_delay_s)
    ahead = case.speed_m_s * delay
    distances = [abs(ahead + one) for one in spread]
    speed = nominal.speed_m_s
    return Footprint(
        choice=choice,
        own=craft.radio.link_loss == choice,
        acts_after_s=delay,
        lands_after_s=delay + nominal.time_s,
        distance_m=abs(ahead + nominal.distance_m),
        spread_m=(min(distances), max(distances)),
        impact_speed_m_s=speed,
        impact_energy_J=0.5 * float(plant.mass) * speed**2,
        note=note,
    )


def _cut(craft: Craft, plant: Any, case: Case) -> Footprint:
    """A ballistic fall with the mean of the three drag areas, as of a craft that tumbles; spread over least and greatest area.

    Rotors whose ESC does not brake run down against their own torque, dw/dt = -q w^2/J, and push on for J/(q w0), tilted as in
    the flight.
    """
    areas = np.asarray(plant.drag_area)
    drag = level_drag(plant)

    def drop(wind: float, area: float) -> Landing:
        lift, push, run_down = last_thrust(plant, drag, case.speed_m_s - wind)
        body = Body(
            float(plant.mass), area, float(plant.air_density), float(plant.gravity), lift, push, run_down
        )
        return fall(case.height_m, case.speed_m_s, wind, body)

    mean = float(np.mean(areas))
    spread = [
        drop(side * case.wind_m_s, area).distance_m
        for side in WINDWARD
        for area in (float(np.min(areas)), mean, float(np.max(areas)))
    ]
    note = "motors off: falls, tumbling; may skid or break up beyond"
    return _row(craft, plant, case, "cut", drop(case.wind_m_s, mean), spread, note)


def last_thrust(plant: Any, drag: Callable[[float], float], through: float) -> tuple[float, float, float]:
    """Upward and forward thrust [N] in level flight at a speed through the air [m/s], and the time in which the rotors run down
    to half their speed [s]; nothing where the ESC brakes them."""
    hover = hover_balance(plant)
    if hover is None or plant.braking > 0.0:
        return 0.0, 0.0, 0.0
    _, torque = static_factors(plant)
    weight = float(plant.mass * plant.gravity)
    return (
        weight,
        math.copysign(drag(abs(through)), through),
        float(plant.rotor_inertia) / (torque * hover.rotor_speed),
    )


def _level_descent(craft: Craft, plant: Any, case: Case) -> Footprint:
    """Levelled, slowed by its drag to the speed of the wind, sinking as the guide lands; spread over how level it is and how much
    drag it has."""
    seconds = _time_down(craft, case.height_m)
    drag, off = level_drag(plant), float(plant.mass * plant.gravity) * math.tan(LEVEL_ERROR)

    def drift(wind: float, share: float, push: float) -> Landing:
        distance, last = coast(
            case.speed_m_s, wind, float(plant.mass), lambda v: share * drag(v), seconds, push
        )
        return Landing(seconds, distance, last, _gain(craft, "landing_rate"))

    spread = [
        drift(side * case.wind_m_s, share, push).distance_m
        for side in WINDWARD
        for share in DRAG_SHARES
        for push in (-off, off)
    ]
    note = f"sinks at {_gain(craft, 'sink_max'):g} m/s, the wind takes it along; motors off after touch-down"
    return _row(craft, plant, case, "level descent", drift(case.wind_m_s, 1.0, 0.0), spread, note)


def _homing(craft: Craft, plant: Any, case: Case) -> Footprint:
    """Back to the take-off point at a safe height, and down; a level descent without what it takes to find the way."""
    needed = ((craft.gnss, "satellite receiver"), (craft.compass, "compass"))
    lacking = [words for part, words in needed if part is None]
    if lacking:
        note = f"no {' and no '.join(lacking)}: comes to a level descent"
        return replace(_level_descent(craft, plant, case), choice="homing", own=False, note=note)
    delay = float(craft.radio.failsafe_delay_s)
    away = case.away_m + case.speed_m_s * delay
    top = max(case.height_m, _gain(craft, "homing_height"))
    seconds = (top - case.height_m) / _gain(craft, "climb_max") + away / _gain(craft, "homing_speed")
    seconds += _time_down(craft, top)
    near = float(craft.gnss.cep_m) if craft.gnss is not None else 0.0
    home = Landing(seconds, case.away_m - case.speed_m_s * delay, 0.0, _gain(craft, "landing_rate"))
    spread = [home.distance_m - 2.0 * near, home.distance_m + 2.0 * near]
    note = f"lands at the take-off point, {case.away_m:g} m away, if the fixes hold; a level descent where they fail"
    return _row(craft, plant, case, "homing", home, spread, note)


def _time_down(craft: Craft, height: float) -> float:
    return sinking_time(
        height, _gain(craft, "sink_max"), _gain(craft, "landing_rate"), _gain(craft, "landing_height"), _gain(craft, "height_p")
    )  # fmt: skip


def _gain(craft: Craft, name: str) -> float:
    """A gain of the shipped guides as this craft flies it."""
    stated = {str(slot): values for slot, values in craft.gains.items()}.get("guide", {})
    return float(stated.get(name, GuideGain[name.upper()].default))


def level_drag(plant: Any) -> Callable[[float], float]:
    """Drag [N] over the speed through the air [m/s] of the craft level in hover thrust: airframe, wakes, rotors' in-plane force.

    D = rho/2 A V^2 + 4 k sqrt(T) V + 4 rho n^2 D^4 CH(V/(n D)), with A the mean of the two areas along the rotors' plane.
    """
    hover = hover_balance(plant)
    density, area = float(plant.air_density), float(np.mean(np.asarray(plant.drag_area)[:2]))
    if hover is None:
        return lambda v: 0.5 * density * area * v * v
    n, diameter = hover.rotor_speed / (2.0 * math.pi), 2.0 * float(plant.rotor_radius)
    still = round(-AXIAL_MIN / AXIAL_STEP)
    ch = np.asarray(plant.rotor_map)[still, :, 2]
    steps = INPLANE_STEP * np.arange(N_INPLANE)
    wake = 4.0 * float(plant.slipstream_drag) * math.sqrt(hover.thrust)
    rotors = 4.0 * density * n**2 * diameter**4
    return lambda v: (
        0.5 * density * area * v * v + wake * v + rotors * float(np.interp(v / (n * diameter), steps, ch))
    )
