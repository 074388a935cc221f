"""Drag of what the rotors' wakes blow at: arms and motors in a stream far faster than the craft.

In the wake of speed w a part of drag area S that moves across it at v meets the air at sqrt(w^2 + v^2); the side force is
rho/2 S sqrt(w^2 + v^2) v. The part rho/2 S v^2 is in the airframe's drag; rho/2 S w v, which grows with rotor speed, is this one.
With w in proportion to v_i = sqrt(T/(2 rho A)) it is k sqrt(T) v, the form that fits a measured quadrotor's drag in wind over
rotor speed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from quadsim.config.airframe_estimate import BLUFF
from quadsim.config.craft_schema import Craft
from quadsim.config.craft_solids import rotor_places
from quadsim.config.solids import Solid
from quadsim.units import INCH

Array = NDArray[np.float64]

WAKE_SPEED = 1.5
"""Speed of the wake at the arms over the induced velocity [-]: 1 in the disc, 2 far behind (Leishman, Principles of
Helicopter Aerodynamics, 2nd ed., ch. 2); between them assumed."""
_POINTS = np.linspace(-0.5, 0.5, 21)


def slipstream_drag(craft: Craft, solids: Sequence[Solid], density: float) -> float:
    """k of the force k sqrt(thrust) v on one rotor's share of the craft [N s/m per sqrt(N)]; density of the air [kg/m3]."""
    radius = craft.propeller.diameter_in * INCH / 2.0
    stated = craft.drag.slipstream_cm2
    area = slipstream_area(craft, solids) if stated is None else stated * 1e-4
    return 0.5 * density * area * WAKE_SPEED * math.sqrt(1.0 / (2.0 * density * math.pi * radius**2))


def slipstream_area(craft: Craft, solids: Sequence[Solid]) -> float:
    """Drag coefficient times side area of what lies in one wake [m2], a fourth of all four."""
    hubs, radius = rotor_places(craft), craft.propeller.diameter_in * INCH / 2.0
    area = 0.0
    for solid in solids:
        if solid.name.startswith("propeller "):
            continue
        x, y, z = solid.extent_m
        area += 0.5 * (x + y) * z * _share_in_wake(solid, hubs, radius)
    return BLUFF * area / 4.0


def _share_in_wake(solid: Solid, hubs: Array, radius: float) -> float:
    """Share of a solid's longer side that lies below a disc."""
    x, y, _ = solid.extent_m
    heading = solid.yaw_rad if x >= y else solid.yaw_rad + math.pi / 2.0
    along = max(x, y) * _POINTS
    north, east = solid.at_m[0] + along * math.cos(heading), solid.at_m[1] + along * math.sin(heading)
    inside = np.zeros(_POINTS.size, dtype=bool)
    for hub in hubs:
        if solid.at_m[2] > hub[2]:
            inside |= np.hypot(north - hub[0], east - hub[1]) <= radius
    return float(inside.mean())
