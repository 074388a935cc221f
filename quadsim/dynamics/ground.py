"""Contact of four feet and four hubs with level ground: spring, damper and friction."""

from __future__ import annotations

import math

from quadsim.dynamics.state import X
from quadsim.jit import inner, kernel

REACH = 1.0
"""Height of the centre of mass above which no foot can touch [m]; `resolve` keeps feet within it."""
CREEP = 0.05
"""Speed over which friction builds up [m/s]; regularised Coulomb friction, assumed."""
DAMPER_DEPTH = 1e-3
"""Depth over which the damper comes in, so that the force has no jump at touch-down [m]; assumed."""


@kernel(forceinline=True)
def contact_force(depth, north, east, sink, stiffness, damping, friction):
    """Force of level ground on a point `depth` [m] below its plane that moves north, east, down [m/s]; world axes [N].

    A spring and a damper that can only push, and regularised Coulomb friction.
    """
    normal = max(stiffness * depth + damping * min(depth / DAMPER_DEPTH, 1.0) * sink, 0.0)
    grip = -friction * normal / max(math.sqrt(north * north + east * east), CREEP)
    return grip * north, grip * east, -normal


@inner
def ground_forces(x, r00, r01, r02, r10, r11, r12, r20, r21, r22, held, plant):
    """Force [N] and moment about the centre of mass [N m] of the ground on the craft, body axes.

    The arguments r00..r22 are the rotation matrix, body to world. The ground is the plane of zero height. Besides the feet
    the hubs of the rotors touch, so that a craft may lie on its side or back; they take the feet's stiffness (assumed).
    """
    p, q, r = x[X.RATES], x[X.RATES + 1], x[X.RATES + 2]
    fx = fy = fz = mx = my = mz = normal_sum = 0.0
    for k in range(8):
        n, hub = k % 4, k // 4
        a = plant.rotor_position[n, 0] if hub else plant.feet[n, 0]
        b = plant.rotor_position[n, 1] if hub else plant.feet[n, 1]
        c = plant.rotor_position[n, 2] if hub else plant.feet[n, 2]
        depth = x[X.POSITION + 2] + r20 * a + r21 * b + r22 * c
        if depth <= 0.0:
            continue
        du, dv, dw = q * c - r * b, r * a - p * c, p * b - q * a
        north = x[X.VELOCITY] + r00 * du + r01 * dv + r02 * dw
        east = x[X.VELOCITY + 1] + r10 * du + r11 * dv + r12 * dw
        sink = x[X.VELOCITY + 2] + r20 * du + r21 * dv + r22 * dw
        gx, gy, gz = contact_force(
            depth, north, east, sink, plant.contact_stiffness, plant.contact_damping, plant.friction
        )
        bx, by, bz = (
            r00 * gx + r10 * gy + r20 * gz,
            r01 * gx + r11 * gy + r21 * gz,
            r02 * gx + r12 * gy + r22 * gz,
        )
        fx, fy, fz = fx + bx, fy + by, fz + bz
        mx, my, mz = mx + b * bz - c * by, my + c * bx - a * bz, mz + a * by - b * bx
        normal_sum -= gz
    held.contact_force = normal_sum
    return fx, fy, fz, mx, my, mz


@kernel
def lowest_tip(x, plant, slowest):
    """Height of the lowest point of the rotor discs above the ground [m]; negative when a propeller strikes it.

    Rotors that turn slower than `slowest` [rad/s] do not count.
    """
    w, i, j, k = x[X.QUATERNION], x[X.QUATERNION + 1], x[X.QUATERNION + 2], x[X.QUATERNION + 3]
    r20, r21, r22 = 2.0 * (i * k - w * j), 2.0 * (j * k + w * i), 1.0 - 2.0 * (i * i + j * j)
    dip = plant.rotor_radius * math.sqrt(max(1.0 - r22 * r22, 0.0))
    lowest = 1e9
    for n in range(4):
        if abs(x[X.ROTORS + n]) < slowest:
            continue
        a, b, c = plant.rotor_position[n, 0], plant.rotor_position[n, 1], plant.rotor_position[n, 2]
        lowest = min(lowest, -(x[X.POSITION + 2] + r20 * a + r21 * b + r22 * c) - dip)
    return lowest


@inner
def body_upright(x):
    """Cosine of the tilt: 1 level, 0 on its side, -1 on its back."""
    return 1.0 - 2.0 * (x[X.QUATERNION + 1] ** 2 + x[X.QUATERNION + 2] ** 2)


@kernel
def kinetic_energy(x, plant):
    """Kinetic energy [J] of a craft: m V^2/2 + w.I w/2, the rotors' spin left out."""
    p, q, r = x[X.RATES], x[X.RATES + 1], x[X.RATES + 2]
    inertia = plant.inertia
    turning = inertia[0, 0] * p * p + inertia[1, 1] * q * q + inertia[2, 2] * r * r
    turning += 2.0 * (inertia[0, 1] * p * q + inertia[0, 2] * p * r + inertia[1, 2] * q * r)
    speed2 = x[X.VELOCITY] ** 2 + x[X.VELOCITY + 1] ** 2 + x[X.VELOCITY + 2] ** 2
    return 0.5 * (plant.mass * speed2 + turning)
