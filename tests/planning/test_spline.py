"""The spline's own properties: what is continuous, what is least, and gradients against differences."""

import numpy as np
import pytest

from quadsim.planning import band_kernels
from quadsim.planning.spline import Knots, cost_and_gradients, minimum_control

ORDERS = pytest.mark.parametrize("order", [2, 3, 4])


def bumpy(order, seed=3, count=5):
    rng = np.random.default_rng(seed)
    return rng.uniform(-3.0, 3.0, (count + 1, 3)), rng.uniform(0.4, 1.6, count)


@ORDERS
def test_passes_its_points_at_rest_ends(order):
    points, durations = bumpy(order)
    spline = minimum_control(points, durations, order)
    assert np.allclose(spline.at(spline.knots), points, atol=1e-9)
    for k in range(1, order):
        assert np.allclose(spline.at(spline.knots[[0, -1]], k), 0.0, atol=1e-7)


@ORDERS
def test_derivatives_are_continuous_up_to_2s_minus_2(order):
    points, durations = bumpy(order)
    spline = minimum_control(points, durations, order)
    inner = spline.knots[1:-1]
    for k in range(2 * order - 1):
        before, after = spline.at(inner - 1e-9, k), spline.at(inner + 1e-9, k)
        assert np.allclose(before, after, rtol=1e-5, atol=1e-4 * np.abs(after).max())


@ORDERS
def test_another_curve_through_the_same_points_costs_more(order):
    points, durations = bumpy(order)
    knots = Knots(durations, order)
    least = minimum_control(points, durations, order)
    halved = Knots(np.repeat(durations / 2.0, 2), order)
    middle = least.at(least.knots[:-1] + durations / 2.0) + 0.01
    through = np.empty((2 * len(durations) + 1, 3))
    through[::2], through[1::2] = points, middle
    begin, end = np.zeros((order, 3)), np.zeros((order, 3))
    begin[0], end[0] = points[0], points[-1]
    other = halved.spline(begin, through[1:-1], end)
    assert other.cost() > least.cost() * (1.0 + 1e-9)
    assert knots.spline(begin, points[1:-1], end).cost() == pytest.approx(least.cost())


@ORDERS
def test_gradients_agree_with_differences(order):
    points, durations = bumpy(order, count=4)
    rng = np.random.default_rng(5)
    begin, end = rng.normal(size=(order, 3)), rng.normal(size=(order, 3))

    def cost(begin, points, end, durations):
        return Knots(durations, order).spline(begin, points, end).cost()

    knots = Knots(durations, order)
    spline = knots.spline(begin, points[1:-1], end)
    _, by_c, by_t = cost_and_gradients(spline)
    found = knots.back(spline, by_c, by_t)
    parts = [begin, points[1:-1], end, durations]
    for k, part in enumerate(parts):
        way = rng.normal(size=part.shape)
        low, high = ([*parts[:k], part + h * way, *parts[k + 1 :]] for h in (-1e-6, 1e-6))
        slope = (cost(*high) - cost(*low)) / 2e-6
        assert np.sum(found[k] * way) == pytest.approx(slope, rel=2e-5)


@ORDERS
def test_factors_without_pivots_solve_the_system(order):
    """Both ways against a library's solver with pivots, for durations as far apart as a search lets them be."""
    durations = np.exp(np.random.default_rng(6).uniform(np.log(0.05), np.log(5.0), 12))
    knots = Knots(durations, order)
    size, band = 2 * order * len(durations), 2 * order
    rows = np.empty((size, 2 * band + 1))
    band_kernels.fill(knots.ends, order, rows)
    full = np.zeros((size, size))
    for i in range(size):
        for j in range(max(i - band, 0), min(i + band + 1, size)):
            full[i, j] = rows[i, band + j - i]
    assert band_kernels.factor(rows, band)
    asked = np.random.default_rng(7).normal(size=(size, 3))
    for matrix, solve in ((full, band_kernels.solve), (full.T, band_kernels.solve_transposed)):
        found = asked.copy()
        solve(rows, band, found)
        scale = np.abs(matrix) @ np.abs(found) + np.abs(asked)
        assert np.max(np.abs(matrix @ found - asked) / scale) < 1e-9
        assert found == pytest.approx(
            np.linalg.solve(matrix, asked), rel=1e-3, abs=1e-6 * np.abs(found).max()
        )


def test_a_piece_without_a_duration_is_refused():
    with pytest.raises(np.linalg.LinAlgError, match="no duration"):
        Knots(np.array([1.0, 0.0]), 3)
