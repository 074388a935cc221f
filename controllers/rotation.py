"""Rotation formulas for control blocks: Hamilton quaternions, scalar first, body to world, written out in scalars.

References
----------
J. Diebel, Representing Attitude: Euler Angles, Unit Quaternions, and Rotation Vectors, Stanford University (2006),
sec. 6 (quaternions) and sec. 8 (sequence 3-2-1). ISO 1151-1 for the angles: heading, pitch, roll.
"""

from __future__ import annotations

import math

from controllers.contract import kernel
from controllers.filters import limit

SMALL_HALF_ANGLE_SQUARED = 2.5e-3
"""Below this the series of sine and cosine is exact to 2e-14 of the step (next term h^8/40320)."""

NEARLY_UNIT = 1e-6
"""Departure of a squared norm from one up to which a first-order correction is exact to 4e-13."""


@kernel
def multiply(a, b, c, d, e, f, g, h):
    """Product (a, b, c, d) * (e, f, g, h) of two quaternions."""
    return (
        a * e - b * f - c * g - d * h,
        a * f + b * e + c * h - d * g,
        a * g - b * h + c * e + d * f,
        a * h + b * g - c * f + d * e,
    )


@kernel
def down_in_body(w, x, y, z):
    """World's down axis seen from the body: the third row of the rotation matrix body to world."""
    return 2.0 * (x * z - w * y), 2.0 * (y * z + w * x), 1.0 - 2.0 * (x * x + y * y)


@kernel
def to_matrix(w, x, y, z):
    """Rotation matrix body to world of a unit quaternion, by rows."""
    return (
        1.0 - 2.0 * (y * y + z * z), 2.0 * (x * y - w * z), 2.0 * (x * z + w * y),
        2.0 * (x * y + w * z), 1.0 - 2.0 * (x * x + z * z), 2.0 * (y * z - w * x),
        2.0 * (x * z - w * y), 2.0 * (y * z + w * x), 1.0 - 2.0 * (x * x + y * y),
    )  # fmt: skip


@kernel
def from_euler(roll, pitch, yaw):
    """Quaternion of heading, then pitch, then roll [rad]."""
    cr, sr = math.cos(0.5 * roll), math.sin(0.5 * roll)
    cp, sp = math.cos(0.5 * pitch), math.sin(0.5 * pitch)
    cy, sy = math.cos(0.5 * yaw), math.sin(0.5 * yaw)
    return (
        cy * cp * cr + sy * sp * sr,
        cy * cp * sr - sy * sp * cr,
        cy * sp * cr + sy * cp * sr,
        sy * cp * cr - cy * sp * sr,
    )


@kernel
def heading(w, x, y, z):
    """Heading (yaw) of a quaternion [rad]."""
    return math.atan2(2.0 * (w * z + x * y), 1.0 - 2.0 * (y * y + z * z))


@kernel
def to_euler(w, x, y, z):
    """Roll, pitch, yaw [rad] of a unit quaternion; pitch within +-pi/2."""
    roll = math.atan2(2.0 * (w * x + y * z), 1.0 - 2.0 * (x * x + y * y))
    pitch = math.asin(limit(2.0 * (w * y - x * z), -1.0, 1.0))
    return roll, pitch, heading(w, x, y, z)


@kernel
def from_specific_force(fx, fy, fz, yaw):
    """Quaternion at rest from the specific force in body axes (forward, right, down), with the heading given [rad].

    At rest the specific force is gravity turned round: roll = atan2(-fy, -fz), pitch = atan2(fx, hypot(fy, fz)).
    """
    return from_euler(math.atan2(-fy, -fz), math.atan2(fx, math.sqrt(fy * fy + fz * fz)), yaw)


@kernel
def turn(w, x, y, z, p, q, r, dt):
    """Quaternion after `dt` [s] at constant body rates p, q, r [rad/s]: q exp(w dt / 2), exact, made unit again."""
    hx, hy, hz = 0.5 * dt * p, 0.5 * dt * q, 0.5 * dt * r
    square = hx * hx + hy * hy + hz * hz
    if square < SMALL_HALF_ANGLE_SQUARED:
        cosine = 1.0 - square * (0.5 - square * (1.0 / 24.0 - square / 720.0))
        ratio = 1.0 - square * (1.0 / 6.0 - square * (1.0 / 120.0 - square / 5040.0))
    else:
        half = math.sqrt(square)
        cosine, ratio = math.cos(half), math.sin(half) / half
    w, x, y, z = multiply(w, x, y, z, cosine, ratio * hx, ratio * hy, ratio * hz)
    excess = w * w + x * x + y * y + z * z - 1.0
    scale = (
        1.0 - 0.5 * excess
    )  # of 1/sqrt(1 + excess); what it leaves is of second order, and gone at the next step
    if abs(excess) > NEARLY_UNIT:
        if excess < 1e-12 - 1.0:
            return 1.0, 0.0, 0.0, 0.0
        scale = 1.0 / math.sqrt(1.0 + excess)
    return scale * w, scale * x, scale * y, scale * z


@kernel
def turn_in_world(w, x, y, z, north, east, down):
    """Quaternion turned by small angles [rad] about the world's axes: exp(theta/2) q to first order, made unit again."""
    w, x, y, z = multiply(1.0, 0.5 * north, 0.5 * east, 0.5 * down, w, x, y, z)
    scale = 1.0 / math.sqrt(w * w + x * x + y * y + z * z + 1e-300)
    return scale * w, scale * x, scale * y, scale * z


@kernel
def turn_heading(w, x, y, z, angle):
    """Quaternion turned by any angle [rad] about the world's down axis."""
    return multiply(math.cos(0.5 * angle), 0.0, 0.0, math.sin(0.5 * angle), w, x, y, z)


@kernel
def wrap(angle):
    """Angle brought within +-pi [rad]."""
    if -math.pi <= angle <= math.pi:
        return angle
    return angle - 2.0 * math.pi * math.floor((angle + math.pi) / (2.0 * math.pi))
