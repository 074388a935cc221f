"""What the Kalman filter takes from each sensor: one innovation per element of the error, in sequence.

A fix is late. It is carried forward by what the inertial sensor has integrated since it was taken (velocity to place,
acceleration to velocity), kept in a short history, and then compared with the present. What was corrected in between counts.

References
----------
J. Sola (2017), arXiv:1711.02508, sec. 6. Innovations in the order they come, one number at a time: Bar-Shalom et al. (2001).
Heading from the horizontal part of the field alone, so that a disturbed field cannot tilt the craft; velocity nil while
standing still; a place that starts at the fix after a time without: common practice, no source.
"""

from __future__ import annotations

import math

from controllers.contract import inner
from controllers.filters import at_least, limit
from controllers.kalman_gains import KalmanGain
from controllers.kalman_state import (
    GYRO,
    HISTORY_SIZE,
    POSITION,
    THETA,
    VELOCITY,
    Memory,
    correct,
    forget,
)
from controllers.place_observer import heading_error
from controllers.rotation import turn_heading

G0 = 9.80665
"""Standard acceleration of gravity [m/s2], 3rd CGPM (1901)."""


@inner
def _step(s, delay):
    """Time between entries of the history [s]: a fix `delay` [s] old lies well within it."""
    return s.dt * at_least(math.ceil(delay / ((HISTORY_SIZE - 4) * s.dt + 1e-12)), 1.0)


@inner
def remember(s, memory, delay):
    """Write the way since the start into the history when it is time."""
    memory[Memory.HISTORY_SINCE] += s.dt
    if memory[Memory.HISTORY_SINCE] < _step(s, delay) - 0.5 * s.dt:
        return
    memory[Memory.HISTORY_SINCE] = 0.0
    entry = int(memory[Memory.HISTORY_NEXT])
    for k in range(6):
        memory[Memory.HISTORY + 6 * entry + k] = memory[Memory.MOVED + k]
    memory[Memory.HISTORY_NEXT] = (entry + 1) % HISTORY_SIZE


@inner
def _since(s, memory, k, age):
    """Change of element k of the way (MOVED, SPED) over the last `age` [s], on the line between two entries."""
    step = _step(s, age)
    back = limit((age - memory[Memory.HISTORY_SINCE]) / (step + 1e-12), -1.0, HISTORY_SIZE - 3.0)
    if back < 0.0:  # younger than the newest entry: the rate of now
        return age * (s.velocity[k] if k < 3 else 0.0)
    whole = int(back)
    last = int(memory[Memory.HISTORY_NEXT]) - 1 + HISTORY_SIZE - whole
    late = memory[Memory.HISTORY + 6 * (last % HISTORY_SIZE) + k]
    early = memory[Memory.HISTORY + 6 * ((last - 1) % HISTORY_SIZE) + k]
    return memory[Memory.MOVED + k] - late - (back - whole) * (early - late)


@inner
def _take_number(s, memory, k, innovation, variance, gate):
    """Number k of a fix (0..2 place, 3..5 velocity); a horizontal one is taken as it is while the place is unknown."""
    j = POSITION + k if k < 3 else VELOCITY + k - 3
    if s.position_known > 0.0 or k % 3 == 2:
        return correct(s, memory, j, innovation, variance, gate)
    forget(memory, j, at_least(variance, 1e-6))
    if k < 3:
        s.position[k] += innovation
    else:
        s.velocity[k - 3] += innovation
    return 1.0


@inner
def take_fix(s, craft, gains, memory):
    """Place and velocity of a fix, carried forward over its age. The first one, and the first after a long time, is taken as
    it is; else every number is worked in, and the fix counts as believed when its horizontal place was."""
    believed = 0.0
    for k in range(6):
        sigma = (
            craft.gnss_velocity_sigma if k >= 3 else gains[KalmanGain.FIX_FACTOR] * craft.gnss_sigma[k // 2]
        )
        measured = s.gnss_position[k] if k < 3 else s.gnss_velocity[k - 3]
        known = s.position[k] if k < 3 else s.velocity[k - 3]
        innovation = measured + _since(s, memory, k, craft.gnss_delay) - known
        one = _take_number(s, memory, k, innovation, sigma * sigma, gains[KalmanGain.GATE])
        believed += one if k < 2 else 0.0
    if believed > 1.5:
        s.position_known, memory[Memory.FIX_AGE] = 1.0, 0.0


@inner
def take_baro(s, craft, gains, memory):
    """Height from pressure."""
    spread = gains[KalmanGain.BARO_SPREAD]
    variance = craft.baro_sigma * craft.baro_sigma + spread * spread
    correct(s, memory, POSITION + 2, -s.baro_height - s.position[2], variance, gains[KalmanGain.GATE])


@inner
def take_range(s, craft, gains, memory, upright):
    """Height from the distance to the ground near it; `upright` is the cosine of the tilt."""
    height = s.range_distance * upright
    if s.range_distance <= 0.0 or height > gains[KalmanGain.RANGE_HEIGHT]:
        return
    spread = gains[KalmanGain.RANGE_SPREAD]
    variance = craft.range_sigma * craft.range_sigma + spread * spread
    correct(s, memory, POSITION + 2, -height - s.position[2], variance, gains[KalmanGain.GATE])


@inner
def take_heading(s, craft, gains, memory, r):
    """Heading from the horizontal part of the field. The first one, and the first after a long time, is taken as it is."""
    believable, innovation = heading_error(s, craft, r, gains[KalmanGain.FIELD_TRUST])
    if not believable:
        return
    north, east = craft.local_field[0], craft.local_field[1]
    spread = gains[KalmanGain.HEADING_SPREAD]
    variance = craft.mag_sigma * craft.mag_sigma / (north * north + east * east) + spread * spread
    if s.heading_known > 0.0:
        if correct(s, memory, THETA + 2, innovation, variance, gains[KalmanGain.GATE]) == 0.0:
            return
    else:
        w, x, y, z = turn_heading(s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3], innovation)
        s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3] = w, x, y, z
        forget(memory, THETA + 2, variance)
    s.heading_known, memory[Memory.COMPASS_AGE] = 1.0, 0.0


@inner
def take_gravity(s, craft, gains, memory, north, east, down):
    """Tilt in flight without a place: the specific force in the world (north, east, down [m/s2]) is taken for gravity,
    for little, and less the more it departs from it. f = (g theta_y, -g theta_x, -g)."""
    square = north * north + east * east + down * down
    over = 1.0 / math.sqrt(square + 1e-12)
    trust = 1.0 - abs(square * over - G0) / at_least(gains[KalmanGain.ACCEL_TRUST], 1e-6)
    if trust <= 0.0:
        return
    spread = gains[KalmanGain.GRAVITY_SPREAD] / at_least(trust, 1e-3)
    correct(s, memory, THETA, -east * over, spread * spread, gains[KalmanGain.GATE])
    correct(s, memory, THETA + 1, north * over, spread * spread, gains[KalmanGain.GATE])


@inner
def take_standstill(s, craft, gains, memory):
    """On the ground: the velocity is nil and the gyro shows its bias, noise n^2/(2 dt) a sample (n one-sided)."""
    still, n = gains[KalmanGain.STILL_SPREAD], gains[KalmanGain.GYRO_FACTOR] * craft.gyro_density
    for k in range(3):
        correct(s, memory, VELOCITY + k, -s.velocity[k], still * still, gains[KalmanGain.GATE])
        innovation = s.gyro[k] - memory[Memory.BIAS + k]
        correct(s, memory, GYRO + k, innovation, n * n / (2.0 * s.dt + 1e-12), gains[KalmanGain.GATE])
