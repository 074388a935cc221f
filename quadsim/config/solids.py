"""Handbook solids and their sum: mass, centre of mass and inertia tensor of a composite body.

Formulas: J. L. Meriam & L. G. Kraige, Engineering Mechanics: Dynamics, table D/4; parallel-axis theorem.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
AXES = {"forward": 0, "right": 1, "down": 2}


@dataclass(frozen=True)
class Solid:
    """A homogeneous solid, placed in body axes.

    shape : box, cylinder, rod, tube, disc or point
    size_m : as in the craft file: box (x, y, z), cylinder (diameter, length), rod (length,),
        tube (outer, inner diameter, length), disc (diameter,), point () [m]
    at_m : centre, forward-right-down from the frame's origin [m]
    yaw_rad : turn about the down axis [rad]
    axis : forward, right or down, before that turn
    """

    name: str
    shape: str
    mass_kg: float
    size_m: tuple[float, ...]
    at_m: tuple[float, float, float]
    yaw_rad: float = 0.0
    axis: str = "down"

    @property
    def extent_m(self) -> tuple[float, float, float]:
        """Box around the solid before its turn (x, y, z) [m]."""
        if self.shape == "box":
            return (self.size_m[0], self.size_m[1], self.size_m[2])
        match self.shape:
            case "cylinder":
                across, along = self.size_m
            case "tube":
                across, _, along = self.size_m
            case "rod":
                across, along = 0.0, self.size_m[0]
            case "disc":
                across, along = self.size_m[0], 0.0
            case _:
                across, along = 0.0, 0.0
        extent = [across] * 3
        extent[AXES[self.axis]] = along
        return (extent[0], extent[1], extent[2])

    def inertia(self) -> Array:
        """Inertia tensor about the solid's own centre, body axes (3, 3) [kg m2]."""
        c, s = math.cos(self.yaw_rad), math.sin(self.yaw_rad)
        turn = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
        tensor: Array = turn @ np.diag(self._principal()) @ turn.T
        return tensor

    def _principal(self) -> list[float]:
        m, size = self.mass_kg, self.size_m
        if self.shape == "box":
            x, y, z = (m * edge**2 / 12.0 for edge in size)
            return [y + z, x + z, x + y]
        match self.shape:
            case "cylinder":
                along, across = m * size[0] ** 2 / 8.0, m * (size[0] ** 2 / 16.0 + size[1] ** 2 / 12.0)
            case "tube":
                square = size[0] ** 2 + size[1] ** 2
                along, across = m * square / 8.0, m * (square / 16.0 + size[2] ** 2 / 12.0)
            case "rod":
                along, across = 0.0, m * size[0] ** 2 / 12.0
            case "disc":
                along, across = m * size[0] ** 2 / 8.0, m * size[0] ** 2 / 16.0
            case _:
                along, across = 0.0, 0.0
        principal = [across] * 3
        principal[AXES[self.axis]] = along
        return principal


def shifted(mass: float, offset: Array) -> Array:
    """Inertia (3, 3) that a mass gains about a point `offset` (3,) away from its centre: m (d.d 1 - d d^T)."""
    tensor: Array = mass * (float(offset @ offset) * np.eye(3) - np.outer(offset, offset))
    return tensor


def combine(solids: Iterable[Solid]) -> tuple[float, Array, Array]:
    """Mass [kg], centre of mass (3,) [m] and inertia about it (3, 3) [kg m2] of all solids together."""
    parts = list(solids)
    mass = sum(part.mass_kg for part in parts)
    centre = sum((part.mass_kg * np.array(part.at_m) for part in parts), np.zeros(3)) / mass
    inertia = sum(
        (part.inertia() + shifted(part.mass_kg, np.array(part.at_m) - centre) for part in parts),
        np.zeros((3, 3)),
    )
    return mass, centre, inertia
