"""Gyroscope and accelerometer, each error alone, against closed forms."""

from __future__ import annotations

import math
from typing import Any

import allantools
import numpy as np
import pytest
from hand_made import G0, state

from controllers.signals import SIGNALS, rows
from quadsim.config.inertial_errors import Draws, reading_matrix
from quadsim.config.resolve_sensors import blend, mounting_matrix, walk_step, white_noise
from quadsim.dynamics.state import SIZE, X
from quadsim.sensors.clock import sensor_clock
from quadsim.sensors.inertial import Trouble, quantised, read_inertial, sample_inertial
from quadsim.sensors.records import SENSORS
from quadsim.simulation.carried import CARRIED

DEG = math.pi / 180.0
STILL = np.zeros(3)


class Imu:
    """A perfect inertial sensor until a field of `sensors` says otherwise."""

    def __init__(self, **changes: Any) -> None:
        self.sensors, self.carried, self.signals = rows(SENSORS)[0], rows(CARRIED)[0], rows(SIGNALS)[0]
        s = self.sensors
        s.gyro_range, s.accel_range, s.gyro_blend, s.accel_blend = 1e9, 1e9, 1.0, 1.0
        s.imu_clock[:] = sensor_clock(1000.0, 1000)
        s.gyro_matrix[:] = s.accel_matrix[:] = s.mounting_believed[:] = np.eye(3)
        self.carried.key = 11
        for name, value in changes.items():
            s[name] = value

    def sample(
        self,
        count: int = 0,
        rates: Any = STILL,
        turning: Any = STILL,
        force: Any = STILL,
        mass: float = 1.0,
        late: float = 0.0,
    ) -> None:
        x, dx = state(rates=rates), np.zeros(SIZE)
        dx[X.RATES : X.RATES + 3] = turning
        sample_inertial(count, late, x, dx, np.asarray(force, dtype=float), mass, self.sensors, self.carried)

    def read(self, tick: int = 0) -> tuple[np.ndarray, np.ndarray]:
        read_inertial(tick, self.sensors, self.carried, self.signals)
        return np.array(self.signals.gyro), np.array(self.signals.accel)


def test_specific_force() -> None:
    """At rest 9.80665 m/s2 upwards; nothing in free fall (definition of specific force)."""
    imu = Imu()
    imu.sample(force=(0.0, 0.0, -1.5 * G0), mass=1.5)
    assert imu.read()[1] == pytest.approx((0.0, 0.0, -G0), abs=1e-12)
    imu.sample()
    assert imu.read()[1] == pytest.approx((0.0, 0.0, 0.0), abs=1e-12)


def test_lever_arm() -> None:
    """600 deg/s at 30 mm: 3.28987 m/s2 towards the axis; any motion: a' = w' x r + w x (w x r) (rigid-body kinematics)."""
    imu = Imu(imu_position=(0.03, 0.0, 0.0))
    imu.sample(rates=(0.0, 0.0, 600.0 * DEG))
    assert imu.read()[1] == pytest.approx((-3.28987, 0.0, 0.0), abs=1e-5)
    place, w, turning = (
        np.array([0.02, -0.03, 0.05]),
        np.array([3.0, -2.0, 4.0]),
        np.array([10.0, 20.0, -30.0]),
    )
    imu = Imu(imu_position=place)
    imu.sample(rates=w, turning=turning, force=(1.0, 2.0, 3.0), mass=2.0)
    expected = np.array([0.5, 1.0, 1.5]) + np.cross(turning, place) + np.cross(w, np.cross(w, place))
    assert imu.read()[1] == pytest.approx(expected, abs=1e-12)


def test_mounted_turned_and_told_so() -> None:
    """Turned by 90 deg about body z its x axis points right: it reads q and -p; told of it, the controller sees p and q."""
    mounting = mounting_matrix(0.0, 0.0, 90.0 * DEG)
    imu = Imu(gyro_matrix=mounting, accel_matrix=mounting)
    imu.sample(rates=(1.0, 2.0, 3.0), force=(4.0, 5.0, 6.0))
    gyro, accel = imu.read()
    assert gyro == pytest.approx((2.0, -1.0, 3.0), abs=1e-12)
    assert accel == pytest.approx((5.0, -4.0, 6.0), abs=1e-12)
    imu = Imu(
        gyro_matrix=mounting_matrix(0.2, -0.4, 2.0), mounting_believed=mounting_matrix(0.2, -0.4, 2.0).T
    )
    imu.sample(rates=(1.0, 2.0, 3.0))
    assert imu.read()[0] == pytest.approx((1.0, 2.0, 3.0), abs=1e-12)


def test_bias() -> None:
    imu = Imu()
    imu.carried.gyro_bias[:] = (0.1, 0.2, -0.3)
    imu.sample(rates=(1.0, 2.0, 3.0))
    assert imu.read()[0] == pytest.approx((1.1, 2.2, 2.7), abs=1e-12)


def test_scale_error_and_misalignment_act_as_one_matrix() -> None:
    """Axis k reads (1 + s_k) (its own component + its two tilts times the other two), after the mounting (IEEE Std 528)."""
    draws = Draws(np.array([1.0, -2.0, 0.5]), np.arange(9.0).reshape(3, 3) - 4.0, np.zeros((3, 3)))
    turned = mounting_matrix(0.1, 0.2, 0.3)
    matrix = reading_matrix(turned, 0.01, 0.002, draws)
    w = turned @ np.array([1.0, 2.0, 3.0])
    expected = [
        1.01 * (w[0] + 0.002 * (-3.0 * w[1] - 2.0 * w[2])),
        0.98 * (w[1] + 0.002 * (-1.0 * w[0] + 1.0 * w[2])),
        1.005 * (w[2] + 0.002 * (2.0 * w[0] + 3.0 * w[1])),
    ]
    imu = Imu(gyro_matrix=matrix, accel_matrix=matrix)
    imu.sample(rates=(1.0, 2.0, 3.0), force=(1.0, 2.0, 3.0))
    assert imu.read() == (pytest.approx(expected, abs=1e-12), pytest.approx(expected, abs=1e-12))


def test_g_sensitivity() -> None:
    """At rest an entry of 0.1 (deg/s)/g from vertical to roll reads 0.1 deg/s (definition)."""
    push = np.zeros((3, 3))
    push[0, 2] = 0.1 * DEG / G0
    imu = Imu(gyro_g=push)
    imu.sample(force=(0.0, 0.0, -G0))
    assert imu.read()[0] == pytest.approx((-0.1 * DEG, 0.0, 0.0), abs=1e-12)


def test_samples_beyond_the_range_are_counted() -> None:
    """Once a sample, however many axes; not at the limit itself."""
    imu = Imu(gyro_range=2.0, accel_range=3.0)
    turns = [(1.0, 0.0, 0.0), (2.5, -9.0, 0.0), (2.0, 0.0, 0.0), (0.0, 0.0, -2.1)]
    pushes = [(0.0, 0.0, 1.0), STILL, (0.0, -3.1, 0.0), STILL]
    for k, (rates, force) in enumerate(zip(turns, pushes, strict=True)):
        imu.sample(k, rates=rates, force=force)
    assert (int(imu.carried.gyro_clipped), int(imu.carried.accel_clipped)) == (2, 1)


def test_stuck_repeats_and_lost_reads_zero() -> None:
    imu = Imu()
    imu.sample(0, rates=(1.0, 2.0, 3.0), force=(4.0, 5.0, 6.0))
    imu.carried.gyro_trouble, imu.carried.accel_trouble = Trouble.STUCK, Trouble.LOST
    for k in (1, 2):
        imu.sample(k, rates=(9.0, 9.0, 9.0), force=(9.0, 9.0, 9.0))
        gyro, accel = imu.read(k)
        assert gyro == pytest.approx((1.0, 2.0, 3.0))
        assert accel == pytest.approx(STILL)
    imu.carried.gyro_trouble, imu.carried.accel_trouble = Trouble.LOST, Trouble.STUCK
    imu.sample(3, rates=(9.0, 9.0, 9.0), force=(9.0, 9.0, 9.0))
    assert imu.read(3) == (pytest.approx(STILL), pytest.approx(STILL))
    imu.carried.gyro_trouble = imu.carried.accel_trouble = Trouble.NONE
    imu.sample(4, rates=(9.0, 8.0, 7.0), force=(6.0, 5.0, 4.0))
    assert imu.read(4) == (pytest.approx((9.0, 8.0, 7.0)), pytest.approx((6.0, 5.0, 4.0)))


def test_rates_go_on_to_the_time_of_the_sample() -> None:
    imu = Imu()
    imu.sample(rates=(1.0, 2.0, 3.0), turning=(100.0, -200.0, 300.0), late=1e-4)
    assert imu.read()[0] == pytest.approx((1.01, 1.98, 3.03), abs=1e-12)


@pytest.mark.parametrize(
    ("value", "step", "limit", "expected"),
    [(1.24, 0.5, 10.0, 1.0), (1.26, 0.5, 10.0, 1.5), (-1.26, 0.5, 10.0, -1.5), (-1.24, 0.5, 10.0, -1.0), (12.0, 0.5, 10.0, 10.0),
     (-12.0, 0.5, 10.0, -10.0), (1.2345, 0.0, 10.0, 1.2345)],
)  # fmt: skip
def test_quantisation_and_range(value: float, step: float, limit: float, expected: float) -> None:
    """Nearest multiple of the step within the range (definition)."""
    assert quantised(value, step, limit) == pytest.approx(expected, abs=1e-12)


def test_range_and_step_reach_both_sensors() -> None:
    imu = Imu(gyro_range=2.0, accel_range=3.0, gyro_step=0.25, accel_step=0.5)
    imu.sample(rates=(9.0, -9.0, 0.3), force=(9.0, -9.0, 0.6))
    gyro, accel = imu.read()
    assert gyro == pytest.approx((2.0, -2.0, 0.25), abs=1e-12)
    assert accel == pytest.approx((3.0, -3.0, 0.5), abs=1e-12)


@pytest.mark.parametrize(("every", "delay"), [(1, 0), (1, 7), (2, 5), (4, 6), (2, 40)])
def test_delay_is_exact_in_ticks(every: int, delay: int) -> None:
    """At each tick the newest sample that is at least `delay` ticks old; here a sample's value is its own tick."""
    imu = Imu(imu_clock=sensor_clock(1000.0 / every, 1000), imu_delay=float(delay))
    for tick in range(200):
        if tick % every == 0:
            imu.sample(tick // every, rates=(float(tick), 0.0, 0.0))
        taken = [k for k in range(0, tick + 1, every) if tick - k >= delay]
        assert imu.read(tick)[0][0] == (max(taken) if taken else 0.0)


def test_bandwidth_as_a_step_response() -> None:
    """First-order low-pass: 1 - exp(-2 pi f t) for a held step; f = 100 Hz at 1 kHz: 0.466512 after one sample."""
    imu = Imu(gyro_blend=blend(100.0, 1000.0), accel_blend=blend(30.0, 1000.0))
    for k in range(20):
        imu.sample(k, rates=(1.0, 0.0, 0.0), force=(0.0, 1.0, 0.0))
        gyro, accel = imu.read(k)
        assert gyro[0] == pytest.approx(1.0 - math.exp(-2.0 * math.pi * 0.1 * (k + 1)), abs=1e-12)
        assert accel[1] == pytest.approx(1.0 - math.exp(-2.0 * math.pi * 0.03 * (k + 1)), abs=1e-12)
    assert blend(100.0, 1000.0) == pytest.approx(0.466512, abs=1e-6)


def test_density_to_standard_deviation() -> None:
    """n = 0.0028 deg/s/rtHz one-sided at 1 and 8 kHz: 0.0626099, 0.177088 deg/s = n sqrt(fs/2) (Wiener-Khinchin)."""
    assert white_noise(0.0028, 1000.0) == pytest.approx(0.0626099, abs=1e-6)
    assert white_noise(0.0028, 8000.0) == pytest.approx(0.177088, abs=1e-6)


@pytest.mark.jit
@pytest.mark.parametrize(("noisy", "walking"), [("gyro", "accel"), ("accel", "gyro")])
def test_noise_as_an_allan_plot_shows_it(noisy: str, walking: str) -> None:
    """White noise: N/sqrt(tau) with N = n/sqrt 2; bias walk: K sqrt(tau/3). IEEE Std 952-1997, annex C, by allantools.

    400 s at 200 Hz; the tolerance is three times the sampling error 1/sqrt(2 (T/tau - 1)) of that annex.
    """
    density, walk, rate_Hz, seconds = 0.005, 0.02, 200.0, 400.0
    imu = Imu(
        **{f"{noisy}_noise": white_noise(density, rate_Hz), f"{walking}_walk": walk_step(walk, rate_Hz)}
    )
    white, bias = np.empty(round(seconds * rate_Hz)), np.empty(round(seconds * rate_Hz))
    line, carried_bias = imu.carried[f"{noisy}_line"], imu.carried[f"{walking}_bias"]
    for k in range(white.size):
        imu.sample(k)
        white[k], bias[k] = line[k % 64, 1], carried_bias[2]
    assert np.std(white) == pytest.approx(density * math.sqrt(rate_Hz / 2.0), rel=0.01)
    for record, expected in (
        (white, lambda t: density / math.sqrt(2.0 * t)),
        (bias, lambda t: walk * math.sqrt(t / 3.0)),
    ):
        taus, deviation, _, _ = allantools.oadev(record, rate_Hz, "freq", [1.0, 3.0])
        for tau, found in zip(taus, deviation, strict=True):
            assert found == pytest.approx(expected(tau), rel=3.0 / math.sqrt(2.0 * (seconds / tau - 1.0)))


def test_the_three_axes_have_noise_of_their_own() -> None:
    imu, seen = Imu(gyro_noise=1.0, accel_noise=1.0), []
    for k in range(2000):
        imu.sample(k)
        seen.append(np.concatenate(imu.read(k)))
    correlation = np.corrcoef(np.array(seen).T)
    assert np.max(np.abs(correlation - np.eye(6))) < 4.0 / math.sqrt(2000)
