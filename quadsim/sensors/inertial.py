"""Gyroscope and accelerometer: scale, misalignment, g-sensitivity, bandwidth, bias, noise, range, quantisation, delay.

Terms as in IEEE Std 528 (inertial sensor terminology). Mounting, scale error and misalignment are one matrix per sensor.
White noise comes from a one-sided density n as sigma = n sqrt(fs/2) per sample; `resolve` does both. The bias wanders in
inertial_bias.py.
"""

from __future__ import annotations

from enum import IntEnum

import numpy as np

from quadsim.dynamics.state import X
from quadsim.jit import inner, kernel
from quadsim.noise import gauss, sample_key
from quadsim.sensors.clock import Clock, newest_sample, next_sample
from quadsim.sensors.inertial_bias import WALK_EVERY, wander
from quadsim.sensors.records import RING
from quadsim.sensors.vibration import update_vibration


class Trouble(IntEnum):
    """What is wrong with a sensor as a whole."""

    NONE = 0
    STUCK = 1
    """It goes on repeating its last value."""
    LOST = 2
    """It does not answer: reads zero (assumed; a bus that is not driven may read anything)."""


@kernel
def quantised(value, step, limit):
    """`value` clipped to +-limit and rounded to a multiple of `step` (no rounding when step is zero)."""
    value = min(max(value, -limit), limit)
    return np.rint(value / step) * step if step > 0.0 else value


@inner
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
    carried : the flexible mode's rate is added to the body's before the bandwidth, what rotors shake after; see vibration.py
    """
    p = x[X.RATES] + late * dx[X.RATES] + carried.mode[0, 1]
    q = x[X.RATES + 1] + late * dx[X.RATES + 1] + carried.mode[1, 1]
    r = x[X.RATES + 2] + late * dx[X.RATES + 2] + carried.mode[2, 1]
    fx, fy, fz = specific_force(p, q, r, dx, force, mass, sensors)
    key = sample_key(carried.key, count)
    if count % WALK_EVERY == 0:
        wander(key, sensors, carried)
    slot = count % RING
    g, d, m = sensors.gyro_matrix, sensors.gyro_g, sensors.accel_matrix
    gyro_over = accel_over = 0
    for k in range(3):
        rate = g[k, 0] * p + g[k, 1] * q + g[k, 2] * r + d[k, 0] * fx + d[k, 1] * fy + d[k, 2] * fz
        specific = m[k, 0] * fx + m[k, 1] * fy + m[k, 2] * fz + carried.shake_offset[k]
        carried.gyro_smooth[k] += sensors.gyro_blend * (rate - carried.gyro_smooth[k])
        carried.accel_smooth[k] += sensors.accel_blend * (specific - carried.accel_smooth[k])
        gyro = carried.gyro_smooth[k] + carried.shake_rate[k] + carried.gyro_bias[k]
        accel = carried.accel_smooth[k] + carried.shake_accel[k] + carried.accel_bias[k]
        gyro += sensors.gyro_noise * gauss(key, k)
        accel += sensors.accel_noise * gauss(key, 3 + k)
        gyro_over += abs(gyro) > sensors.gyro_range
        accel_over += abs(accel) > sensors.accel_range
        carried.gyro_line[slot, k] = quantised(gyro, sensors.gyro_step, sensors.gyro_range)
        carried.accel_line[slot, k] = quantised(accel, sensors.accel_step, sensors.accel_range)
    carried.gyro_clipped += gyro_over > 0
    carried.accel_clipped += accel_over > 0
    if carried.gyro_trouble + carried.accel_trouble > 0:
        spoil(slot, carried)


@kernel
def specific_force(p, q, r, dx, force, mass, sensors):
    """Specific force [m/s2] at the sensor, body axes: F/m + w' x r + w x (w x r) (rigid-body kinematics)."""
    pd, qd, rd = dx[X.RATES], dx[X.RATES + 1], dx[X.RATES + 2]
    a, b, c = sensors.imu_position[0], sensors.imu_position[1], sensors.imu_position[2]
    along = p * a + q * b + r * c
    spin2 = p * p + q * q + r * r
    fx = force[0] / mass + qd * c - rd * b + p * along - a * spin2
    fy = force[1] / mass + rd * a - pd * c + q * along - b * spin2
    fz = force[2] / mass + pd * b - qd * a + r * along - c * spin2
    return fx, fy, fz


@inner
def spoil(slot, carried):
    """Put into a slot of the delay lines what a sensor in trouble gives instead of its sample."""
    before = (slot + RING - 1) % RING
    for k in range(3):
        if carried.gyro_trouble > 0:
            stuck = carried.gyro_trouble == Trouble.STUCK
            carried.gyro_line[slot, k] = carried.gyro_line[before, k] if stuck else 0.0
        if carried.accel_trouble > 0:
            stuck = carried.accel_trouble == Trouble.STUCK
            carried.accel_line[slot, k] = carried.accel_line[before, k] if stuck else 0.0


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
