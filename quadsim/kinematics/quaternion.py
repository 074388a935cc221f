"""Unit quaternions, Hamilton convention, scalar first, body to world.

Reference: M. D. Shuster, A Survey of Attitude Representations, J. Astronautical Sciences 41(4), 1993, 439-517.
"""

from __future__ import annotations

import math

from quadsim.jit import kernel


@kernel(forceinline=True)
def rotation_matrix(w, x, y, z):
    """Rotation matrix of a unit quaternion, row by row: nine numbers, world = R body."""
    xx, yy, zz = x * x, y * y, z * z
    xy, xz, yz = x * y, x * z, y * z
    wx, wy, wz = w * x, w * y, w * z
    return (
        1.0 - 2.0 * (yy + zz), 2.0 * (xy - wz), 2.0 * (xz + wy),
        2.0 * (xy + wz), 1.0 - 2.0 * (xx + zz), 2.0 * (yz - wx),
        2.0 * (xz - wy), 2.0 * (yz + wx), 1.0 - 2.0 * (xx + yy),
    )  # fmt: skip


@kernel(forceinline=True)
def quaternion_rate(w, x, y, z, p, q, r):
    """Time derivative of the attitude for body rates p, q, r [rad/s]: dq/dt = q (0, omega) / 2."""
    return (
        -0.5 * (x * p + y * q + z * r),
        0.5 * (w * p + y * r - z * q),
        0.5 * (w * q + z * p - x * r),
        0.5 * (w * r + x * q - y * p),
    )


@kernel
def renormalise(x, first):
    """Bring the four elements of `x` from `first` on, nearly of unit length, back to it, in place.

    One Newton step for 1/sqrt(s) about s = 1: an error of e in the length becomes 1.5 e^2.
    """
    s = x[first] ** 2 + x[first + 1] ** 2 + x[first + 2] ** 2 + x[first + 3] ** 2
    scale = 1.5 - 0.5 * s
    for k in range(first, first + 4):
        x[k] *= scale


@kernel
def from_euler(roll, pitch, yaw):
    """Quaternion of the yaw-pitch-roll (z, y, x) sequence [rad], ISO 1151-1."""
    cr, sr = math.cos(0.5 * roll), math.sin(0.5 * roll)
    cp, sp = math.cos(0.5 * pitch), math.sin(0.5 * pitch)
    cy, sy = math.cos(0.5 * yaw), math.sin(0.5 * yaw)
    return (
        cr * cp * cy + sr * sp * sy,
        sr * cp * cy - cr * sp * sy,
        cr * sp * cy + sr * cp * sy,
        cr * cp * sy - sr * sp * cy,
    )


@kernel
def to_euler(w, x, y, z):
    """Roll, pitch, yaw [rad] of a unit quaternion (z, y, x sequence); pitch within +-pi/2."""
    sine = max(-1.0, min(1.0, 2.0 * (w * y - z * x)))
    return (
        math.atan2(2.0 * (w * x + y * z), 1.0 - 2.0 * (x * x + y * y)),
        math.asin(sine),
        math.atan2(2.0 * (w * z + x * y), 1.0 - 2.0 * (y * y + z * z)),
    )
