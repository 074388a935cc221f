"""A load on a line below the craft, or let go: a point mass with drag that can stand on the ground."""

from __future__ import annotations

import math

from quadsim.dynamics.ground import contact_force
from quadsim.dynamics.state import X
from quadsim.jit import inner, kernel

SHORTEST = 1e-6
"""Distance between hook and load below which the line's direction is not asked for [m]."""


@kernel(forceinline=True)
def no_load(dx):
    """The load's part of `dx` when there is none."""
    for n in range(3):
        dx[X.LOAD_POSITION + n] = dx[X.LOAD_VELOCITY + n] = 0.0


@inner
def load_forces(x, r00, r01, r02, r10, r11, r12, r20, r21, r22, held, plant, dx):
    """Force [N] and moment about the centre of mass [N m] of the line on the craft, body axes; the load's part of `dx`.

    The line is a one-sided spring and damper of unstretched length L, its mass shared half and half between its ends:
    N = max(k (d - L) + c dd/dt, 0) along the unit vector e from hook to load when d > L, else nothing. It pulls the craft
    with N e at the hook and the load with -N e. The load is a point mass with drag -rho/2 A |V| V.

    Reference: L. D. Landau & E. M. Lifshitz, Mechanics, 3rd ed. (1976), sec. 5, problem 2 (its stiff limit, a pendulum on a
    body that is free to move); a one-sided spring and damper for the line is common practice.
    """
    fn = fe = fd = hn = he = hd = 0.0
    held.line_tension = 0.0
    if plant.line_stiffness > 0.0:
        fn, fe, fd, hn, he, hd = line_forces(x, r00, r01, r02, r10, r11, r12, r20, r21, r22, held, plant)
    north, east, sink = x[X.LOAD_VELOCITY], x[X.LOAD_VELOCITY + 1], x[X.LOAD_VELOCITY + 2]
    dn, de, dd = drag(
        north - held.wind[0], east - held.wind[1], sink - held.wind[2], plant.load_drag_area, plant
    )
    gn = ge = gd = 0.0
    depth = x[X.LOAD_POSITION + 2] + plant.load_half_height
    if depth > 0.0:
        gn, ge, gd = contact_force(
            depth, north, east, sink, plant.load_stiffness, plant.load_damping, plant.friction
        )
    held.load_contact = -gd
    per_mass = 1.0 / plant.load_mass
    for n in range(3):
        dx[X.LOAD_POSITION + n] = x[X.LOAD_VELOCITY + n]
    dx[X.LOAD_VELOCITY] = (fn + dn + gn) * per_mass
    dx[X.LOAD_VELOCITY + 1] = (fe + de + ge) * per_mass
    dx[X.LOAD_VELOCITY + 2] = (fd + dd + gd) * per_mass + plant.gravity
    bx = r00 * hn + r10 * he + r20 * hd
    by = r01 * hn + r11 * he + r21 * hd
    bz = r02 * hn + r12 * he + r22 * hd
    a, b, c = plant.hook[0], plant.hook[1], plant.hook[2]
    return bx, by, bz, b * bz - c * by, c * bx - a * bz, a * by - b * bx


@kernel(forceinline=True)
def drag(north, east, down, area, plant):
    """Drag -rho/2 A |V| V [N] for an airspeed north, east, down [m/s] and a drag area [m2]; world axes."""
    pressure = -0.5 * plant.air_density * area * math.sqrt(north * north + east * east + down * down)
    return pressure * north, pressure * east, pressure * down


@inner(forceinline=True)
def line_forces(x, r00, r01, r02, r10, r11, r12, r20, r21, r22, held, plant):
    """Forces of the line on the load and on the hook, world axes [N]: tension, and half of the line's drag at each end.

    The drag of a line depends on the air's motion across it (cross-flow principle: S. F. Hoerner, Fluid-Dynamic Drag,
    1965, ch. 3), taken at its middle. Leaves the tension in `held`.
    """
    a, b, c = plant.hook[0], plant.hook[1], plant.hook[2]
    p, q, r = x[X.RATES], x[X.RATES + 1], x[X.RATES + 2]
    en = x[X.LOAD_POSITION] - x[X.POSITION] - (r00 * a + r01 * b + r02 * c)
    ee = x[X.LOAD_POSITION + 1] - x[X.POSITION + 1] - (r10 * a + r11 * b + r12 * c)
    ed = x[X.LOAD_POSITION + 2] - x[X.POSITION + 2] - (r20 * a + r21 * b + r22 * c)
    distance = max(math.sqrt(en * en + ee * ee + ed * ed), SHORTEST)
    per_distance = 1.0 / distance
    en, ee, ed = en * per_distance, ee * per_distance, ed * per_distance
    du, dv, dw = q * c - r * b, r * a - p * c, p * b - q * a
    hook_north = x[X.VELOCITY] + r00 * du + r01 * dv + r02 * dw
    hook_east = x[X.VELOCITY + 1] + r10 * du + r11 * dv + r12 * dw
    hook_sink = x[X.VELOCITY + 2] + r20 * du + r21 * dv + r22 * dw
    north, east, sink = x[X.LOAD_VELOCITY], x[X.LOAD_VELOCITY + 1], x[X.LOAD_VELOCITY + 2]
    stretch = distance - plant.line_length
    tension = 0.0
    if stretch > 0.0:
        lengthening = (north - hook_north) * en + (east - hook_east) * ee + (sink - hook_sink) * ed
        tension = max(plant.line_stiffness * stretch + plant.line_damping * lengthening, 0.0)
    held.line_tension = tension
    vn = 0.5 * (north + hook_north) - held.wind[0]
    ve = 0.5 * (east + hook_east) - held.wind[1]
    vd = 0.5 * (sink + hook_sink) - held.wind[2]
    along = vn * en + ve * ee + vd * ed
    dn, de, dd = drag(vn - along * en, ve - along * ee, vd - along * ed, 0.5 * plant.line_drag_area, plant)
    pn, pe, pd = tension * en, tension * ee, tension * ed
    return dn - pn, de - pe, dd - pd, dn + pn, de + pe, dd + pd


@kernel
def line_swing(x, r00, r01, r02, r10, r11, r12, r20, r21, r22, plant):
    """Angle of the line from the vertical [rad]: 0 straight down, pi straight up."""
    a, b, c = plant.hook[0], plant.hook[1], plant.hook[2]
    north = x[X.LOAD_POSITION] - x[X.POSITION] - (r00 * a + r01 * b + r02 * c)
    east = x[X.LOAD_POSITION + 1] - x[X.POSITION + 1] - (r10 * a + r11 * b + r12 * c)
    down = x[X.LOAD_POSITION + 2] - x[X.POSITION + 2] - (r20 * a + r21 * b + r22 * c)
    return math.atan2(math.sqrt(north * north + east * east), down)
