"""A guide to copy: rename the function, fly it with `--guide my_law.py:my_guide`.

Sticks command roll, pitch, yaw rate and thrust; in setpoint mode the angles and the height follow `target_*`. It does not know
take-off and touch-down from flying: start flights with it in the air. `controllers/template.py` (for slot rate) says more.
"""

from controllers import Gains, Mode, Stick, block
from controllers.filters import limit
from controllers.rotation import from_euler, heading


class Gain(Gains):
    TILT_MAX = 0, "rad", 0.5, 0.05, 1.4
    YAW_RATE_FULL = 1, "rad/s", 2.0, 0.1, 20.0
    HEIGHT_P = 2, "1/s2", 2.0, 0.0, 20.0
    CLIMB_P = 3, "1/s", 3.0, 0.0, 20.0


@block("guide", gains=Gain)
def my_guide(s, craft, gains, memory):
    """My guide: angles and thrust from the sticks, or angles and height as set."""
    s.armed = s.airborne = s.attitude_weight = 1.0
    s.mode_in_force = s.mode
    most, weight = gains[Gain.TILT_MAX], 9.80665 * craft.mass
    if int(s.mode) == Mode.SETPOINT:
        roll, pitch, yaw, turn = s.target_roll, s.target_pitch, s.target_yaw, 0.0
        lift = gains[Gain.HEIGHT_P] * (s.target_height - s.height) - gains[Gain.CLIMB_P] * s.climb_rate
        thrust = weight + craft.mass * lift
    else:
        roll, pitch = most * s.stick[Stick.ROLL], most * s.stick[Stick.PITCH]
        yaw = heading(s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3])
        turn = gains[Gain.YAW_RATE_FULL] * s.stick[Stick.YAW]
        thrust = 2.0 * weight * s.stick[Stick.THROTTLE]
    w, x, y, z = from_euler(limit(roll, -most, most), limit(pitch, -most, most), yaw)
    s.attitude_wanted[0], s.attitude_wanted[1], s.attitude_wanted[2], s.attitude_wanted[3] = w, x, y, z
    s.rates_fed_forward[0], s.rates_fed_forward[1], s.rates_fed_forward[2] = 0.0, 0.0, turn
    s.thrust_wanted = limit(thrust, 0.2 * weight, 4.0 * craft.max_thrust)
