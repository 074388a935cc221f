"""Estimate: attitude, body rates, height and climb rate from gyroscope, accelerometer and barometer; heading from a compass
and place from a satellite receiver where the craft carries them, by fixed gains (`place_observer`), enough to hold a place.

References
----------
R. Mahony, T. Hamel, J.-M. Pflimlin, Nonlinear Complementary Filters on the Special Orthogonal Group,
IEEE Trans. Automatic Control 53(5), 2008, doi 10.1109/TAC.2008.923738 (explicit form with bias estimate).
Third-order blend of vertical acceleration and pressure height: common practice, no source.
"""

from __future__ import annotations

import math
from enum import IntEnum

from controllers.contract import Gains, block, inner
from controllers.filters import at_least, first_order_share, limit
from controllers.place_observer import follow_compass, move, spread_of_place, take_fix
from controllers.rate_filter import KEPT, filter_rates
from controllers.rotation import down_in_body, from_specific_force, turn

G0 = 9.80665
"""Standard acceleration of gravity [m/s2], 3rd CGPM (1901)."""

BIAS_LIMIT = 0.2
"""Greatest gyro bias believed [rad/s]; assumed, ten times a poor sensor's."""

STILL_RATE = 0.15
"""On the ground the craft counts as still below this rate [rad/s]; assumed."""

STILL_THRUST = 0.2
"""And while less thrust than this share of the weight is asked for: the take-off ramp begins above it, and what the craft
turns by as its feet let go is no bias of the gyroscope (it once became 2 deg/s of it). Assumed."""


class EstimateGain(Gains):
    """Defaults: weak trust in the accelerometer, which in free flight sees thrust and drag only; common practice."""

    TILT_P = 0, "1/s", 0.15, 0.0, 10.0
    """Correction of the tilt per radian seen by the accelerometer."""
    BIAS_I = 1, "1/s2", 0.003, 0.0, 5.0
    """Growth of the bias estimate per radian; TILT_P^2/4 is half of critical damping's 1/2: no overshoot."""
    ACCEL_TRUST = 2, "m/s2", 0.8, 0.05, 50.0
    """Departure of the specific force from gravity at which the accelerometer is no longer trusted at all:
    a bank of 0.4 rad held without drag."""
    GROUND_FACTOR = 3, "-", 10.0, 1.0, 50.0
    """TILT_P times this while still on the ground."""
    GYRO_CUTOFF = 4, "Hz", 150.0, 0.0, 2000.0
    """Second-order low-pass on the rates handed on; 0 for none."""
    HEIGHT_P = 5, "1/s", 3.0, 0.0, 20.0
    """Third-order blend: with 3 w, 3 w^2, w^3 all poles lie at w = 1 rad/s."""
    CLIMB_P = 6, "1/s2", 3.0, 0.0, 100.0
    ACCEL_BIAS_I = 7, "1/s3", 1.0, 0.0, 100.0
    GROUND_CUTOFF = 8, "Hz", 0.3, 0.0, 5.0
    """Low-pass by which the gyro's mean becomes its bias while still on the ground."""
    NOTCH_Q = 9, "-", 0.0, 0.0, 50.0
    """Quality of a notch at each rotor's speed: 3 takes a third of that frequency out; 0 for none."""
    NOTCH_LOWEST = 10, "Hz", 60.0, 5.0, 1000.0
    """Rotor speed below which its notch rests: it would cost phase where control needs it."""
    HEADING_P = 11, "1/s", 0.3, 0.0, 10.0
    """Correction of the heading per radian that the compass shows; 0 without its use."""
    PLACE_SHARE = 12, "-", 0.1, 0.0, 1.0
    """Of a fix's place that is taken over at once. Small: a fix wanders less than it jumps."""
    VELOCITY_SHARE = 13, "-", 0.4, 0.0, 1.0
    """Of a fix's velocity that is taken over at once."""
    FIX_AGE = 14, "s", 5.0, 0.5, 600.0
    """Without a fix for so long, the place counts as unknown."""


class Memory(IntEnum):
    """What is kept between runs."""

    READY = 0
    BIAS = 1
    """Gyro bias, 3."""
    ACCEL_BIAS = 4
    TURN = 5
    """Corrected rate by which the attitude turns, 3."""
    MAG_COUNT = 8
    MAG_SINCE = 9
    GNSS_COUNT = 10
    GNSS_SINCE = 11
    """Samples seen, and time since the last [s]."""
    RATE_FILTER = 12
    """What `filter_rates` keeps."""


SIZE = 12 + KEPT


@inner
def _start(s, memory):
    """First run: take a unit quaternion left in `attitude` as the known start, else tilt from the accelerometer."""
    w, x, y, z = s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3]
    memory[Memory.READY], s.height = 1.0, s.baro_height
    memory[Memory.MAG_COUNT], memory[Memory.GNSS_COUNT] = s.mag_count, s.gnss_count
    s.position_known = s.heading_known = 0.0
    if abs(w * w + x * x + y * y + z * z - 1.0) > 1e-6:
        w, x, y, z = from_specific_force(s.accel[0], s.accel[1], s.accel[2], 0.0)
        s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3] = w, x, y, z


@inner
def stands_still(s, craft, p, q, r):
    """True while the craft stands on the ground with next to no thrust and turns at less than STILL_RATE."""
    slow = p * p + q * q + r * r < STILL_RATE * STILL_RATE
    return s.airborne == 0.0 and slow and s.thrust_wanted <= STILL_THRUST * craft.mass * G0


@inner
def _correct_attitude(s, craft, gains, memory):
    """Mahony's explicit filter: turn by gyro - bias + k_P (a x v); bias falls by k_I (a x v).

    a is the down axis seen by the accelerometer, v the one estimated, both in body axes. On the ground and still, the
    gyro's mean is its bias, and the tilt may be trusted more. Returns the upward acceleration [m/s2].
    """
    w, x, y, z = s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3]
    vx, vy, vz = down_in_body(w, x, y, z)
    fx, fy, fz = s.accel[0], s.accel[1], s.accel[2]
    gx, gy, gz = s.gyro[0], s.gyro[1], s.gyro[2]
    square = fx * fx + fy * fy + fz * fz
    over = 1.0 / math.sqrt(square + 1e-12)
    departure = abs(square * over - G0) / at_least(gains[EstimateGain.ACCEL_TRUST], 1e-6)
    scale = -over * at_least(1.0 - departure, 0.0)
    still = stands_still(s, craft, gx, gy, gz)
    kp, ki = gains[EstimateGain.TILT_P], s.dt * gains[EstimateGain.BIAS_I]
    error = (scale * (fy * vz - fz * vy), scale * (fz * vx - fx * vz), scale * (fx * vy - fy * vx))
    mean = first_order_share(gains[EstimateGain.GROUND_CUTOFF], s.dt) if still else 0.0
    if still:
        kp *= gains[EstimateGain.GROUND_FACTOR]
    for axis in range(3):
        bias = memory[Memory.BIAS + axis]
        bias = limit(bias + mean * (s.gyro[axis] - bias) - ki * error[axis], -BIAS_LIMIT, BIAS_LIMIT)
        memory[Memory.BIAS + axis] = bias
        memory[Memory.TURN + axis] = s.gyro[axis] - bias + kp * error[axis]
    w, x, y, z = turn(w, x, y, z, memory[Memory.TURN], memory[Memory.TURN + 1], memory[Memory.TURN + 2], s.dt)
    s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3] = w, x, y, z
    return -(vx * fx + vy * fy + vz * fz) - G0


@inner
def _blend_height(s, gains, memory, upward):
    """Third-order complementary filter: height' = climb + k1 e, climb' = a + b + k2 e, b' = k3 e, e = baro - height.

    a is `upward` [m/s2], the vertical part of the specific force less gravity, up positive.
    """
    error = s.baro_height - s.height
    bias = memory[Memory.ACCEL_BIAS] + s.dt * gains[EstimateGain.ACCEL_BIAS_I] * error
    memory[Memory.ACCEL_BIAS] = bias
    climb = s.climb_rate + s.dt * (upward + bias + gains[EstimateGain.CLIMB_P] * error)
    s.climb_rate = climb
    s.height += s.dt * (climb + gains[EstimateGain.HEIGHT_P] * error)


@inner
def _use_compass(s, craft, gains, memory):
    """Heading, when a sample is new."""
    memory[Memory.MAG_SINCE] += s.dt
    if s.mag_count != memory[Memory.MAG_COUNT]:
        follow_compass(s, craft, gains[EstimateGain.HEADING_P], memory[Memory.MAG_SINCE])
        memory[Memory.MAG_COUNT], memory[Memory.MAG_SINCE] = s.mag_count, 0.0


@inner
def _use_fixes(s, craft, gains, memory):
    """Place and velocity, north and east; nobody knows them long after the last fix."""
    move(s)
    memory[Memory.GNSS_SINCE] += s.dt
    if s.gnss_count != memory[Memory.GNSS_COUNT] and s.gnss_fix > 0.0:
        take_fix(s, craft, gains[EstimateGain.PLACE_SHARE], gains[EstimateGain.VELOCITY_SHARE])
        memory[Memory.GNSS_COUNT], memory[Memory.GNSS_SINCE] = s.gnss_count, 0.0
    if memory[Memory.GNSS_SINCE] > gains[EstimateGain.FIX_AGE]:
        s.position_known = 0.0
    if s.position_known == 0.0:
        s.velocity[0] = s.velocity[1] = s.position_sigma = 0.0
    else:
        s.position_sigma = spread_of_place(craft, memory[Memory.GNSS_SINCE])


@block("estimate", gains=EstimateGain, memory=SIZE)
def complementary(s, craft, gains, memory):
    """Complementary filter on rotations with gyro bias; height from acceleration and pressure."""
    if memory[Memory.READY] == 0.0:
        _start(s, memory)
    upward = _correct_attitude(s, craft, gains, memory)
    filter_rates(
        s, craft, gains[EstimateGain.GYRO_CUTOFF], gains[EstimateGain.NOTCH_Q], gains[EstimateGain.NOTCH_LOWEST],
        memory[Memory.BIAS], memory[Memory.BIAS + 1], memory[Memory.BIAS + 2], memory, Memory.RATE_FILTER,
    )  # fmt: skip
    _blend_height(s, gains, memory, upward)
    if craft.compass > 0.0 and gains[EstimateGain.HEADING_P] > 0.0:
        _use_compass(s, craft, gains, memory)
    if craft.gnss > 0.0:
        _use_fixes(s, craft, gains, memory)
    s.position[2], s.velocity[2] = -s.height, -s.climb_rate
