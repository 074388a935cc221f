"""Satellite receiver: position and velocity of its antenna at a low rate, late, with an error that wanders.

The error of a fix has a white part and a slow one, a first-order Gauss-Markov process with a correlation time of minutes
(R. G. Brown & P. Y. C. Hwang, Introduction to Random Signals and Applied Kalman Filtering, 3rd ed., sec. 2.9; from memory).
The controller takes its first fix for the take-off point, so of the slow part only the change since then is seen.
"""

from __future__ import annotations

import math

from quadsim.dynamics.state import X
from quadsim.jit import inner, kernel
from quadsim.kinematics.quaternion import rotation_matrix
from quadsim.noise import gauss, sample_key
from quadsim.sensors.place_records import Slow

CHANNEL = 128
"""First channel: slow part, white part, velocity, three each."""


@inner
def sample_satellite(count, slot, tick, x, sensors, carried):
    """Fix number `count`, into the delay line; none while the receiver searches or has lost the satellites."""
    key = sample_key(carried.key, count)
    wander(count, key, sensors, carried)
    if carried.gnss_lost > 0.0 or tick < sensors.gnss_first_fix:
        carried.slow_line[Slow.SATELLITE, slot, 0] = math.nan
        return
    if carried.gnss_found == 0.0:
        carried.gnss_found = 1.0
        for k in range(3):
            carried.gnss_home[k] = carried.gnss_error[k]
    r00, r01, r02, r10, r11, r12, r20, r21, r22 = rotation_matrix(
        x[X.QUATERNION], x[X.QUATERNION + 1], x[X.QUATERNION + 2], x[X.QUATERNION + 3]
    )
    a, b, c = sensors.gnss_place[0], sensors.gnss_place[1], sensors.gnss_place[2]
    p, q, r = x[X.RATES], x[X.RATES + 1], x[X.RATES + 2]
    u, v, w = q * c - r * b, r * a - p * c, p * b - q * a
    put(0, slot, key, r00 * a + r01 * b + r02 * c, r00 * u + r01 * v + r02 * w, x, sensors, carried)
    put(1, slot, key, r10 * a + r11 * b + r12 * c, r10 * u + r11 * v + r12 * w, x, sensors, carried)
    put(2, slot, key, r20 * a + r21 * b + r22 * c, r20 * u + r21 * v + r22 * w, x, sensors, carried)


@kernel
def wander(count, key, sensors, carried):
    """The slow part of the error goes on by one fix, exactly: e' = k e + sigma sqrt(1 - k^2) n; at the first it is drawn."""
    keep = sensors.gnss_keep if count > 0 else 0.0
    fresh = math.sqrt(1.0 - keep * keep)
    for k in range(3):
        sigma = sensors.gnss_wander[k // 2]
        carried.gnss_error[k] = keep * carried.gnss_error[k] + fresh * sigma * gauss(key, CHANNEL + k)


@inner
def put(axis, slot, key, arm, swing, x, sensors, carried):
    """One axis of a fix: the antenna's place and velocity (`arm` [m] and `swing` [m/s] from the centre of mass) with errors."""
    white = sensors.gnss_white[axis // 2] * gauss(key, CHANNEL + 3 + axis)
    slow = carried.gnss_error[axis] - carried.gnss_home[axis]
    noise = sensors.gnss_speed_noise * gauss(key, CHANNEL + 6 + axis)
    carried.slow_line[Slow.SATELLITE, slot, axis] = x[X.POSITION + axis] + arm + slow + white
    carried.slow_line[Slow.SATELLITE, slot, 3 + axis] = x[X.VELOCITY + axis] + swing + noise


@inner
def give_satellite(slot, carried, signals):
    """Hand a fix to the controller, or the word that there is none."""
    if math.isnan(carried.slow_line[Slow.SATELLITE, slot, 0]):
        signals.gnss_fix = 0.0
        return
    signals.gnss_fix = 1.0
    signals.gnss_count += 1.0
    for k in range(3):
        signals.gnss_position[k] = carried.slow_line[Slow.SATELLITE, slot, k]
        signals.gnss_velocity[k] = carried.slow_line[Slow.SATELLITE, slot, 3 + k]
