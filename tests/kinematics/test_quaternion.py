"""Quaternions against scipy's Rotation, published values, and properties by random draw."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from controllers import rotation as controller_rotation
from quadsim.kinematics.quaternion import from_euler, quaternion_rate, renormalise, rotation_matrix, to_euler

ANGLE = st.floats(-3.1, 3.1)
PITCH = st.floats(-1.5, 1.5)
RATE = st.floats(-50.0, 50.0)


def scipy_of(q: tuple | np.ndarray) -> Rotation:
    return Rotation.from_quat(np.roll(q, -1))


def test_published_example() -> None:
    """Heading 30, pitch 20, roll 10 degrees: half-angle product, agreed by scipy."""
    q = from_euler(math.radians(10.0), math.radians(20.0), math.radians(30.0))
    assert q == pytest.approx((0.9515485246, 0.0381345765, 0.1893078574, 0.2392983377), abs=1e-9)
    expected = (0.8137976813, -0.4409696105, 0.3785223064, 0.4698463104, 0.8825641193, 0.0180283112,
                -0.3420201433, 0.1631759112, 0.9254165784)  # fmt: skip
    assert rotation_matrix(*q) == pytest.approx(expected, abs=1e-9)


def test_turn_about_the_diagonal() -> None:
    """120 deg about (1, 1, 1): x goes to y, y to z, z to x (Rodrigues)."""
    assert rotation_matrix(0.5, 0.5, 0.5, 0.5) == pytest.approx((0, 0, 1, 1, 0, 0, 0, 1, 0), abs=1e-15)


@given(ANGLE, PITCH, ANGLE)
def test_euler_angles_as_scipy(roll: float, pitch: float, yaw: float) -> None:
    q = from_euler(roll, pitch, yaw)
    theirs = Rotation.from_euler("ZYX", (yaw, pitch, roll))
    assert (scipy_of(q) * theirs.inv()).magnitude() == pytest.approx(0.0, abs=1e-7)
    assert np.reshape(rotation_matrix(*q), (3, 3)) == pytest.approx(theirs.as_matrix(), abs=1e-12)
    assert to_euler(*q) == pytest.approx((roll, pitch, yaw), abs=1e-6)


def test_straight_up_has_a_pitch_and_no_error() -> None:
    """At pitch 90 deg roll and heading are not unique, but the pitch is, and rounding must not take asin beyond 1."""
    for pitch in (math.pi / 2.0, -math.pi / 2.0):
        found = to_euler(*from_euler(0.3, pitch, 0.2))
        assert found[1] == pytest.approx(pitch, abs=1e-7)
        assert all(math.isfinite(angle) for angle in found)
    assert to_euler(math.sqrt(0.5), 0.0, math.sqrt(0.5) + 1e-12, 0.0)[1] == pytest.approx(
        math.pi / 2.0, abs=1e-5
    )


def test_euler_rates() -> None:
    """Roll 45, pitch 60 deg at p, q, r = 0.1, 0.2, 0.3: 0.7123724357, -0.0707106781, 0.7071067812 rad/s (kinematics)."""
    roll, pitch, step = math.radians(45.0), math.radians(60.0), 1e-5
    q = np.array(from_euler(roll, pitch, 0.4))
    change = np.array(quaternion_rate(*q, 0.1, 0.2, 0.3)) * step
    rates = (np.array(to_euler(*(q + change))) - np.array(to_euler(*(q - change)))) / (2.0 * step)
    assert rates == pytest.approx((0.7123724357, -0.0707106781, 0.7071067812), abs=1e-8)


@given(ANGLE, PITCH, ANGLE, RATE, RATE, RATE)
def test_rate_is_the_derivative_of_a_turn_in_body_axes(
    roll: float, pitch: float, yaw: float, p: float, q: float, r: float
) -> None:
    """Scipy turns the body by w dt; the difference quotient is dq/dt. Right factor: body axes."""
    start, dt = from_euler(roll, pitch, yaw), 1e-6
    ahead, back = (
        scipy_of(start) * Rotation.from_rotvec(sign * dt * np.array([p, q, r])) for sign in (1.0, -1.0)
    )
    a, b = (np.roll(turned.as_quat(), 1) for turned in (ahead, back))
    a, b = a * np.sign(a @ start), b * np.sign(b @ start)
    assert quaternion_rate(*start, p, q, r) == pytest.approx((a - b) / (2.0 * dt), abs=1e-5)
    assert np.dot(quaternion_rate(*start, p, q, r), start) == pytest.approx(0.0, abs=1e-12)


@given(st.floats(-1e-3, 1e-3))
def test_renormalise_squares_the_error(error: float) -> None:
    x = np.arange(8.0)
    unit = np.array([0.1, -0.7, 0.5, 0.5])
    x[2:6] = (1.0 + error) * unit / np.linalg.norm(unit)
    renormalise(x, 2)
    assert abs(np.linalg.norm(x[2:6]) - 1.0) <= 1.6 * error**2 + 1e-15
    assert x[[0, 1, 6, 7]] == pytest.approx([0.0, 1.0, 6.0, 7.0], abs=0.0)


@given(ANGLE, PITCH, ANGLE)
def test_the_controllers_keep_a_copy_that_gives_the_same(roll, pitch, yaw):
    """controllers/ stands alone, so it has these two formulas itself; here the copies are held together."""
    q = from_euler(roll, pitch, yaw)
    assert controller_rotation.from_euler(roll, pitch, yaw) == pytest.approx(q, abs=1e-15)
    assert controller_rotation.to_euler(*q) == pytest.approx(to_euler(*q), abs=1e-12)
