"""Gyroscope and accelerometer: bandwidth, mounting, bias with a random walk, noise, quantisation, range, delay.

Terms as in IEEE Std 528 (inertial sensor terminology). White noise comes from a one-sided density n as
sigma = n sqrt(fs/2) per sample; `resolve` does that.
"""

from __future__ import annotations

import numpy as np

from quadsim.dynamics.state import X
from quadsim.jit import kernel
from quadsim.noise import gauss, sample_key
from quadsim.sensors.clock import Clock, newest_sample, next_sample
from quadsim.sensors.records import RING
from quadsim.sensors.vibration import update_vibration

WALK_EVERY = 16
"""Samples between two steps of the bias walk; `resolve` scales the step, so the walk is the same."""


@kernel
def quantised(value, step, limit):
    """`value` clipped to +-limit and rounded to a multiple of `step` (no rounding when step is zero)."""
    value = min(max(value, -limit), limit)
    return np.rint(value / step) * step if step > 0.0 else value


@kernel
def sense_inertial(x, dx, held, plant, sensors, carried):
    """Take the sample that is due at this tick, by its own time, and set when the next one is."""
    late = carried.imu_parts * sensors.imu_clock[Clock.SECONDS]
    if sensors.shaking > 0.0:
        update_vibration(late, x, dx, held, plant, sensors, carried)
    sample_inertial(carried.imu_count, late, x, dx, held.force, plant.mass, sensors, carried)
    carried.imu_due, carried.imu_parts = next_sample(carried.imu_due, carried.imu_parts, sensors.imu_clock)
    carried.imu_count += 1


@kernel
def sample_inertial(count, late, x, dx, force, mass, sensors, carried):
    """Take sample number `count` and put it into the delay line of `carried`.

    Parameters
    ----------
    late : time of the sample after this tick [s], less than a tick
    x, dx : state and its derivative at this tick; the rates go on along the derivative up to the sample, forces and angular
        accelerations stay those of the tick
    force : all forces but gravity, body axes [N]; specific force at the centre of mass is force/mass
    carried : its `shake_...` are added to the body's motion; see vibration.py
    """
    shaken, turned = carried.shake_rate, carried.shake_turning
    p = x[X.RATES] + late * dx[X.RATES] + shaken[0]
    q = x[X.RATES + 1] + late * dx[X.RATES + 1] + shaken[1]
    r = x[X.RATES + 2] + late * dx[X.RATES + 2] + shaken[2]
    pd, qd, rd = dx[X.RATES] + turned[0], dx[X.RATES + 1] + turned[1], dx[X.RATES + 2] + turned[2]
    a, b, c = sensors.imu_position[0], sensors.imu_position[1], sensors.imu_position[2]
    along = p * a + q * b + r * c
    spin2 = p * p + q * q + r * r
    fx = (force[0] + carried.shake_force[0]) / mass + qd * c - rd * b + p * along - a * spin2
    fy = (force[1] + carried.shake_force[1]) / mass + rd * a - pd * c + q * along - b * spin2
    fz = force[2] / mass + pd * b - qd * a + r * along - c * spin2
    key = sample_key(carried.key, count)
    walking = count % WALK_EVERY == 0
    slot = count % RING
    for k in range(3):
        m0, m1, m2 = sensors.mounting[k, 0], sensors.mounting[k, 1], sensors.mounting[k, 2]
        rate = carried.gyro_sign[k] * (m0 * p + m1 * q + m2 * r)
        specific = m0 * fx + m1 * fy + m2 * fz
        carried.gyro_smooth[k] += sensors.gyro_blend * (rate - carried.gyro_smooth[k])
        carried.accel_smooth[k] += sensors.accel_blend * (specific - carried.accel_smooth[k])
        if walking:
            carried.gyro_bias[k] += sensors.gyro_walk * gauss(key, 6 + k)
            carried.accel_bias[k] += sensors.accel_walk * gauss(key, 9 + k)
        gyro = carried.gyro_smooth[k] + carried.gyro_bias[k] + sensors.gyro_noise * gauss(key, k)
        accel = carried.accel_smooth[k] + carried.accel_bias[k] + sensors.accel_noise * gauss(key, 3 + k)
        carried.gyro_line[slot, k] = quantised(gyro, sensors.gyro_step, sensors.gyro_range)
        carried.accel_line[slot, k] = quantised(accel, sensors.accel_step, sensors.accel_range)


@kernel
def read_inertial(tick, sensors, carried, signals):
    """Hand the newest sample that is old enough at `tick` to the controller, in the body axes it believes in."""
    slot = newest_sample(tick, sensors.imu_delay, sensors.imu_clock) % RING
    for k in range(3):
        gyro = accel = 0.0
        for n in range(3):
            gyro += sensors.mounting_believed[k, n] * carried.gyro_line[slot, n]
            accel += sensors.mounting_believed[k, n] * carried.accel_line[slot, n]
        signals.gyro[k] = gyro
        signals.accel[k] = accel
