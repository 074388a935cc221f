"""How far a craft may come that fails at its fastest, and with what energy: for the distance of whoever watches.

    distance = farthest fall + speed x reaction

The fall begins at the greatest height and speed of the flight and at the worst angle, with the wind behind it and motors off; the
reaction is the straight flight until somebody cuts them. Vacuum, from a height h at the best angle: R = v/g sqrt(v^2 + 2 g h)
(elementary mechanics); the tests compare with it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from quadsim.analysis.falling import Body, Landing, fall
from quadsim.analysis.footprint import last_thrust, level_drag
from quadsim.config import Craft, resolve_plant
from quadsim.constants import G0
from quadsim.environment.atmosphere import Site

REACTION_S = 1.0
"""From the failure to the cut of the motors [s]; assumed."""
ANGLES_DEG = tuple(range(-10, 61, 5))
"""Angles over the level at which the craft may fly when it fails [deg]."""


@dataclass(frozen=True)
class Throw:
    """The worst of all falls, over flat ground.

    height_m, speed_m_s, wind_m_s : it begins with; angle_deg : over the level, the one that goes farthest
    range_m : of the fall; reaction_m : flown on before it
    impact_speed_m_s, impact_energy_J : greatest of all falls, or of the flight itself
    """

    height_m: float
    speed_m_s: float
    wind_m_s: float
    angle_deg: float
    range_m: float
    reaction_m: float
    impact_speed_m_s: float
    impact_energy_J: float

    @property
    def distance_m(self) -> float:
        """From where it fails to where it may come down [m]."""
        return self.range_m + self.reaction_m


def dive_speed(level: float, height: float, wind: float) -> float:
    """Speed over ground [m/s] to reckon with where no planned lap says it: v = sqrt(v_level^2 + 2 g h) + wind.

    level : top level airspeed [m/s]; height : of the dive [m]; wind : from behind [m/s]. What drag takes in the dive is left in.
    It is no strict bound: diving, a craft need not carry itself and may push on. Three laps planned for Siskin stayed below it.
    """
    return math.sqrt(level**2 + 2.0 * G0 * height) + wind


def worst_throw(craft: Craft, site: Site, height_m: float, speed_m_s: float, wind_m_s: float) -> Throw:
    """The throw of a craft from a height, at a speed over ground, with a wind from behind; over all angles and its drag areas."""
    plant = resolve_plant(craft, site)
    areas = np.asarray(plant.drag_area)
    found = [
        (angle, _fall(plant, area, height_m, speed_m_s, wind_m_s, float(np.radians(angle))))
        for angle in ANGLES_DEG
        for area in (float(np.min(areas)), float(np.max(areas)))
    ]
    angle, far = max(found, key=lambda one: one[1].distance_m)
    impact = max(
        speed_m_s, *(landing.speed_m_s for _, landing in found)
    )  # it may also fly straight into something
    return Throw(
        height_m=height_m,
        speed_m_s=speed_m_s,
        wind_m_s=wind_m_s,
        angle_deg=float(angle),
        range_m=far.distance_m,
        reaction_m=speed_m_s * REACTION_S,
        impact_speed_m_s=impact,
        impact_energy_J=0.5 * float(plant.mass) * impact**2,
    )


def _fall(plant: Any, area: float, height: float, speed: float, wind: float, angle: float) -> Landing:
    """A fall at one angle; rotors that no ESC brakes run down and push on as in level flight (`footprint`)."""
    forward, climb = speed * float(np.cos(angle)), speed * float(np.sin(angle))
    lift, push, run_down = last_thrust(plant, level_drag(plant), forward - wind)
    body = Body(float(plant.mass), area, float(plant.air_density), float(plant.gravity), lift, push, run_down)
    return fall(height, forward, wind, body, climb)
