"""Nested choice of settings and the bootstrap over families."""

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[2] / "tools"))
from unseen_families import LIMITS, badness, chances

LIMIT = LIMITS["chord_75"]


def test_settings_are_judged_without_the_family_itself() -> None:
    """Of family a only the others' errors with a left out as well count."""
    one = np.array([LIMIT])[:, :4].copy()
    one[0, 3] = 5.0
    found = {
        ("chord_75", "a", frozenset("a")): 9.0 * one,
        ("chord_75", "b", frozenset("b")): 7.0 * one,
        ("chord_75", "a", frozenset("ab")): 5.0 * one,
        ("chord_75", "b", frozenset("ab")): 1.0 * one,
    }
    assert badness(found, "a") == pytest.approx(0.75), "three limits met exactly, the fourth has none"
    assert badness(found, "b") == pytest.approx(5.0 * 0.75)


def test_chance_to_miss_is_that_of_the_binomial() -> None:
    """Eight families of one propeller, three of which miss: the median of seven misses when four or more do."""
    rows = {str(k): np.full((1, 4), 99.0 if k < 3 else 0.0) for k in range(8)}
    share, draws = 3.0 / 8.0, 4000
    exact = sum(_choose(7, k) * share**k * (1.0 - share) ** (7 - k) for k in range(4, 8))
    (low, high), missed = chances(rows, LIMIT, 7)
    assert missed[:3] == pytest.approx(exact, abs=4.0 * (exact * (1.0 - exact) / draws) ** 0.5)
    assert missed[3] == 0.0, "nothing is required of it"
    assert np.all(low <= high)


def _choose(n: int, k: int) -> float:
    return float(np.prod([(n - i) / (i + 1) for i in range(k)]))
