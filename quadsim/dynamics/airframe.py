"""Drag of the airframe: a drag area along each body axis, acting at one point."""

from __future__ import annotations

import math

from quadsim.jit import inner


@inner(forceinline=True)
def airframe_drag(u, v, w, p, q, r, plant):
    """Drag force [N] and moment about the centre of mass [N m], body axes, for airspeed u, v, w [m/s].

    F_i = -rho/2 A_i |V| V_i, with V at the drag centre. Quadratic drag with an area per axis is common practice for
    bluff bodies (S. F. Hoerner, Fluid-Dynamic Drag, 1965, ch. 3 gives the areas).
    """
    cx, cy, cz = plant.drag_centre[0], plant.drag_centre[1], plant.drag_centre[2]
    u, v, w = u + q * cz - r * cy, v + r * cx - p * cz, w + p * cy - q * cx
    pressure = -0.5 * plant.air_density * math.sqrt(u * u + v * v + w * w)
    fx, fy, fz = (
        pressure * plant.drag_area[0] * u,
        pressure * plant.drag_area[1] * v,
        pressure * plant.drag_area[2] * w,
    )
    return fx, fy, fz, cy * fz - cz * fy, cz * fx - cx * fz, cx * fy - cy * fx
