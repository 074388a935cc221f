"""How near the propellers come to each other and to everything else on the craft."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np

from quadsim.config import Craft
from quadsim.config.craft_solids import craft_solids, rotor_places
from quadsim.config.solids import Solid
from quadsim.dynamics.state import ROTOR_NAMES
from quadsim.units import INCH

HUB_SHARE = 0.25
"""Pieces centred within this share of the radius belong to the hub (motor, mount) and do not count; assumed."""


def disc_gap(craft: Craft) -> tuple[float, str]:
    """Least distance between the edges of two propeller discs [m], negative where they overlap, and which two."""
    radius = float(craft.propeller.diameter_in) * INCH / 2.0
    places = rotor_places(craft)
    gaps = []
    for (i, a), (j, b) in combinations(enumerate(places), 2):
        apart, rise = float(np.linalg.norm((a - b)[:2])) - 2.0 * radius, abs(float(a[2] - b[2]))
        gap = apart if rise == 0.0 else math.hypot(max(apart, 0.0), rise)
        gaps.append((gap, f"{ROTOR_NAMES[i]} and {ROTOR_NAMES[j]}".replace("_", " ")))
    return min(gaps)


def frame_gap(craft: Craft) -> tuple[float, str]:
    """Least distance from a propeller disc to a piece that is not of its hub [m], 0 where they touch, and which."""
    radius = float(craft.propeller.diameter_in) * INCH / 2.0
    gaps = [
        (_gap(place, radius, solid), f"{name} propeller and {solid.name}".replace("_", " "))
        for name, place in zip(ROTOR_NAMES, rotor_places(craft), strict=True)
        for solid in craft_solids(craft)
        if not solid.name.startswith("propeller ") and not _of_hub(place, radius, solid)
    ]
    return min(gaps)


def _of_hub(place: np.ndarray, radius: float, solid: Solid) -> bool:
    return math.hypot(solid.at_m[0] - place[0], solid.at_m[1] - place[1]) < HUB_SHARE * radius


def _gap(place: np.ndarray, radius: float, solid: Solid) -> float:
    """Distance from a thin level disc to the box around a solid, which may be turned about down."""
    offset = np.asarray(place) - np.asarray(solid.at_m)
    c, s = math.cos(solid.yaw_rad), math.sin(solid.yaw_rad)
    ahead, aside = abs(c * offset[0] + s * offset[1]), abs(c * offset[1] - s * offset[0])
    half = np.asarray(solid.extent_m) / 2.0
    level = math.hypot(max(ahead - half[0], 0.0), max(aside - half[1], 0.0)) - radius
    return math.hypot(max(level, 0.0), max(abs(float(offset[2])) - float(half[2]), 0.0))
