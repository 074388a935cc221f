"""Standard errors that hold when residuals hang together; outside values: verification/test_regression_reference."""

import numpy as np
import pytest

from quadsim.logs.regression import INTERVAL_95, autocorrelation, gauss_newton, least_squares


def drawn(seed, n=600, hang=0.9):
    draw = np.random.default_rng(seed)
    noise, push = np.zeros(n), draw.standard_normal(n)
    drive = np.convolve(draw.standard_normal(n), np.ones(20) / 20.0, mode="same")
    for k in range(1, n):
        noise[k] = hang * noise[k - 1] + push[k]
    return np.stack([drive, np.ones(n)], axis=1), 2.0 * drive - 1.0 + noise


def covered(coloured, runs=150):
    inside = 0
    for seed in range(runs):
        X, y = drawn(seed)
        fit = least_squares(X, y, coloured=coloured)
        inside += abs(fit.theta[0] - 2.0) < INTERVAL_95 * fit.sigma[0]
    return inside / runs


def test_intervals_hold_for_related_residuals_where_the_textbooks_do_not():
    assert covered(True) > 0.87
    assert covered(False) < 0.65


def test_unrelated_residuals_cost_nothing():
    X, y = drawn(1, hang=0.0)
    plain, coloured = least_squares(X, y, coloured=False), least_squares(X, y)
    assert coloured.sigma == pytest.approx(plain.sigma, rel=0.25)


def test_a_prior_holds_what_the_data_do_not():
    X, y = drawn(2, hang=0.0)
    twin = np.column_stack([X[:, 0], X[:, 0], X[:, 1]])
    fit = least_squares(twin, y, prior=np.array([np.inf, 0.1, np.inf]))
    assert fit.theta[0] + fit.theta[1] == pytest.approx(2.0, abs=0.8)
    assert abs(fit.theta[1]) < 0.2
    assert fit.sigma[1] == pytest.approx(0.1, rel=0.1)
    assert fit.correlation[0, 1] < -0.1


def test_autocorrelation_of_a_first_order_process():
    noise = drawn(3, 200_000)[1] - 2.0 * drawn(3, 200_000)[0][:, 0] + 1.0
    assert autocorrelation(noise, 5) == pytest.approx(0.9 ** np.arange(6), abs=0.02)


def test_gauss_newton_on_a_decay():
    t = np.linspace(0.0, 3.0, 200)
    y = 2.0 * np.exp(-0.7 * t) + 0.01 * np.random.default_rng(1).standard_normal(200)
    fit = gauss_newton(
        lambda p: y - p[0] * np.exp(-p[1] * t),
        np.array([1e-3, 1e-3]),
        np.full(2, np.inf),
        np.array([1.0, 1.0]),
    )
    assert fit.theta == pytest.approx([2.0, 0.7], abs=0.01)
    assert np.all(np.abs(fit.theta - [2.0, 0.7]) < 4.0 * fit.sigma)


def test_gauss_newton_does_not_run_away_from_a_far_start():
    """Full steps on an arctangent go ever farther from a start beyond 1.39: a textbook's example, from memory."""
    fit = gauss_newton(
        lambda p: np.arctan(p[0] * np.ones(8)), np.array([1e-3]), np.array([np.inf]), np.array([3.0]), 12
    )
    assert abs(fit.theta[0]) < 1e-3
