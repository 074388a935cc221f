"""Judging flown passages: inside, outside, from behind, struck; rooms against distances worked out by hand."""

import numpy as np
import pytest

from quadsim.contest.lap_passages import judge
from tests.planning.course_cases import a_gate

GATES = [a_gate("first", 5.0), a_gate("second", 12.0)]
PLANNED = np.array([1.0, 2.4])
POINTS = np.array([[5.0, 0.0, -2.0], [12.0, 0.0, -2.0]])


def flight(right=0.0, height=2.0, back=False):
    """5 m/s along north at a constant offset, 100 samples a second."""
    t = np.arange(0.0, 3.0, 0.01)
    north = 5.0 * t if not back else 15.0 - 5.0 * t
    return t, np.stack([north, np.full_like(t, right), np.full_like(t, -height)], axis=1)


def judged(*args, radius=0.2, **keys):
    return judge(GATES, PLANNED, POINTS, *flight(*args, **keys), radius)


def test_through_the_middle():
    first, second = judged()
    assert first.passed and second.passed
    assert first.flown_s == pytest.approx(1.0) and second.flown_s == pytest.approx(2.4)
    assert first.off_m == pytest.approx(0.0, abs=1e-9)
    assert first.room_m == pytest.approx(1.0 - 0.2, abs=1e-6)


def test_room_to_the_nearest_edge():
    first, _ = judged(right=0.5, height=2.3)
    assert first.off_m == pytest.approx(np.hypot(0.5, 0.3))
    assert first.room_m == pytest.approx(0.5 - 0.2, abs=1e-3)


def test_a_frame_struck_is_no_passage():
    first, second = judged(right=0.9)
    assert np.isfinite(first.flown_s) and first.room_m == pytest.approx(-0.1, abs=1e-3)
    assert not first.passed and not second.passed


def test_beside_the_gate_is_missed():
    first, second = judged(right=1.6)
    assert not first.passed and not second.passed
    assert np.isnan(first.flown_s) and first.off_m == pytest.approx(1.6)


def test_from_behind_does_not_count():
    assert not any(one.passed for one in judged(back=True))


def test_never_there_is_missed():
    t, places = flight()
    first, second = judge(GATES, PLANNED, POINTS, t, places - np.array([20.0, 0.0, 0.0]), 0.2)
    assert np.isnan(first.flown_s) and np.isnan(second.off_m)
