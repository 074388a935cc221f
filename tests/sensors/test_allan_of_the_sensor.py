"""A still record of the shipped inertial sensor gives back, on its Allan plot, the N, B and K that the craft file states.

The record is made by the very kernel that flies, called in a loop; rates are low so that hours are cheap.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from controllers.signals import rows
from quadsim.analysis.allan import (
    bias_instability,
    cluster_sizes,
    overlapping_allan_deviation,
    rate_random_walk,
    sampling_error,
    white_noise_density,
)
from quadsim.config.inertial_errors import flicker_keep, flicker_kick, flicker_sigma
from quadsim.config.resolve_sensors import walk_step, white_noise
from quadsim.dynamics.state import SIZE
from quadsim.jit import kernel
from quadsim.sensors.inertial import sample_inertial
from quadsim.sensors.inertial_bias import WALK_EVERY
from quadsim.sensors.records import RING, SENSORS
from quadsim.simulation.carried import CARRIED

RATE_HZ = 64.0
"""Samples per second: one step of the bias a second at WALK_EVERY = 64."""

pytestmark = pytest.mark.jit


@kernel
def still_record(x, dx, force, sensors, carried, gyro, accel):
    """Readings of a sensor at rest, sample by sample, into (3, n) arrays."""
    for count in range(gyro.shape[1]):
        sample_inertial(count, 0.0, x, dx, force, 1.0, sensors, carried)
        for k in range(3):
            gyro[k, count] = carried.gyro_line[count % RING, k]
            accel[k, count] = carried.accel_line[count % RING, k]


def record_of(seconds: float, noise: float, instability: float, walk: float, seed: int = 5) -> np.ndarray:
    """Six channels (6, n) of a sensor whose gyro and accelerometer have the same one-sided density, B and K."""
    sensors, carried = rows(SENSORS)[0], rows(CARRIED)[0]
    sensors.gyro_range = sensors.accel_range = 1e9
    sensors.gyro_blend = sensors.accel_blend = 1.0
    sensors.gyro_noise = sensors.accel_noise = white_noise(noise, RATE_HZ)
    sensors.gyro_walk = sensors.accel_walk = walk_step(walk, RATE_HZ)
    sensors.flicker_keep[:] = flicker_keep(RATE_HZ, WALK_EVERY)
    sensors.gyro_kick[:] = sensors.accel_kick[:] = flicker_kick(instability, sensors.flicker_keep)
    start = np.random.default_rng(seed).standard_normal((2, 3, 3)) * flicker_sigma(instability)
    carried.gyro_flicker[:], carried.accel_flicker[:] = start
    carried.key = seed
    samples = round(seconds * RATE_HZ)
    gyro, accel = np.empty((3, samples)), np.empty((3, samples))
    still_record(np.zeros(SIZE), np.zeros(SIZE), np.zeros(3), sensors, carried, gyro, accel)
    return np.concatenate([gyro, accel])


def deviations(record: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Cluster times [s] and the deviations (6, n) of all channels."""
    sizes = cluster_sizes(record.shape[1], per_decade=6)
    found = np.array([overlapping_allan_deviation(channel, RATE_HZ, sizes) for channel in record])
    return sizes / RATE_HZ, found


def test_white_noise_is_read_back() -> None:
    """N = n/sqrt 2 of a one-sided n, slope -1/2 +- 0.05, each channel within 3 sampling errors of an hour."""
    density, seconds = 0.0028, 3600.0
    taus, found = deviations(record_of(seconds, density, 0.0, 0.0))
    for channel in found:
        n = white_noise_density(taus, channel, seconds, (0.1, 10.0))
        assert n.slope == pytest.approx(-0.5, abs=0.05)
        assert n.value == pytest.approx(density / math.sqrt(2.0), rel=3.0 * n.sampling_error)
    near_one = int(np.argmin(np.abs(taus - 1.0)))
    expected = density / math.sqrt(2.0 * taus[near_one])
    assert found[:, near_one] == pytest.approx(expected, rel=3.0 * sampling_error(seconds, taus[near_one]))


def test_rate_random_walk_is_read_back() -> None:
    """K at 3 s, slope +1/2, in two hours: from 10 to 100 s, where steps of a second are fine and the record is long."""
    walk, seconds = 1.9393e-5, 7200.0
    taus, found = deviations(record_of(seconds, 0.0, 0.0, walk))
    for channel in found:
        k = rate_random_walk(taus, channel, seconds, (10.0, 100.0))
        assert k.value == pytest.approx(walk, rel=3.0 * k.sampling_error)
        assert k.slope == pytest.approx(0.5, abs=0.15)


def test_bias_instability_is_read_back_as_a_floor() -> None:
    """B = floor/0.664 over the two decades from 2 to 200 s; mean of six channels of two hours within 15 %, slope within 0.1.

    Wider than the sampling error of N: at 200 s two hours hold 36 clusters (12 %; at the middle of the range, 20 s, 4 %), and
    three processes make a floor that is flat within 6 %.
    """
    instability, seconds = 5.0 / 3600.0, 7200.0
    taus, found = deviations(record_of(seconds, 0.0, instability, 0.0))
    read = [bias_instability(taus, channel, seconds, (2.0, 200.0)) for channel in found]
    assert np.mean([b.value for b in read]) == pytest.approx(instability, rel=0.15)
    assert np.mean([b.slope for b in read]) == pytest.approx(0.0, abs=0.1)


def test_the_expected_deviation_of_the_three_processes_is_flat() -> None:
    """Closed form of a Gauss-Markov process, s^2/x (2 - (3 - 4 exp(-x) + exp(-2x))/x), x = tau/T (IEEE Std 952-1997, annex C;
    from memory): the sum lies within 7 % of 0.664 B over two decades."""
    tau = np.geomspace(2.0, 200.0, 60)
    square = np.zeros(60)
    for seconds in (1.0, 10.0, 100.0):
        x = tau / seconds
        square += (2.0 - (3.0 - 4.0 * np.exp(-x) + np.exp(-2.0 * x)) / x) / x
    assert flicker_sigma(1.0) * np.sqrt(square) == pytest.approx(np.full(60, 0.664282), rel=0.07)


def test_all_three_on_one_plot() -> None:
    """N, B and K together, each dominant in its own range: the sum of the three closed variances, within 25 % everywhere.

    Four sampling errors at 400 s in two hours (17 %) over the mean of six channels (7 %).
    """
    density, instability, walk, seconds = 0.004, 0.004, 0.0001, 7200.0
    taus, found = deviations(record_of(seconds, density, instability, walk))
    read = taus < 400.0
    white = density**2 / (2.0 * taus)
    plateau = np.where(taus > 1.5, (0.664 * instability) ** 2, np.nan)
    expected = np.sqrt(white + plateau + walk**2 * taus / 3.0)
    known = read & np.isfinite(expected)
    mean = np.sqrt(np.mean(found**2, axis=0))
    assert mean[known] == pytest.approx(expected[known], rel=0.25)
    n = white_noise_density(taus, mean, seconds, (0.02, 0.1))
    assert n.value == pytest.approx(density / math.sqrt(2.0), rel=0.03)
