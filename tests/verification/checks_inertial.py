"""Checks of the inertial sensor and of its clock; each takes a loader of modules by name.

As in checks.py: the same check runs on the shipped kernels and on wrong copies of their source.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import Any

import numpy as np
from checks import near
from hand_made import G0, state

from controllers.signals import SIGNALS, rows
from quadsim.dynamics.state import SIZE, X
from quadsim.sensors.records import SENSORS
from quadsim.simulation.carried import CARRIED

SENSOR = "quadsim.sensors.inertial"
BIAS = "quadsim.sensors.inertial_bias"
CLOCK = "quadsim.sensors.clock"


def perfect() -> tuple[Any, Any]:
    """Records of a sensor without errors, at the centre of mass."""
    sensors, carried = rows(SENSORS)[0], rows(CARRIED)[0]
    sensors.gyro_range = sensors.accel_range = 1e9
    sensors.gyro_blend = sensors.accel_blend = 1.0
    sensors.gyro_matrix[:] = sensors.accel_matrix[:] = sensors.mounting_believed[:] = np.eye(3)
    return sensors, carried


def sampled(
    load: Callable, sensors: Any, carried: Any, count: int = 0, late: float = 0.0, **motion: Any
) -> np.ndarray:
    """One sample (6,): gyro and accelerometer, of a body of 2 kg."""
    dx = np.zeros(SIZE)
    dx[X.RATES : X.RATES + 3] = motion.get("turning", (0.0, 0.0, 0.0))
    force = np.array(motion.get("force", (0.0, 0.0, 0.0)), dtype=float)
    x = state(rates=motion.get("rates", (0.0, 0.0, 0.0)))
    load(SENSOR).sample_inertial(count, late, x, dx, force, 2.0, sensors, carried)
    slot = count % 64
    return np.concatenate([carried.gyro_line[slot], carried.accel_line[slot]])


def acceleration_off_the_centre(load: Callable) -> None:
    """F/m + w' x r + w x (w x r) by numpy's cross products; 600 deg/s at 30 mm: 3.28987 m/s2 towards the axis."""
    sensors, carried = perfect()
    place, w, turning = (
        np.array([0.02, -0.03, 0.05]),
        np.array([3.0, -2.0, 4.0]),
        np.array([10.0, 20.0, -30.0]),
    )
    sensors.imu_position[:] = place
    seen = sampled(load, sensors, carried, rates=w, turning=turning, force=(2.0, 4.0, 6.0))
    expected = np.array([1.0, 2.0, 3.0]) + np.cross(turning, place) + np.cross(w, np.cross(w, place))
    near(seen, np.concatenate([w, expected]), 1e-12)
    sensors.imu_position[:] = (0.03, 0.0, 0.0)
    near(sampled(load, sensors, carried, rates=(0.0, 0.0, np.radians(600.0)))[3:], [-3.28987, 0.0, 0.0], 1e-5)


def readings_by_their_matrices(load: Callable) -> None:
    """Gyro: A w + D f, accelerometer: M f + offset, with matrices of no symmetry (linear algebra)."""
    sensors, carried = perfect()
    a, d, m = np.random.default_rng(3).normal(size=(3, 3, 3))
    sensors.gyro_matrix[:], sensors.gyro_g[:], sensors.accel_matrix[:] = a, d, m
    carried.shake_offset[:], carried.shake_rate[:], carried.shake_accel[:] = (
        (0.1, 0.2, 0.3),
        (1.0, 2.0, 3.0),
        (4.0, 5.0, 6.0),
    )
    w, f = np.array([0.3, -0.5, 0.7]), np.array([1.0, 2.0, -G0])
    expected = np.concatenate(
        [a @ w + d @ f + (1.0, 2.0, 3.0), m @ f + (0.1, 0.2, 0.3) + np.array([4.0, 5.0, 6.0])]
    )
    near(sampled(load, sensors, carried, rates=w, force=2.0 * f), expected, 1e-12)


def rates_at_the_time_of_the_sample(load: Callable) -> None:
    """w + w' dt (Taylor)."""
    seen = sampled(load, *perfect(), late=1e-4, rates=(1.0, 2.0, 3.0), turning=(100.0, -200.0, 300.0))
    near(seen[:3], [1.01, 1.98, 3.03], 1e-12)


def flicker_fades_into_the_bias(load: Callable) -> None:
    """Without new draws a process fades by its share a step and the bias follows: b0 - f0 (1 - keep^n), summed."""
    sensors, carried = perfect()
    keep = np.array([0.9, 0.99, 0.999])
    sensors.flicker_keep[:] = keep
    f0 = np.random.default_rng(4).normal(size=(2, 3, 3))
    carried.gyro_flicker[:], carried.accel_flicker[:] = f0
    carried.gyro_bias[:], carried.accel_bias[:] = 1.0, 2.0
    for key in range(20):
        load(BIAS).wander(key, sensors, carried)
    lost = np.sum(f0 * (1.0 - keep**20), axis=2)
    near(np.array([carried.gyro_bias, carried.accel_bias]), np.array([[1.0], [2.0]]) - lost, 1e-12)


def flicker_keeps_its_variance(load: Callable) -> None:
    """kick^2/(1 - keep^2), each process and axis, 6000 steps, and no two of them alike (AR(1), closed form): 8 % at keep 0.5."""
    sensors, carried = perfect()
    sensors.flicker_keep[:], sensors.gyro_kick[:], sensors.accel_kick[:] = (
        0.5,
        (1.0, 2.0, 3.0),
        (2.0, 4.0, 6.0),
    )
    seen = []
    for step in range(6000):
        load(BIAS).wander(7919 * step, sensors, carried)
        seen.append(np.concatenate([np.ravel(carried.gyro_flicker), np.ravel(carried.accel_flicker)]))
    kicks = np.concatenate([np.tile((1.0, 2.0, 3.0), 3), np.tile((2.0, 4.0, 6.0), 3)])
    near(np.var(seen, axis=0) / (kicks**2 / 0.75), np.ones(18), 0.08)
    near(np.corrcoef(np.array(seen).T), np.eye(18), 0.08)


def clipped_samples_counted(load: Callable) -> None:
    """Either sign, any axis, once a sample (definition)."""
    sensors, carried = perfect()
    sensors.gyro_range, sensors.accel_range = 2.0, 3.0
    for count, (w, f) in enumerate(
        ((2.5, 0.0), (-2.5, 0.0), (1.9, 6.2), (0.0, -6.2), (0.0, 5.9), (-9.0, 0.0))
    ):
        sampled(load, sensors, carried, count, rates=(0.0, w, w), force=(f, 0.0, f))
    near([carried.gyro_clipped, carried.accel_clipped], [3, 2], 1e-12)


def a_stuck_sensor_repeats(load: Callable) -> None:
    sensors, carried = perfect()
    first = sampled(load, sensors, carried, 0, rates=(1.0, 2.0, 3.0), force=(2.0, 4.0, 6.0))
    carried.gyro_trouble, carried.accel_trouble = 1, 2
    for count in (1, 2):
        seen = sampled(load, sensors, carried, count, rates=(7.0, 8.0, 9.0), force=(7.0, 8.0, 9.0))
        near(seen, np.concatenate([first[:3], np.zeros(3)]), 1e-12)


def sample_times_are_exact(load: Callable) -> None:
    """Sample n at n/rate, in exact fractions, 1337 Hz under 4000 Hz."""
    clock = load(CLOCK)
    array = clock.sensor_clock(1337.0, 4000)
    tick, parts = 0, 0.0
    for n in range(1, 200):
        tick, parts = clock.next_sample(tick, parts, array)
        near(tick + parts / array[2], float(Fraction(n * 4000, 1337)), 1e-9)


def the_newest_old_enough_is_read(load: Callable) -> None:
    """By search through all sample times, 1337 Hz under 4000 Hz, 2.6 ticks old; through the delay line."""
    sensors, carried = perfect()
    sensors.imu_clock[:], sensors.imu_delay = load(CLOCK).sensor_clock(1337.0, 4000), 2.6
    carried.gyro_line[:, 0] = np.arange(64.0)
    signals = rows(SIGNALS)[0]
    taken = np.arange(100) * 4000.0 / 1337.0
    for tick in range(10, 100):
        load(SENSOR).read_inertial(tick, sensors, carried, signals)
        near(float(signals.gyro[0]), float(np.searchsorted(taken, tick - 2.6, "right") - 1), 1e-12)


CHECKS = (
    acceleration_off_the_centre, readings_by_their_matrices, rates_at_the_time_of_the_sample, flicker_fades_into_the_bias,
    flicker_keeps_its_variance, clipped_samples_counted, a_stuck_sensor_repeats, sample_times_are_exact,
    the_newest_old_enough_is_read,
)  # fmt: skip
