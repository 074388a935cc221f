"""Bifilar pendulum: the yaw inertia of a craft from the period of its swing on two wires."""

from __future__ import annotations

import math

from quadsim.constants import G0


def bifilar_inertia(mass: float, spacing: float, length: float, period: float, gravity: float = G0) -> float:
    """Moment of inertia about the vertical [kg m2]: I = m g b^2 T^2/(16 pi^2 L), small swings, parallel wires.

    mass m [kg]; spacing b of the wires, length L of the wires [m]; period T [s]; gravity g [m/s2].
    M. Jardin & E. Mueller, Optimized measurements of UAV mass moment of inertia with a bifilar pendulum, AIAA 2007-6822.
    """
    return mass * gravity * spacing**2 * period**2 / (16.0 * math.pi**2 * length)
