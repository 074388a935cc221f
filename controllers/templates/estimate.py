"""An estimator to copy: rename the function, fly it with `--estimate my_law.py:my_estimate`.

The gyro turns the attitude, the accelerometer pulls its tilt level; pressure gives height. `controllers/template.py` (for slot
rate) says what each part is for.
"""

import math

from controllers import Gains, block
from controllers.rotation import down_in_body, turn


class Gain(Gains):
    TILT_P = 0, "1/s", 0.2, 0.0, 10.0  # weak: in flight the accelerometer sees thrust and drag, not gravity
    HEIGHT_P = 1, "1/s", 3.0, 0.0, 20.0
    CLIMB_P = 2, "1/s2", 3.0, 0.0, 100.0


@block("estimate", gains=Gain)
def my_estimate(s, craft, gains, memory):
    """My estimator: gyro, pulled level by the accelerometer; height from acceleration and pressure."""
    w, x, y, z = s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3]
    if abs(w * w + x * x + y * y + z * z - 1.0) > 1e-3:  # nothing known yet: level, facing north
        w, x, y, z = 1.0, 0.0, 0.0, 0.0
    vx, vy, vz = down_in_body(w, x, y, z)
    fx, fy, fz = s.accel[0], s.accel[1], s.accel[2]
    scale = -gains[Gain.TILT_P] / math.sqrt(fx * fx + fy * fy + fz * fz + 1e-6)  # at rest -f points down
    p = s.gyro[0] + scale * (fy * vz - fz * vy)
    q = s.gyro[1] + scale * (fz * vx - fx * vz)
    r = s.gyro[2] + scale * (fx * vy - fy * vx)
    w, x, y, z = turn(w, x, y, z, p, q, r, s.dt)
    s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3] = w, x, y, z
    for axis in range(3):
        s.rates[axis] = s.gyro[axis]
    error = s.baro_height - s.height
    upward = -(vx * fx + vy * fy + vz * fz) - 9.80665
    s.climb_rate += s.dt * (upward + gains[Gain.CLIMB_P] * error)
    s.height += s.dt * (s.climb_rate + gains[Gain.HEIGHT_P] * error)
