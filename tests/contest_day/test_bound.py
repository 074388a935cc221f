"""Ranges of go and no-go: ends between neighbours, the range around today, and one word for it."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from quadsim.contest_day.bound import CAUTION, GO, NEVER, NO_GO, Bound, kept_range, worst

GRID = np.arange(-10.0, 46.0, 5.0)


@given(st.floats(-9.5, 15.0), st.floats(0.0, 15.0), st.floats(-20.0, 60.0))
def test_a_straight_roof_ends_where_it_does(low, width, today):
    # least of two straight lines; their kink lies a piece of the grid or more from either end
    high = low + width + 10.1
    left = np.minimum(GRID - low, high - GRID)
    found = kept_range(GRID, left, today)
    assert found[0] == pytest.approx(low, abs=1e-9)
    assert found[1] == pytest.approx(high, abs=1e-9)


def test_ends_beyond_the_grid_are_open():
    assert kept_range(GRID, np.ones_like(GRID), 8.0) == (-math.inf, math.inf)
    assert kept_range(GRID, GRID - 7.5, 8.0) == (7.5, math.inf)


def test_of_two_ranges_the_one_around_today_and_else_the_nearest():
    left = np.array([1.0, -1.0, -1.0, 1.0, -1.0])
    grid = np.arange(5.0)
    assert kept_range(grid, left, 3.1) == (2.5, 3.5)
    assert kept_range(grid, left, 1.0) == (-math.inf, 0.5)
    assert kept_range(grid, left, 2.0) == (2.5, 3.5)


def test_never_is_no_go():
    assert kept_range(GRID, -np.ones_like(GRID), 8.0) is NEVER
    assert Bound("air", "deg C", 8.0, NEVER, NEVER, "").verdict == NO_GO


def test_words():
    bound = [Bound("gust", "m/s", today, (0.0, 6.0), (0.0, 9.0), "") for today in (5.0, 7.0, 9.5)]
    assert [one.verdict for one in bound] == [GO, CAUTION, NO_GO]
    assert worst([GO, CAUTION, GO]) == CAUTION
    assert worst([one.verdict for one in bound]) == NO_GO
