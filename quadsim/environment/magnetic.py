"""The Earth's magnetic field at a place: its components from strength, inclination and declination, and back.

Names and signs as in the World Magnetic Model (A. Chulliat et al., The US/UK World Magnetic Model for 2020-2025, NOAA, 2020,
sec. 1.2; from memory): X north, Y east, Z down; inclination positive below the horizon, declination positive east of north.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray


def field_vector(strength: float, inclination: float, declination: float) -> NDArray[np.float64]:
    """North, east, down (3,) in the unit of `strength`; angles [rad]. X = F cos I cos D, Y = F cos I sin D, Z = F sin I."""
    level = strength * math.cos(inclination)
    return np.array(
        [level * math.cos(declination), level * math.sin(declination), strength * math.sin(inclination)]
    )


def field_angles(north: float, east: float, down: float) -> tuple[float, float, float]:
    """Strength in the unit of the components, inclination and declination [rad]."""
    level = math.hypot(north, east)
    return math.hypot(level, down), math.atan2(down, level), math.atan2(east, north)
