"""Magnetometer: the Earth's field in body axes, with what the craft's own iron and currents add to it.

b = M R^T B + bias + k I + noise (e.g. D. Gebre-Egziabher et al., J. Aerospace Engineering 19(2), 2006, 87-102; from memory):
M and bias are what a calibration left of soft and hard iron, k I is the field of the battery's wires.
"""

from __future__ import annotations

from quadsim.dynamics.state import X
from quadsim.jit import inner
from quadsim.kinematics.quaternion import rotation_matrix
from quadsim.noise import gauss, sample_key
from quadsim.sensors.inertial import quantised
from quadsim.sensors.place_records import Slow

CHANNEL = 144
"""First of three channels of the noise."""
UNBOUNDED = 1.0
"""No full scale [T]."""


@inner
def sample_magnetometer(count, slot, x, held, plant, sensors, carried):
    """Sample number `count`, into the delay line."""
    r00, r01, r02, r10, r11, r12, r20, r21, r22 = rotation_matrix(
        x[X.QUATERNION], x[X.QUATERNION + 1], x[X.QUATERNION + 2], x[X.QUATERNION + 3]
    )
    north, east, down = plant.magnetic_field[0], plant.magnetic_field[1], plant.magnetic_field[2]
    ahead = r00 * north + r10 * east + r20 * down
    right = r01 * north + r11 * east + r21 * down
    below = r02 * north + r12 * east + r22 * down
    key = sample_key(carried.key, count)
    m = sensors.mag_matrix
    for k in range(3):
        field = m[k, 0] * ahead + m[k, 1] * right + m[k, 2] * below + sensors.mag_bias[k]
        field += sensors.mag_current[k] * held.battery_current + carried.mag_disturbance[k]
        field += sensors.mag_noise * gauss(key, CHANNEL + k)
        carried.slow_line[Slow.MAGNETOMETER, slot, k] = quantised(field, sensors.mag_step, UNBOUNDED)


@inner
def give_magnetometer(slot, carried, signals):
    """Hand a sample to the controller."""
    signals.mag_count += 1.0
    for k in range(3):
        signals.magnetic_field[k] = carried.slow_line[Slow.MAGNETOMETER, slot, k]
