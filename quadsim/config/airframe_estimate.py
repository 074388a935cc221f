"""Drag areas and landing feet from the parts, for builders who have not measured them."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from quadsim.config.craft_schema import Craft
from quadsim.config.craft_solids import rotor_places
from quadsim.config.mass_properties import Load
from quadsim.config.solids import Solid
from quadsim.dynamics.state import ROTOR_NAMES
from quadsim.units import MM

Array = NDArray[np.float64]

BLUFF = 1.05
"""Drag coefficient of a cube, face on [-]. S. F. Hoerner, Fluid-Dynamic Drag (1965), ch. 3 (from memory)."""
SHELTER = 0.6
"""Share of the parts' summed frontal areas that the air meets, the rest lies behind other parts [-]; assumed."""


def drag_estimate(craft: Craft, solids: Sequence[Solid]) -> tuple[Array, Array]:
    """Drag area (3,) [m2] and its centre (3,) from the frame's origin [m]: as stated, or from the parts' boxes.

    Propellers are left out: their drag is the rotor map's.
    """
    faces, places = [], []
    for solid in solids:
        if not solid.name.startswith("propeller "):
            x, y, z = _turned_extent(solid)
            faces.append((y * z, x * z, x * y))
            places.append(solid.at_m)
    areas, centres = np.array(faces), np.array(places)
    weight = areas.sum(axis=1)
    area = BLUFF * SHELTER * areas.sum(axis=0)
    centre = weight @ centres / weight.sum() if weight.sum() > 0.0 else np.zeros(3)
    if craft.drag.area_cm2 is not None:
        area = np.array(craft.drag.area_cm2) * 1e-4
    if craft.drag.centre_mm is not None:
        centre = np.array(craft.drag.centre_mm) * MM
    return area, centre


def with_loads(area: Array, centre: Array, loads: Sequence[Load]) -> tuple[Array, Array]:
    """Drag area [m2] and centre [m] of a craft with rigid loads: areas add up, the centre is their weighted mean."""
    for load in loads:
        x, y, z = np.asarray(load.size_m, float)
        own = BLUFF * np.array([y * z, x * z, x * y])
        if load.drag_area_m2 is not None:
            own = np.full(3, load.drag_area_m2)
        weight, added = area.sum(), own.sum()
        if weight + added > 0.0:
            centre = (weight * centre + added * np.asarray(load.at_m)) / (weight + added)
        area = area + own
    return area, centre


def contact_points(feet: Array, loads: Sequence[Load]) -> Array:
    """What the craft stands on (4, 3) [m]: its feet, or the lower corners of a box that reaches below them.

    The ground's contact has four points, so with such a box the feet no longer count, nor does the box above them.
    """
    for load in loads:
        half, middle = np.asarray(load.size_m, float) / 2.0, np.asarray(load.at_m, float)
        if half[2] > 0.0 and middle[2] + half[2] > np.max(feet[:, 2]):
            feet = middle + half * np.array([[1, 1, 1], [-1, 1, 1], [-1, -1, 1], [1, -1, 1]])
    return feet


def feet_estimate(craft: Craft, solids: Sequence[Solid]) -> Array:
    """Feet (4, 3) from the frame's origin [m]: as stated, or under the rotors, level with the lowest part."""
    if craft.landing.feet_mm is not None:
        return np.array([getattr(craft.landing.feet_mm, name) for name in ROTOR_NAMES]) * MM
    feet = rotor_places(craft).copy()
    feet[:, 2] = max(solid.at_m[2] + solid.extent_m[2] / 2.0 for solid in solids)
    return feet


def _turned_extent(solid: Solid) -> tuple[float, float, float]:
    """Box, along body axes, around a solid turned about down [m]."""
    x, y, z = solid.extent_m
    c, s = abs(math.cos(solid.yaw_rad)), abs(math.sin(solid.yaw_rad))
    return c * x + s * y, s * x + c * y, z
