"""Rotor forces in the flight loop: a bilinear patch of the rotor map, exact within its cell and free of division.

With T = rho n^2 D^4 CT(J, Jp), n = omega/(2 pi), J = v/(n D) and CT = a + b J + c Jp + d J Jp inside one cell,
    T = rho D^4/(4 pi^2) (a omega^2 + b' omega v + c' omega vp + d' v vp)
so a step needs one look-up for the cell, and every stage of the stepper a few products. The patch is the map itself
while the rotor stays in the cell, and extended beyond its edge until it is renewed. What craft and ground do to the thrust is a
factor beside it, renewed as often.
"""

from __future__ import annotations

import math

from quadsim.dynamics.interference import thrust_gain
from quadsim.dynamics.rotor_map import AXIAL_MAX, AXIAL_MIN, INPLANE_MAX, N_AXIAL, N_CHANNELS, N_INPLANE
from quadsim.dynamics.state import X
from quadsim.jit import inner

AXIAL_STEP = (AXIAL_MAX - AXIAL_MIN) / (N_AXIAL - 1)
INPLANE_STEP = INPLANE_MAX / (N_INPLANE - 1)
SLOWEST = 1.0
"""Rotor speed below which the advance ratio is taken as at this speed [rad/s]; assumed."""
STILL = 1e-9
"""In-plane advance ratio below which a rotor counts as still there [-]; keeps a division finite."""
TREND_MOST = math.log(4.0)
"""Logarithm of the speed ratio up or down at which the map's trend with speed is held, as in RotorMap [-]."""


@inner(forceinline=True)
def hub_velocity(u, v, w, p, q, r, rx, ry, rz):
    """Velocity of a hub through the air: along x, y in the rotor plane and along the thrust [m/s]."""
    return u + q * rz - r * ry, v + r * rx - p * rz, -(w + p * ry - q * rx)


@inner(forceinline=True)
def update_patch(i, omega, axial_speed, inplane_speed, held, plant):
    """Make column `i` of `held.patch` the map's patch around the present advance ratios of rotor `i`.

    The column holds a, b', c', d' of the free rotor's thrust [N per rad2/s2 ...] (its gain comes in later), then of the torque
    [N m ...], then three numbers per rotor speed and in-plane speed: the drag in the rotor's plane and the hub moments along and
    across the motion, which are close to constant and simply held; last what the trend with speed adds to a of thrust and torque
    per rotor speed. Density, size and faults are in it. Outside the map the value at its edge is kept.
    """
    per_speed = math.pi / plant.rotor_radius
    per_omega = 1.0 / max(omega, SLOWEST)
    scale = per_speed * per_omega
    across = min(max((axial_speed * scale - AXIAL_MIN) / AXIAL_STEP, 0.0), N_AXIAL - 1.0)
    along = min(inplane_speed * scale / INPLANE_STEP, N_INPLANE - 1.0)
    m = min(int(across), N_AXIAL - 2)
    n = min(int(along), N_INPLANE - 2)
    inside_axial = 1.0 if 0.0 < across < N_AXIAL - 1.0 else 0.0
    inside_inplane = 1.0 if along < N_INPLANE - 1.0 else 0.0
    code = 4.0 * (m * N_INPLANE + n) + 2.0 * inside_axial + inside_inplane + 1.0
    if code != held.cell[i]:
        held.cell[i] = code
        _enter_cell(
            i, m, n, across, inside_axial, inside_inplane, plant.rotor_map, held.cell_patch, held, plant
        )
        _enter_cell(
            i, m, n, across, inside_axial, inside_inplane, plant.rotor_trend, held.cell_trend, held, plant
        )
    trend = math.log(max(omega, SLOWEST) / max(plant.map_speed, SLOWEST))
    trend = min(max(trend, -TREND_MOST), TREND_MOST)
    patch, cell, slope = held.patch, held.cell_patch[i], held.cell_trend[i]
    for k in range(8):
        patch[k, i] = cell[k] + trend * slope[k]
    for k in range(2):  # while the patch is held, ln(omega) goes on along its tangent
        patch[4 * k, i] -= slope[4 * k]
        patch[11 + k, i] = slope[4 * k] * per_omega
    axial = AXIAL_MIN + across * AXIAL_STEP
    per_ratio = 1.0 / max(inplane_speed * scale, STILL)
    for k in range(3):
        j = 8 + 4 * k
        flat = cell[j] + trend * slope[j] + axial * (cell[j + 1] + trend * slope[j + 1])
        steep = cell[j + 2] + trend * slope[j + 2] + axial * (cell[j + 3] + trend * slope[j + 3])
        patch[8 + k, i] = flat * per_ratio + steep


@inner
def _enter_cell(i, m, n, across, inside_axial, inside_inplane, grid, into, held, plant):
    """Bilinear forms of `grid` in cell m, n for rotor `i`, into its row of `into`.

    Of CT and CP as a, b', c', d' for speeds in m/s; of CH, CMR and CMP as a, b, c, d of a + b J + c Jp + d J Jp, for the force
    and moments per rotor speed and in-plane speed. The latter three are zero where Jp is, so a and b vanish in the first cell.
    """
    radius = plant.rotor_radius
    per_speed = math.pi / radius
    force = plant.air_density * 4.0 * radius**4 / math.pi**2
    aside = force * per_speed * abs(held.thrust_factor[i])
    left, low = AXIAL_MIN + m * AXIAL_STEP, n * INPLANE_STEP
    for k in range(N_CHANNELS):
        v00, v10, v01, v11 = grid[m, n, k], grid[m + 1, n, k], grid[m, n + 1, k], grid[m + 1, n + 1, k]
        d = (v11 - v10 - v01 + v00) / (AXIAL_STEP * INPLANE_STEP)
        b = (v10 - v00) / AXIAL_STEP - d * low
        c = (v01 - v00) / INPLANE_STEP - d * left
        a = v00 - b * left - c * low - d * left * low
        if inside_axial == 0.0:
            edge = AXIAL_MIN + across * AXIAL_STEP
            a, b, c, d = a + b * edge, 0.0, c + d * edge, 0.0
        if inside_inplane == 0.0:
            a, b, c, d = a + c * INPLANE_MAX, b + d * INPLANE_MAX, 0.0, 0.0
        unit, speed = aside * 2.0 * radius, 1.0
        if k == 0:
            unit, speed = force * held.thrust_factor[i], per_speed
        elif k == 1:
            unit, speed = force * radius / math.pi * held.torque_factor[i], per_speed
        elif k == 2:
            unit = -aside
        into[i, 4 * k] = unit * a
        into[i, 4 * k + 1] = unit * b * speed
        into[i, 4 * k + 2] = unit * c * speed
        into[i, 4 * k + 3] = unit * d * speed * speed


@inner
def update_rotors(x, u, v, w, r20, r21, r22, ahead, held, plant):
    """Refresh what is held of all rotors: patches, thrust gains and slipstream drag.

    u, v, w : airspeed, body axes [m/s]; r20, r21, r22 : last row of the rotation matrix, body to world
    ahead : how far ahead, in times between two refreshes, what is held is taken [-]: 0.5 is the middle of the time it is held
        for, along the line through this refresh and the last; 0 is now
    """
    p, q, r = x[X.RATES], x[X.RATES + 1], x[X.RATES + 2]
    for i in range(4):
        rx, ry, rz = plant.rotor_position[i, 0], plant.rotor_position[i, 1], plant.rotor_position[i, 2]
        hx, hy, axial = hub_velocity(u, v, w, p, q, r, rx, ry, rz)
        inplane, o = math.sqrt(hx * hx + hy * hy), x[X.ROTORS + i]
        before, step = held.flow[i], ahead if held.cell[i] > 0.0 else 0.0
        da, di, do = axial - before[0], inplane - before[1], o - before[2]
        before[0], before[1], before[2] = axial, inplane, o
        if step > 0.0:
            axial, inplane, o = axial + step * da, max(inplane + step * di, 0.0), max(o + step * do, 0.0)
        update_patch(i, o, axial, inplane, held, plant)
        g = held.patch
        free = o * ((g[0, i] + g[11, i] * o) * o + g[1, i] * axial + g[2, i] * inplane)
        free += g[3, i] * axial * inplane
        height = -(x[X.POSITION + 2] + r20 * rx + r21 * ry + r22 * rz)
        gain = thrust_gain(free, axial, inplane, height, r22, plant) * (1.0 - plant.download[i])
        for k in range(4):
            g[k, i] *= gain
        g[11, i] *= gain
        held.thrust_gain[i] = gain
        held.slipstream[i] = plant.slipstream_drag * math.sqrt(max(free, 0.0))


@inner(forceinline=True)
def patch_value(a, trend, b, c, d, omega, axial, inplane):
    """Thrust [N] or aerodynamic torque [N m] of a rotor from its numbers of the patch, see `update_patch`."""
    return omega * ((a + trend * omega) * omega + b * axial + c * inplane) + d * axial * inplane


@inner(forceinline=True)
def rotor_moment(dx, dy, thrust, hx, hy, along, across, rx, ry, rz):
    """Moment about the centre of mass [N m], body axes, of a hub's force and of its own moments along and across its motion.

    The aerodynamic torque about the shaft is not in it: it acts on the rotor and reaches the body through the motor.
    """
    mx = along * hx - across * hy - ry * thrust - rz * dy
    my = along * hy + across * hx + rz * dx + rx * thrust
    return mx, my, rx * dy - ry * dx
