"""A sensor at rest: the floor of its bias, and logs that spoil the noise."""

import numpy as np
import pytest
from scipy.signal import lfilter

from quadsim.config.inertial_errors import FLICKER_S, flicker_sigma
from quadsim.measure.columns import Bench
from quadsim.measure.result import Setup
from quadsim.measure.still import measure_still

RATE = 20.0


def log(values, time=None):
    time = np.arange(len(values)) / RATE if time is None else time
    numbers = {"time_s": time} | {f"gyro_{axis}_deg_s": values[:, k] for k, axis in enumerate("xyz")}
    return Bench("log.csv", tuple(range(len(values))), ("",) * len(values), numbers, {})


def white(count, seed=1, sigma=0.02):
    return np.random.default_rng(seed).normal(0.0, sigma, (count, 3))


def test_bias_instability_of_an_hour():
    """Flicker of 5 deg/h by three correlated processes, as the simulated sensor has it, under little white noise."""
    rng, count, instability = np.random.default_rng(3), 72000, 5.0 / 3600.0
    values = rng.normal(0.0, 0.0003 * np.sqrt(RATE), (count, 3))
    for seconds in FLICKER_S:
        keep = np.exp(-1.0 / (RATE * seconds))
        driven = rng.normal(0.0, flicker_sigma(instability) * np.sqrt(1.0 - keep**2), (count, 3))
        values += lfilter([1.0], [1.0, -keep], driven, axis=0)
    entries = measure_still(log(values), Setup()).entries
    floor = entries["flight_controller.gyro.bias_instability_deg_h"]
    assert floor == pytest.approx(5.0, rel=0.25)
    assert abs(floor - 5.0) < 3.0 * floor.sigma


def test_a_short_log_has_no_floor():
    result = measure_still(log(white(1200)), Setup())
    assert "flight_controller.gyro.bias_instability_deg_h" not in result.entries
    assert "an hour or more" in " ".join(result.rests_on)


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda v: v + 0.5 * (np.arange(len(v)) > 600)[:, None], "something touched the craft"),
        (lambda v: np.repeat(v[::2], 2, axis=0), "repeat the one before"),
        (lambda v: np.round(v / 0.05) * 0.05, "fewer than four levels"),
        (lambda v: lfilter([0.02], [1.0, -0.98], v, axis=0), "no stretch of white noise"),
    ],
)
def test_what_spoils_a_log_is_said(spoil, said):
    assert said in " ".join(measure_still(log(spoil(white(1200, sigma=0.02))), Setup()).warnings)


def test_dropped_samples_are_said():
    values = white(1200)
    kept = np.arange(1200) % 50 != 7
    result = measure_still(log(values[kept], np.arange(1200)[kept] / RATE), Setup())
    assert "24 gaps" in " ".join(result.warnings)
