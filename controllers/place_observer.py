"""Heading and place for a fixed-gain estimate: the compass turns it slowly, a fix moves it by a share.

Between fixes velocity and place follow the specific force, turned into the world by the estimated attitude; each fix corrects
them by fixed shares (an alpha-beta filter with known input and measured velocity; P. R. Kalata, IEEE Trans. AES 20(2), 1984,
for the gains of such filters). A tilt that is wrong by e leaves a steady g e of acceleration, and of it the velocity
g e T/share; it is not found, as the Kalman filter finds it.
"""

from __future__ import annotations

import math

from controllers.contract import inner, kernel
from controllers.rotation import to_matrix, turn_heading, wrap

DRIFT = 0.2
"""Acceleration by which the place is lost without fixes [m/s2]: a tilt wrong by 1.2 degrees; assumed."""


@kernel
def heading_error(s, craft, r, trust):
    """Whether the field is believable, and by how much the heading must turn [rad]: atan2(B_E, B_N) - atan2(east, north).

    B is the field as told, (north, east) the horizontal part of the measured one in the world by the matrix `r`: of a field that
    is disturbed nothing can tilt the craft. `trust`: departure of its strength, as a share, from which it is not believed.
    """
    a, b, c = s.magnetic_field[0], s.magnetic_field[1], s.magnetic_field[2]
    north, east = r[0] * a + r[1] * b + r[2] * c, r[3] * a + r[4] * b + r[5] * c
    told_n, told_e, told_d = craft.local_field[0], craft.local_field[1], craft.local_field[2]
    told = math.sqrt(told_n * told_n + told_e * told_e + told_d * told_d)
    off = abs(math.sqrt(a * a + b * b + c * c) - told)
    believable = told_n * told_n + told_e * told_e > 0.0 and off <= trust * told
    return believable, wrap(math.atan2(told_e, told_n) - math.atan2(east, north))


@inner
def follow_compass(s, craft, gain, since):
    """Turn the heading by gain [1/s] times its error times the time since the last sample [s]; at once if it was unknown."""
    w, x, y, z = s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3]
    believable, error = heading_error(s, craft, to_matrix(w, x, y, z), 0.3)
    if not believable:
        return
    share = gain * since if s.heading_known > 0.0 and gain * since < 1.0 else 1.0
    w, x, y, z = turn_heading(w, x, y, z, share * error)
    s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3] = w, x, y, z
    s.heading_known = 1.0


@inner
def move(s):
    """Velocity and place, north and east, over one interval of the specific force."""
    r = to_matrix(s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3])
    a, b, c = s.accel[0], s.accel[1], s.accel[2]
    north, east = r[0] * a + r[1] * b + r[2] * c, r[3] * a + r[4] * b + r[5] * c
    s.velocity[0] += s.dt * north
    s.velocity[1] += s.dt * east
    s.position[0] += s.dt * s.velocity[0]
    s.position[1] += s.dt * s.velocity[1]


@inner
def take_fix(s, craft, place_share, velocity_share):
    """A fix, carried forward over its age by the estimated velocity; taken as it is while the place is unknown."""
    known = s.position_known > 0.0
    for k in range(2):
        speed = s.velocity[k] if known else s.gnss_velocity[k]
        error = s.gnss_position[k] + speed * craft.gnss_delay - s.position[k]
        s.position[k] += (place_share if known else 1.0) * error
        s.velocity[k] += (velocity_share if known else 1.0) * (s.gnss_velocity[k] - s.velocity[k])
    s.position_known = 1.0


@inner
def spread_of_place(craft, age):
    """Standard deviation of the distance [m], `age` [s] after a fix: of the fix, and of what drifted since."""
    return math.sqrt(2.0) * craft.gnss_sigma[0] + 0.5 * DRIFT * age * age
