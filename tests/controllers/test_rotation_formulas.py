"""Rotation formulas against scipy, by random draw."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from controllers.rotation import (
    down_in_body,
    from_euler,
    from_specific_force,
    heading,
    multiply,
    to_euler,
    turn,
    wrap,
)

angles = st.floats(-3.0, 3.0)
pitches = st.floats(-1.5, 1.5)
rates = st.floats(-40.0, 40.0)


def of_scipy(rotation: Rotation) -> np.ndarray:
    return np.roll(rotation.as_quat(), 1)


@settings(max_examples=100, deadline=None)
@given(angles, pitches, angles)
def test_euler_angles(roll: float, pitch: float, yaw: float) -> None:
    rotation = Rotation.from_euler("ZYX", [yaw, pitch, roll])
    q = from_euler(roll, pitch, yaw)
    assert abs(np.dot(q, of_scipy(rotation))) == pytest.approx(1.0, abs=1e-12)
    assert to_euler(*q) == pytest.approx((roll, pitch, yaw), abs=1e-6)
    assert heading(*q) == pytest.approx(yaw, abs=1e-6)
    assert down_in_body(*q) == pytest.approx(rotation.as_matrix()[2], abs=1e-12)


@settings(max_examples=100, deadline=None)
@given(rates, rates, rates, st.floats(1e-4, 0.05), st.integers(0, 1000))
def test_turn(p: float, q: float, r: float, dt: float, seed: int) -> None:
    start = Rotation.random(rng=seed)
    expected = of_scipy(start * Rotation.from_rotvec([p * dt, q * dt, r * dt]))
    got = np.array(turn(*of_scipy(start), p, q, r, dt))
    assert abs(np.dot(got, expected)) == pytest.approx(1.0, abs=1e-12)
    assert np.dot(got, got) == pytest.approx(1.0, abs=1e-12)


def test_turn_makes_unit_again() -> None:
    assert np.linalg.norm(turn(0.5, 0.1, 0.0, 0.2, 1.0, 2.0, 3.0, 1e-3)) == pytest.approx(1.0, abs=1e-12)
    assert turn(0.0, 0.0, 0.0, 0.0, 1.0, 2.0, 3.0, 1e-3) == (1.0, 0.0, 0.0, 0.0)


def test_multiply_and_specific_force() -> None:
    a, b = Rotation.random(2, rng=1)
    assert abs(np.dot(multiply(*of_scipy(a), *of_scipy(b)), of_scipy(a * b))) == pytest.approx(1.0, abs=1e-12)
    # At rest the specific force in body axes is minus gravity: R^T (0, 0, -g).
    force = a.inv().apply([0.0, 0.0, -9.80665])
    got = np.array(from_specific_force(*force, a.as_euler("ZYX")[0]))
    assert abs(np.dot(got, of_scipy(a))) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize(
    ("angle", "wrapped"), [(3.2, 3.2 - 2 * math.pi), (-3.2, 2 * math.pi - 3.2), (1.0, 1.0)]
)
def test_wrap(angle: float, wrapped: float) -> None:
    assert wrap(angle) == pytest.approx(wrapped, abs=1e-12)
    assert wrap(angle + 20 * math.pi) == pytest.approx(wrapped, abs=1e-9)
