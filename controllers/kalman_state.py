"""Error state of the Kalman filter: where its numbers lie, its covariance in time, one scalar measurement.

The error state is (theta, v, p, b, a): angle of the attitude's error about the WORLD's axes [rad], velocity [m/s] and
position [m] north-east-down, biases of gyro [rad/s] and accelerometer [m/s2] in body axes. True rotation = exp(theta) times
the estimated one. In this form everything that is measured is one element of the error, and what the error does over an
interval follows from three sums taken on the way, exactly, however fast the craft turns.

References
----------
J. Sola, Quaternion kinematics for the error-state Kalman filter (2017), arXiv:1711.02508, sec. 5 (errors in time), sec. 6
(correction, injection) and sec. 7 (the form with global angular errors, used here).
Y. Bar-Shalom, X. R. Li, T. Kirubarajan, Estimation with Applications to Tracking and Navigation (2001), sec. 5.4
(innovations, gates, consistency).
"""

from __future__ import annotations

from enum import IntEnum

from controllers.contract import inner, kernel
from controllers.filters import at_least, limit
from controllers.rate_filter import KEPT
from controllers.rotation import turn_in_world

N = 15
"""Elements of the error state."""
THETA, VELOCITY, POSITION, GYRO, ACCEL = 0, 3, 6, 9, 12
"""First element of each part."""

LEAST_VARIANCE, GREATEST_VARIANCE = 1e-14, 1e8
"""Bounds of a variance in its own unit: neither rounding nor a long wait may spoil the covariance. Assumed."""
GYRO_BIAS_LIMIT, ACCEL_BIAS_LIMIT = 0.2, 3.0
"""Greatest biases believed [rad/s], [m/s2]; assumed, ten times a poor sensor's."""


class Memory(IntEnum):
    """What is kept between runs. Attitude, velocity and position stand in their signals."""

    READY = 0
    SINCE = 1
    """Time since the covariance was brought up to date [s]."""
    BIAS = 2
    """Of the gyro, 3."""
    ACCEL_BIAS = 5
    TURNED = 8
    """Sum of R dt, 3 x 3: body to world."""
    PUSHED = 17
    """Sum of R f dt, 3 [m/s]: velocity given by the specific force."""
    MOVED = 20
    """Integral of the velocity since the start, 3 [m]."""
    SPED = 23
    """Integral of the acceleration since the start, 3 [m/s]."""
    FIX_AGE = 26
    """Time since a fix was last believed [s]."""
    COMPASS_AGE = 27
    """Time since a heading was last believed [s]."""
    GNSS_COUNT = 28
    BARO_COUNT = 29
    MAG_COUNT = 30
    RANGE_COUNT = 31
    HISTORY_NEXT = 32
    HISTORY_SINCE = 33
    """Place of the next entry, and time since the last [s]."""
    COLUMN = 34
    """A column of the covariance while a measurement is worked in, 15."""
    HISTORY = 49
    """HISTORY_SIZE entries of MOVED and SPED."""
    COVARIANCE = 193
    """15 x 15, by rows."""
    RATE_FILTER = 418


HISTORY_SIZE = 24
SIZE = Memory.RATE_FILTER + KEPT


@inner
def _move_errors(memory, along, across, T):
    """Rows of the covariance over the interval: P becomes F P with along, across = 15, 1, and P F^T with 1, 15.

    theta' = theta - S b, v' = v - [U]x theta - S a, p' = p + T v with S = sum R dt, U = sum R f dt (Sola sec. 7).
    """
    u0, u1, u2 = memory[Memory.PUSHED], memory[Memory.PUSHED + 1], memory[Memory.PUSHED + 2]
    for j in range(N):
        at = Memory.COVARIANCE + j * across
        t0, t1, t2 = memory[at], memory[at + along], memory[at + 2 * along]
        for k in range(3):
            memory[at + (POSITION + k) * along] += T * memory[at + (VELOCITY + k) * along]
        memory[at + VELOCITY * along] += u2 * t1 - u1 * t2
        memory[at + (VELOCITY + 1) * along] += u0 * t2 - u2 * t0
        memory[at + (VELOCITY + 2) * along] += u1 * t0 - u0 * t1
        for k in range(3):
            s = Memory.TURNED + 3 * k
            for m in range(3):
                memory[at + (VELOCITY + k) * along] -= memory[s + m] * memory[at + (ACCEL + m) * along]
                memory[at + (THETA + k) * along] -= memory[s + m] * memory[at + (GYRO + m) * along]


@inner
def spread(memory, first, variance):
    """Add a variance to the three elements from `first`, bounded above."""
    for k in range(first, first + 3):
        at = Memory.COVARIANCE + k * (N + 1)
        memory[at] = limit(memory[at] + variance, LEAST_VARIANCE, GREATEST_VARIANCE)


@kernel(_nrt=False)
def propagate(memory, gyro, accel, gyro_walk, accel_walk):
    """Bring the covariance up to date: P = F P F^T + Q.

    `gyro` [rad2/s] and `accel` [m2/s3] are two-sided power densities of the white noise, the walks those of the biases
    [rad2/s3], [m2/s5]; Q holds density times interval. Within an interval of 10 ms their cross terms do not matter.
    """
    T = memory[Memory.SINCE]
    _move_errors(memory, N, 1, T)
    _move_errors(memory, 1, N, T)
    spread(memory, THETA, gyro * T)
    spread(memory, VELOCITY, accel * T)
    spread(memory, POSITION, 0.0)
    spread(memory, GYRO, gyro_walk * T)
    spread(memory, ACCEL, accel_walk * T)
    memory[Memory.SINCE] = 0.0
    for k in range(Memory.TURNED, Memory.PUSHED + 3):
        memory[k] = 0.0


@inner
def forget(memory, j, variance):
    """Element j is set from outside: its error has this variance and nothing in common with the others."""
    for i in range(N):
        memory[Memory.COVARIANCE + N * i + j] = memory[Memory.COVARIANCE + N * j + i] = 0.0
    memory[Memory.COVARIANCE + j * (N + 1)] = variance


@inner
def variance_of(memory, j):
    """Variance of element j of the error."""
    return memory[Memory.COVARIANCE + j * (N + 1)]


@inner
def _inject(s, memory, gain):
    """Take `gain` times the column out of the estimate: the error found is corrected and is zero again (Sola sec. 6.2)."""
    c = Memory.COLUMN
    w, x, y, z = turn_in_world(
        s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3],
        gain * memory[c], gain * memory[c + 1], gain * memory[c + 2],
    )  # fmt: skip
    s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3] = w, x, y, z
    for k in range(3):
        s.velocity[k] += gain * memory[c + VELOCITY + k]
        s.position[k] += gain * memory[c + POSITION + k]
        b = memory[Memory.BIAS + k] + gain * memory[c + GYRO + k]
        memory[Memory.BIAS + k] = limit(b, -GYRO_BIAS_LIMIT, GYRO_BIAS_LIMIT)
        a = memory[Memory.ACCEL_BIAS + k] + gain * memory[c + ACCEL + k]
        memory[Memory.ACCEL_BIAS + k] = limit(a, -ACCEL_BIAS_LIMIT, ACCEL_BIAS_LIMIT)


@kernel(_nrt=False)
def correct(s, memory, j, innovation, variance, gate):
    """Work in one measurement of element j of the error: K = P e_j/S, S = P_jj + variance, P becomes P - K S K^T.

    Returns 1 if it was believed: innovation^2 <= gate^2 S (Bar-Shalom et al. sec. 5.4).
    """
    S = at_least(variance_of(memory, j), 0.0) + at_least(variance, LEAST_VARIANCE)
    if innovation * innovation > gate * gate * S:
        return 0.0
    for i in range(N):
        memory[Memory.COLUMN + i] = memory[Memory.COVARIANCE + N * i + j]
    for i in range(N):
        share = memory[Memory.COLUMN + i] / S
        for k in range(i + 1):
            left = memory[Memory.COVARIANCE + N * i + k] - share * memory[Memory.COLUMN + k]
            memory[Memory.COVARIANCE + N * i + k] = memory[Memory.COVARIANCE + N * k + i] = left
        at = Memory.COVARIANCE + i * (N + 1)
        memory[at] = at_least(memory[at], LEAST_VARIANCE)
    _inject(s, memory, innovation / S)
    return 1.0
