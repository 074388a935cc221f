"""A sensor's own clock: every sample at its very time, whatever the two rates, and read when it is old enough."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from quadsim.config.flight_loader import parse_flight
from quadsim.dynamics.state import X
from quadsim.sensors.clock import Clock, newest_sample, next_sample, sensor_clock
from quadsim.simulation.fly import start

RATES = [
    (1000.0, 4000, 0.0), (3000.0, 4000, 0.0), (1337.0, 4000, 0.0), (6664.0, 7000, 0.0), (4000.0, 4000, 300.0),
    (10.0, 4000, -40.0), (0.7, 4800, 0.0),
]  # fmt: skip
"""Sensor's rate, physics rate [Hz], error of the clock [ppm]."""
FLIGHT = """
title = "clock"
craft = "siskin"
duration_s = 60
log_rate_Hz = 4000
[start]
height_m = 3
[rates_Hz]
imu = {}
[wind]
speed_m_s = 6
"""


@pytest.mark.parametrize(("rate_Hz", "physics_Hz", "ppm"), RATES)
def test_a_sample_lies_at_its_very_time(rate_Hz: float, physics_Hz: int, ppm: float) -> None:
    """Sample n at n/rate, in exact fractions; its tick is the whole part, the rest is less than one tick."""
    clock = sensor_clock(rate_Hz, physics_Hz, ppm)
    true_rate = Fraction(round(rate_Hz * (1e6 + ppm)), 1_000_000)
    tick, parts = 0, 0.0
    for n in range(3000):
        time_in_ticks = n * physics_Hz / true_rate
        assert Fraction(int(tick)) + Fraction(int(parts), int(clock[Clock.OF])) == time_in_ticks
        assert 0 <= parts < clock[Clock.OF]
        assert parts * clock[Clock.SECONDS] == pytest.approx(float(time_in_ticks % 1) / physics_Hz, abs=1e-15)
        tick, parts = next_sample(tick, parts, clock)


@pytest.mark.parametrize(("rate_Hz", "physics_Hz", "ppm"), RATES)
@pytest.mark.parametrize("delay", [0.0, 1.0, 2.6])
def test_the_newest_sample_that_is_old_enough_is_read(
    rate_Hz: float, physics_Hz: int, ppm: float, delay: float
) -> None:
    """Against a search through the list of all sample times; never one that has not been taken yet."""
    clock = sensor_clock(rate_Hz, physics_Hz, ppm)
    taken = np.arange(5000) / clock[Clock.PER_TICK]
    for tick in list(range(50)) + list(range(1000, 1400)):
        expected = int(np.searchsorted(taken, tick - delay + 1e-7, side="right")) - 1
        assert newest_sample(tick, delay, clock) == max(expected, 0)
        assert np.floor(taken[newest_sample(tick, delay, clock)]) <= tick


def test_the_state_goes_on_to_the_time_of_the_sample() -> None:
    """A noiseless gyroscope of 1337 Hz in a gust reads the rates that the log, run through by a cubic, has at n/1337 s."""
    from scipy.interpolate import CubicSpline

    session = start(parse_flight(FLIGHT.format(1337)))
    sensors = session.sensors
    sensors.gyro_noise = sensors.gyro_step = 0.0
    sensors.gyro_blend, session.carried.gyro_bias[:] = 1.0, 0.0
    sensors.gyro_walk, sensors.gyro_kick[:], sensors.gyro_g[:], sensors.gyro_matrix[:] = (
        0.0,
        0.0,
        0.0,
        np.eye(3),
    )
    seen = []
    while len(seen) < 40:
        count = int(session.carried.imu_count)
        session.advance(1)
        if int(session.carried.imu_count) > count and count > 0:
            seen.append((count, *session.carried.gyro_line[count % 64]))
    session.advance(8)
    taken, expected = (
        np.array(seen),
        CubicSpline(session.truth.t[: session.rows], session.truth.rates[: session.rows]),
    )
    true = expected(taken[:, 0] / 1337.0)
    error = np.max(np.abs(taken[:, 1:] - true))
    held = np.max(np.abs(expected(np.floor(taken[:, 0] / 1337.0 * 4000.0) / 4000.0) - true))
    assert error < 0.03 * held  # what holding the state of the tick would be wrong by


def test_a_clock_that_runs_fast_takes_more_samples() -> None:
    """1 % fast: 1010 samples of a nominal 1 kHz in the time of 4000 ticks, and one at the start."""
    clock = sensor_clock(1000.0, 4000, 10_000.0)
    tick, parts, count = 0, 0.0, 0
    while tick < 4000:
        tick, parts = next_sample(tick, parts, clock)
        count += 1
    assert count == 1010


@pytest.mark.parametrize("imu", [1337, 3000])
def test_chunks_give_the_same_bits_with_a_clock_of_its_own(imu: int) -> None:
    def flown(chunks: list[int]) -> np.ndarray:
        session = start(parse_flight(FLIGHT.format(imu)), seed=3)
        for ticks in chunks:
            session.advance(ticks)
        assert np.isfinite(session.x[X.RATES])
        return np.array(session.heard.gyro[: session.rows])

    assert np.array_equal(flown([160]), flown([1, 7, 33, 2, 100, 17]))
