"""Rotor forces in the flight loop: a bilinear patch of the rotor map, exact within its cell and free of division.

With T = rho n^2 D^4 CT(J, Jp), n = omega/(2 pi), J = v/(n D) and CT = a + b J + c Jp + d J Jp inside one cell,
    T = rho D^4/(4 pi^2) (a omega^2 + b' omega v + c' omega vp + d' v vp)
so a step needs one look-up for the cell, and every stage of the stepper a few products. The patch is the map itself
while the rotor stays in the cell, and extended beyond its edge until it is renewed.
"""

from __future__ import annotations

import math

from quadsim.dynamics.rotor_map import AXIAL_MAX, AXIAL_MIN, INPLANE_MAX, N_AXIAL, N_INPLANE
from quadsim.dynamics.state import X
from quadsim.jit import kernel

AXIAL_STEP = (AXIAL_MAX - AXIAL_MIN) / (N_AXIAL - 1)
INPLANE_STEP = INPLANE_MAX / (N_INPLANE - 1)
SLOWEST = 1.0
"""Rotor speed below which the advance ratio is taken as at this speed [rad/s]; assumed."""


@kernel(forceinline=True)
def hub_velocity(u, v, w, p, q, r, rx, ry, rz):
    """Velocity of a hub through the air: along x, y in the rotor plane and along the thrust [m/s]."""
    return u + q * rz - r * ry, v + r * rx - p * rz, -(w + p * ry - q * rx)


@kernel
def update_patch(i, omega, axial_speed, inplane_speed, held, plant):
    """Make row `i` of `held.patch` the map's patch around the present advance ratios of rotor `i`.

    The row holds a, b', c', d' of the thrust [N per rad2/s2 ...], then of the torque [N m ...], then one number: the drag
    in the rotor's plane per rotor speed and in-plane speed, which is close to constant and simply held. Density, size,
    installed loss and faults are in it. Outside the map the value at its edge is kept.
    """
    radius = plant.rotor_radius
    per_speed = math.pi / radius
    scale = per_speed / max(omega, SLOWEST)
    inplane = inplane_speed * scale
    across = min(max((axial_speed * scale - AXIAL_MIN) / AXIAL_STEP, 0.0), N_AXIAL - 1.0)
    along = min(inplane / INPLANE_STEP, N_INPLANE - 1.0)
    m = min(int(across), N_AXIAL - 2)
    n = min(int(along), N_INPLANE - 2)
    inside_axial = 1.0 if 0.0 < across < N_AXIAL - 1.0 else 0.0
    inside_inplane = 1.0 if along < N_INPLANE - 1.0 else 0.0
    force = plant.air_density * 4.0 * radius**4 / math.pi**2
    slope = _drag_slope(across - m, along - n, m, n, inplane, plant) * per_speed
    held.patch[i, 8] = -force * abs(held.thrust_factor[i]) * slope
    code = 4.0 * (m * N_INPLANE + n) + 2.0 * inside_axial + inside_inplane + 1.0
    if code == held.cell[i]:
        return
    held.cell[i] = code
    left, low = AXIAL_MIN + m * AXIAL_STEP, n * INPLANE_STEP
    for k in range(2):
        v00, v10 = plant.rotor_map[m, n, k], plant.rotor_map[m + 1, n, k]
        v01, v11 = plant.rotor_map[m, n + 1, k], plant.rotor_map[m + 1, n + 1, k]
        d = (v11 - v10 - v01 + v00) / (AXIAL_STEP * INPLANE_STEP)
        b = (v10 - v00) / AXIAL_STEP - d * low
        c = (v01 - v00) / INPLANE_STEP - d * left
        a = v00 - b * left - c * low - d * left * low
        if inside_axial == 0.0:
            edge = AXIAL_MIN + across * AXIAL_STEP
            a, b, c, d = a + b * edge, 0.0, c + d * edge, 0.0
        if inside_inplane == 0.0:
            a, b, c, d = a + c * INPLANE_MAX, b + d * INPLANE_MAX, 0.0, 0.0
        if k == 0:
            kept = (1.0 - plant.installed_loss) * (1.0 - plant.download[i])
            unit = force * kept * held.thrust_factor[i]
        else:
            unit = force * radius / math.pi * held.torque_factor[i]
        held.patch[i, 4 * k] = unit * a
        held.patch[i, 4 * k + 1] = unit * b * per_speed
        held.patch[i, 4 * k + 2] = unit * c * per_speed
        held.patch[i, 4 * k + 3] = unit * d * per_speed * per_speed


@kernel
def _drag_slope(a, b, m, n, inplane, plant):
    """CH over the in-plane advance ratio, at share a, b of cell m, n; CH is zero where that ratio is."""
    h0 = (1.0 - a) * plant.rotor_map[m, n, 2] + a * plant.rotor_map[m + 1, n, 2]
    h1 = (1.0 - a) * plant.rotor_map[m, n + 1, 2] + a * plant.rotor_map[m + 1, n + 1, 2]
    if n == 0:
        return h1 / INPLANE_STEP
    return ((1.0 - b) * h0 + b * h1) / inplane


@kernel
def update_patches(x, u, v, w, held, plant):
    """Refresh the patches of all rotors for body-axes airspeed u, v, w [m/s] at the hubs."""
    p, q, r = x[X.RATES], x[X.RATES + 1], x[X.RATES + 2]
    for i in range(4):
        hx, hy, axial = hub_velocity(
            u,
            v,
            w,
            p,
            q,
            r,
            plant.rotor_position[i, 0],
            plant.rotor_position[i, 1],
            plant.rotor_position[i, 2],
        )
        update_patch(i, x[X.ROTORS + i], axial, math.sqrt(hx * hx + hy * hy), held, plant)


@kernel(forceinline=True)
def rotor_forces(x, u, v, w, held, plant):
    """Forces and moments of the four rotors on the craft, and their angular momentum.

    Leaves each rotor's thrust [N] and aerodynamic torque [N m] in `held`.

    Returns
    -------
    Fx, Fy, Fz [N], Mx, My, Mz about the centre of mass [N m], H along body z [kg m2/s], all in body axes. The
    aerodynamic torque about the shaft is not in Mz: it acts on the rotor and reaches the body through the motor.
    """
    p, q, r = x[X.RATES], x[X.RATES + 1], x[X.RATES + 2]
    fx = fy = fz = mx = my = mz = turning = 0.0
    for i in range(4):
        rx, ry, rz = plant.rotor_position[i, 0], plant.rotor_position[i, 1], plant.rotor_position[i, 2]
        hx, hy, axial = hub_velocity(u, v, w, p, q, r, rx, ry, rz)
        inplane = math.sqrt(hx * hx + hy * hy)
        o = x[X.ROTORS + i]
        g = held.patch[i]
        thrust = o * (g[0] * o + g[1] * axial + g[2] * inplane) + g[3] * axial * inplane
        held.rotor_torque[i] = o * (g[4] * o + g[5] * axial + g[6] * inplane) + g[7] * axial * inplane
        held.thrust[i] = thrust
        drag = g[8] * o
        dx, dy = drag * hx, drag * hy
        fx += dx
        fy += dy
        fz -= thrust
        mx -= ry * thrust + rz * dy
        my += rz * dx + rx * thrust
        mz += rx * dy - ry * dx
        turning += held.turning[i] * o
    return fx, fy, fz, mx, my, mz, plant.rotor_inertia * turning
