"""When a flight counts as failed, and what is said of it."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from quadsim.analysis.response_bench import Flown
from quadsim.tuning.confirm import judge_flight


@pytest.fixture
def calm() -> Flown:
    t = np.arange(0.0, 1.6, 1e-3)
    n, level = len(t), np.tile([1.0, 0.0, 0.0, 0.0], (len(t), 1))
    none, three, four = np.zeros(n), np.zeros((n, 3)), np.zeros((n, 4))
    return Flown(t, three, three, level, level, level, none, none, none, four, four, four, 0.0)


def test_a_calm_flight_is_none(calm):
    assert judge_flight(calm) == ""


def test_what_ended_it_is_said(calm):
    assert judge_flight(replace(calm, trouble="hit the ground")) == "hit the ground"


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_a_limit_cycle_is_named_with_axis_and_frequency(calm, axis):
    rates = np.zeros((len(calm.t_s), 3))
    rates[:, axis] = math.sqrt(2.0) * np.sin(2.0 * math.pi * 15.0 * calm.t_s)  # 1 rad/s rms
    said = judge_flight(replace(calm, rates=rates))
    assert said == f"shakes about {('roll', 'pitch', 'yaw')[axis]}, 57 deg/s rms at 15 Hz"
    assert judge_flight(replace(calm, rates=0.3 * rates)) == ""


def test_a_small_limit_cycle_that_keeps_motors_at_their_limits_is_found(calm):
    rates = np.zeros((len(calm.t_s), 3))
    rates[:, 1] = 0.3 * np.sin(2.0 * math.pi * 25.0 * calm.t_s)
    said = judge_flight(replace(calm, rates=rates, limited_pct=54.0))
    assert said == "motors at their limits 54 % of the time, pitch at 25 Hz"


def test_a_great_tilt_is_told(calm):
    half = math.radians(80.0) / 2.0
    tilted = calm.attitude.copy()
    tilted[500] = math.cos(half), math.sin(half), 0.0, 0.0
    assert judge_flight(replace(calm, attitude=tilted)) == "tilted to 80 deg"
