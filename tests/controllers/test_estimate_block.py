"""The estimate: how it starts, what it trusts on the ground and in the air, what it hands on."""

from __future__ import annotations

import math

import numpy as np
import pytest

from controllers import MEMORY_SIZE, SIGNALS, example_craft, rows
from controllers.estimate import EstimateGain, complementary
from controllers.rotation import from_euler, to_euler

G0 = 9.80665


def start(**values: float) -> tuple:
    s, gains = rows(SIGNALS)[0], complementary.default_gains()
    s.dt, s.accel[2] = 1e-3, -G0
    for name, value in values.items():
        gains[EstimateGain[name]] = value
    return s, gains, np.zeros(MEMORY_SIZE)


def run(s: np.record, gains: np.ndarray, memory: np.ndarray, seconds: float) -> None:
    for _ in range(round(seconds / s.dt)):
        complementary(s, example_craft(), gains, memory)


def test_starts_from_the_accelerometer() -> None:
    """Nose up 0.2, right side down 0.1: R^T (0, 0, -g), the heading taken as zero."""
    s, gains, memory = start()
    s.accel[:] = -G0 * np.array(
        [-math.sin(0.2), math.cos(0.2) * math.sin(0.1), math.cos(0.2) * math.cos(0.1)]
    )
    s.baro_height = 3.0
    run(s, gains, memory, 1e-3)
    assert to_euler(*s.attitude) == pytest.approx((0.1, 0.2, 0.0), abs=1e-9)
    assert s.height == pytest.approx(3.0, abs=1e-9)


def test_takes_a_known_start() -> None:
    s, gains, memory = start()
    s.attitude[:] = from_euler(0.3, -0.1, 2.0)
    s.airborne = 1.0
    run(s, gains, memory, 1e-3)
    assert to_euler(*s.attitude) == pytest.approx((0.3, -0.1, 2.0), abs=1e-3)


def test_gyro_bias_is_found_on_the_ground() -> None:
    """About all axes, heading too; a first-order mean of 0.3 Hz leaves exp(-2 pi 0.3 t) of it."""
    s, gains, memory = start()
    s.gyro[:] = (0.02, -0.03, 0.05)
    run(s, gains, memory, 2.0)
    left = math.exp(-2.0 * math.pi * 0.3 * 2.0)
    assert s.rates == pytest.approx(left * np.array(s.gyro), abs=2e-3)
    assert s.rates[2] == pytest.approx(left * 0.05, rel=1e-3)
    assert abs(to_euler(*s.attitude)[0]) < 0.02


@pytest.mark.parametrize(("airborne", "rate"), [(1.0, 0.05), (0.0, 0.5)])
def test_turning_is_not_taken_for_bias(airborne: float, rate: float) -> None:
    """In the air, or when carried about: a steady turn about the vertical stays a turn."""
    s, gains, memory = start()
    s.airborne, s.gyro[2] = airborne, rate
    run(s, gains, memory, 2.0)
    assert s.rates[2] == pytest.approx(rate, abs=1e-9)
    assert to_euler(*s.attitude)[2] == pytest.approx(2.0 * rate, abs=1e-6)


def test_low_pass_of_the_rates() -> None:
    """A 150 Hz sine comes through at 1/sqrt(2): the definition of the cut-off; without a cut-off, unchanged."""
    for cutoff, expected in ((150.0, 1.0 / math.sqrt(2.0)), (0.0, 1.0)):
        s, gains, memory = start(GYRO_CUTOFF=cutoff)
        s.airborne, s.dt = 1.0, 1.25e-4
        greatest = 0.0
        for k in range(2000):
            s.gyro[0] = math.sin(2.0 * math.pi * 150.0 * k * s.dt)
            complementary(s, example_craft(), gains, memory)
            greatest = max(greatest, abs(s.rates[0])) if k > 1000 else 0.0
        assert greatest == pytest.approx(expected, abs=2e-3)


def test_height_follows_acceleration_at_once_and_pressure_in_the_end() -> None:
    """Half a second at 2 m/s2 upward: 1 m/s and 0.25 m, as by hand, with the pressure reading right throughout."""
    s, gains, memory = start()
    s.airborne, s.accel[2] = 1.0, -G0 - 2.0
    for k in range(500):
        s.baro_height = 0.5 * 2.0 * (k * 1e-3) ** 2
        complementary(s, example_craft(), gains, memory)
    assert s.climb_rate == pytest.approx(1.0, abs=5e-3)
    assert s.height == pytest.approx(0.25, abs=5e-3)
    s.accel[2], s.baro_height = -G0, 0.7
    run(s, gains, memory, 15.0)
    assert s.height == pytest.approx(0.7, abs=1e-3)
    assert s.climb_rate == pytest.approx(0.0, abs=1e-3)


NORTH_FIELD = np.array([20e-6, 0.0, 45e-6])


def carrier() -> np.record:
    """The example craft with compass and satellite receiver."""
    craft = example_craft().copy()
    craft["compass"], craft["gnss"], craft["local_field"] = 1.0, 1.0, NORTH_FIELD
    craft["gnss_sigma"], craft["gnss_delay"] = (1.0, 2.0), 0.1
    return craft


def turned(yaw: float) -> np.ndarray:
    """The field in body axes of a level craft with that heading."""
    n, e, d = NORTH_FIELD
    return np.array([n * math.cos(yaw) + e * math.sin(yaw), e * math.cos(yaw) - n * math.sin(yaw), d])


def test_the_compass_turns_the_heading_at_once_and_then_slowly() -> None:
    """The first sample is taken as it is; a change of 0.5 rad by exp(-0.3 t): 0.37 of it is left after 3.3 s."""
    s, gains, memory = start()
    craft = carrier()
    s.airborne = 1.0
    for k in range(3434):
        s.magnetic_field[:] = turned(1.0 if k < 100 else 1.5)
        s.mag_count += k % 10 == 1
        complementary(s, craft, gains, memory)
        if k == 1:
            assert to_euler(*s.attitude)[2] == pytest.approx(1.0, abs=1e-6)
    assert s.heading_known == 1.0
    assert to_euler(*s.attitude)[2] == pytest.approx(1.5 - 0.5 * math.exp(-1.0), abs=5e-3)


def test_fixes_move_the_place_and_their_absence_ends_it() -> None:
    """A fix 0.1 s old of a craft at 2 m/s is carried forward by 0.2 m; 5 s after the last one the place is unknown."""
    s, gains, memory = start()
    s.airborne, s.gnss_fix = 1.0, 1.0
    complementary(s, carrier(), gains, memory)
    assert s.position_known == 0.0
    s.gnss_position[:], s.gnss_velocity[:], s.gnss_count = (10.0, -4.0, 0.0), (2.0, 0.0, 0.0), 1.0
    complementary(s, carrier(), gains, memory)
    assert s.position_known == 1.0
    assert s.position[:2] == pytest.approx((10.2, -4.0), abs=1e-2)
    for k in range(5100):
        complementary(s, carrier(), gains, memory)
        if k == 4000:
            assert s.position[0] == pytest.approx(10.2 + 2.0 * 4.0, abs=0.02)
            assert s.position_sigma > 2.0
    assert s.position_known == 0.0
