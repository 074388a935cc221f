"""Allocation of any four rotors, against the pseudo-inverse of numpy and by statics."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quadsim.config.resolve_builder import allocation_of

ARM = st.floats(0.04, 0.4)


def rotors(
    places: np.ndarray, spin: np.ndarray, inertia: tuple[float, float, float] = (3e-3, 4e-3, 7e-3)
) -> np.ndarray:
    """Effectiveness of rotors at (forward, right) with torque over thrust of 0.012 m: moment (-y T, x T, -s c T)."""
    moments = np.array([-places[:, 1], places[:, 0], -0.012 * spin])
    return np.vstack([moments / np.array(inertia)[:, None], np.ones(4)])


@settings(deadline=None)
@given(front=ARM, rear=ARM, width=ARM, shift=st.floats(-0.03, 0.03), skew=st.floats(-0.03, 0.03))
def test_any_stretched_and_shifted_layout_gives_what_is_asked(
    front: float, rear: float, width: float, shift: float, skew: float
) -> None:
    """X, H, stretched, offset centre of mass: effectiveness times allocation is the unit matrix."""
    places = np.array([[front, width], [-rear, width + skew], [-rear, -width], [front, -width]])
    places += np.array([shift, 0.01])
    matrix = rotors(places, np.array([1.0, -1.0, 1.0, -1.0]))
    allocation, lost = allocation_of(matrix)
    assert not lost
    assert matrix @ allocation == pytest.approx(np.eye(4), abs=1e-8)


def test_a_plus_layout() -> None:
    """Front and rear give pitch alone, left and right roll alone (statics)."""
    places = np.array([[0.1, 0.0], [0.0, 0.1], [-0.1, 0.0], [0.0, -0.1]])
    allocation, lost = allocation_of(rotors(places, np.array([1.0, -1.0, 1.0, -1.0])))
    assert not lost
    assert allocation[[0, 2], 0] == pytest.approx([0.0, 0.0], abs=1e-12)
    assert allocation[[1, 3], 1] == pytest.approx([0.0, 0.0], abs=1e-12)
    assert allocation[:, 3] == pytest.approx([0.25] * 4)


def test_rotors_that_all_turn_one_way_keep_roll_pitch_and_thrust() -> None:
    """Their torques add up and never cancel: yaw follows the thrust. Least thrusts: numpy's pseudo-inverse of the three rows."""
    places = np.array([[0.1, 0.1], [-0.1, 0.1], [-0.1, -0.1], [0.1, -0.1]])
    matrix = rotors(places, np.ones(4))
    allocation, lost = allocation_of(matrix)
    assert lost == ("yaw",)
    kept = [0, 1, 3]
    assert allocation[:, kept] == pytest.approx(np.linalg.pinv(matrix[kept]), abs=1e-9)
    assert matrix[kept] @ allocation[:, kept] == pytest.approx(np.eye(3), abs=1e-9)
    assert np.all(allocation[:, 2] == 0.0)


def test_rotors_in_one_line_are_named() -> None:
    places = np.array([[0.2, 0.0], [0.1, 0.0], [-0.1, 0.0], [-0.2, 0.0]])
    allocation, lost = allocation_of(rotors(places, np.array([1.0, -1.0, 1.0, -1.0])))
    assert "roll" in lost
    assert np.all(np.isfinite(allocation))
