"""Kalman filter on the errors of attitude, velocity, place and biases: inertial navigation, put right by every other sensor.

At every run the attitude is turned by the gyro, the velocity pushed by the accelerometer and gravity, the place moved. The
covariance follows at its own lower rate. Unlike `complementary` it does not take the accelerometer for gravity while it
has a place: a tilt that is wrong shows as a velocity that is wrong. It costs several times as much.

References
----------
J. Sola, Quaternion kinematics for the error-state Kalman filter (2017), arXiv:1711.02508, sec. 5 to 7.
Y. Bar-Shalom, X. R. Li, T. Kirubarajan, Estimation with Applications to Tracking and Navigation (2001).
"""

from __future__ import annotations

import math

from controllers.contract import block, inner
from controllers.filters import at_least, limit
from controllers.kalman_gains import KalmanGain
from controllers.kalman_sensors import (
    G0,
    remember,
    take_baro,
    take_fix,
    take_gravity,
    take_heading,
    take_range,
    take_standstill,
)
from controllers.kalman_state import ACCEL, GYRO, POSITION, SIZE, THETA, VELOCITY, Memory, forget, propagate
from controllers.rate_filter import filter_rates
from controllers.rotation import from_specific_force, to_matrix, turn

STILL_RATE = 0.15
"""On the ground the craft counts as still below this rate [rad/s]; assumed."""
STANDING_SHARE = 0.5
"""And while less than this share of the weight is asked of the rotors; assumed."""
TILT_KNOWN, TILT_SEEN, HEADING_GIVEN, HEADING_OPEN = 0.02, 0.03, 0.05, 1.0
"""Standard deviations at the start [rad]: attitude given, tilt from the accelerometer, heading given, heading not; assumed."""
START_SPEED, START_PLACE = 0.3, 0.5
"""Standard deviations at the start [m/s], [m]; assumed."""


@inner
def _start(s, craft, memory):
    """First run: take a unit quaternion left in `attitude` as the known start, else tilt from the accelerometer."""
    w, x, y, z = s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3]
    memory[Memory.READY] = 1.0
    tilt, heading = TILT_KNOWN, HEADING_GIVEN
    if abs(w * w + x * x + y * y + z * z - 1.0) > 1e-6:
        tilt, heading = TILT_SEEN, HEADING_OPEN
        w, x, y, z = from_specific_force(s.accel[0], s.accel[1], s.accel[2], 0.0)
    s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3] = w, x, y, z
    s.position_known = s.heading_known = 0.0
    for k in range(3):
        s.velocity[k] = s.position[k] = 0.0
        forget(memory, THETA + k, tilt * tilt if k < 2 else heading * heading)
        forget(memory, VELOCITY + k, START_SPEED * START_SPEED)
        forget(memory, POSITION + k, START_PLACE * START_PLACE)
        forget(memory, GYRO + k, at_least(craft.gyro_bias_sigma * craft.gyro_bias_sigma, 1e-10))
        forget(memory, ACCEL + k, at_least(craft.accel_bias_sigma * craft.accel_bias_sigma, 1e-8))
    s.position[2] = -s.baro_height
    memory[Memory.GNSS_COUNT], memory[Memory.BARO_COUNT] = s.gnss_count, s.baro_count
    memory[Memory.MAG_COUNT], memory[Memory.RANGE_COUNT] = s.mag_count, s.range_count


@inner
def _navigate(s, memory):
    """Attitude, velocity and place over one interval (Sola eq. 260), and the sums that the covariance needs.

    Returns the rotation matrix body to world, by rows, and the specific force in the world [m/s2].
    """
    dt = s.dt
    w, x, y, z = turn(
        s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3],
        s.gyro[0] - memory[Memory.BIAS], s.gyro[1] - memory[Memory.BIAS + 1], s.gyro[2] - memory[Memory.BIAS + 2], dt,
    )  # fmt: skip
    s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3] = w, x, y, z
    r = to_matrix(w, x, y, z)
    a, b, c = memory[Memory.ACCEL_BIAS], memory[Memory.ACCEL_BIAS + 1], memory[Memory.ACCEL_BIAS + 2]
    a, b, c = s.accel[0] - a, s.accel[1] - b, s.accel[2] - c
    f = (r[0] * a + r[1] * b + r[2] * c, r[3] * a + r[4] * b + r[5] * c, r[6] * a + r[7] * b + r[8] * c)
    for k in range(3):
        push = dt * f[k]
        gain = push + (dt * G0 if k == 2 else 0.0)
        way = dt * (s.velocity[k] + 0.5 * gain)
        s.velocity[k] += gain
        s.position[k] += way
        memory[Memory.PUSHED + k] += push
        memory[Memory.SPED + k] += gain
        memory[Memory.MOVED + k] += way
    for k in range(9):
        memory[Memory.TURNED + k] += dt * r[k]
    memory[Memory.SINCE] += dt
    return r, f


@inner
def _propagate(s, craft, gains, memory):
    """The covariance up to now. One-sided densities n of the data sheet: two-sided power n^2/2."""
    gyro = gains[KalmanGain.GYRO_FACTOR] * craft.gyro_density
    accel = gains[KalmanGain.ACCEL_FACTOR] * craft.accel_density
    gyro_walk, accel_walk = gains[KalmanGain.GYRO_WALK], gains[KalmanGain.ACCEL_WALK]
    propagate(memory, 0.5 * gyro * gyro, 0.5 * accel * accel, gyro_walk * gyro_walk, accel_walk * accel_walk)


@inner
def _take_new(s, craft, gains, memory, r):
    """Work in what has come since the last run."""
    if s.gnss_count != memory[Memory.GNSS_COUNT]:
        memory[Memory.GNSS_COUNT] = s.gnss_count
        if s.gnss_fix > 0.0:
            take_fix(s, craft, gains, memory)
    if s.baro_count != memory[Memory.BARO_COUNT]:
        memory[Memory.BARO_COUNT] = s.baro_count
        take_baro(s, craft, gains, memory)
    if s.range_count != memory[Memory.RANGE_COUNT]:
        memory[Memory.RANGE_COUNT] = s.range_count
        take_range(s, craft, gains, memory, r[8])
    if s.mag_count != memory[Memory.MAG_COUNT]:
        memory[Memory.MAG_COUNT] = s.mag_count
        take_heading(s, craft, gains, memory, r)


@inner
def _without_sensors(s, craft, gains, memory, f):
    """At the covariance's rate: the standstill, or what stands in for the place while there is none."""
    p, q, r = s.gyro[0], s.gyro[1], s.gyro[2]
    still = s.airborne == 0.0 and p * p + q * q + r * r < STILL_RATE * STILL_RATE
    if still and s.thrust_wanted < STANDING_SHARE * craft.mass * G0:
        take_standstill(s, craft, gains, memory)
    elif s.position_known == 0.0:
        take_gravity(s, craft, gains, memory, f[0], f[1], f[2])
        for k in range(2):  # nobody knows it, and a sum of errors is no better than nil
            s.velocity[k] = 0.0
            forget(memory, VELOCITY + k, START_SPEED * START_SPEED)
            forget(memory, POSITION + k, START_PLACE * START_PLACE)


@inner
def _age(s, gains, memory):
    """Place and heading become unknown when nothing was believed for a while."""
    memory[Memory.FIX_AGE] += s.dt
    memory[Memory.COMPASS_AGE] += s.dt
    if memory[Memory.FIX_AGE] > gains[KalmanGain.FIX_AGE]:
        s.position_known = 0.0
    if memory[Memory.COMPASS_AGE] > gains[KalmanGain.FIX_AGE]:
        s.heading_known = 0.0


@inner
def _tell_spread(s, memory):
    """Spread of the place: that of the distance, sqrt(P_n + P_e)."""
    c = Memory.COVARIANCE
    square = memory[c + POSITION * 16] + memory[c + (POSITION + 1) * 16]
    s.position_sigma = math.sqrt(limit(square, 0.0, 1e12)) if s.position_known > 0.0 else 0.0


@block("estimate", gains=KalmanGain, memory=SIZE)
def kalman(s, craft, gains, memory):
    """Error-state Kalman filter: attitude, velocity, place, both biases."""
    if memory[Memory.READY] == 0.0:
        _start(s, craft, memory)
    r, f = _navigate(s, memory)
    remember(s, memory, craft.gnss_delay)
    due = memory[Memory.SINCE] * gains[KalmanGain.COVARIANCE_RATE] >= 1.0
    new = s.gnss_count != memory[Memory.GNSS_COUNT] or s.baro_count != memory[Memory.BARO_COUNT]
    if due or new or s.mag_count != memory[Memory.MAG_COUNT] or s.range_count != memory[Memory.RANGE_COUNT]:
        _propagate(s, craft, gains, memory)
        _take_new(s, craft, gains, memory, r)
        if due:
            _without_sensors(s, craft, gains, memory, f)
        _tell_spread(s, memory)
    _age(s, gains, memory)
    s.height, s.climb_rate = -s.position[2], -s.velocity[2]
    filter_rates(
        s, craft, gains[KalmanGain.GYRO_CUTOFF], gains[KalmanGain.NOTCH_Q], gains[KalmanGain.NOTCH_LOWEST],
        memory[Memory.BIAS], memory[Memory.BIAS + 1], memory[Memory.BIAS + 2], memory, Memory.RATE_FILTER,
    )  # fmt: skip
