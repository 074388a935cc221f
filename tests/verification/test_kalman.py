"""The Kalman filter against what it claims of itself, and its parts against matrix formulas."""

from __future__ import annotations

import numpy as np
import pytest
from estimator_bench import errors_of
from scipy.linalg import expm, solve_discrete_are
from scipy.stats import chi2

from controllers.kalman_state import ACCEL, GYRO, POSITION, THETA, VELOCITY, Memory, correct, propagate
from controllers.signals import SIGNALS, rows

RUNS, GROUPS, PARTS = 50, 4, 9
COVARIANCE = slice(Memory.COVARIANCE, Memory.COVARIANCE + 225)


def average_nees(noise: float) -> np.ndarray:
    """Averages over groups of RUNS runs."""
    found = np.array([errors_of(seed, noise) for seed in range(RUNS * GROUPS)])
    return np.asarray(found.reshape(GROUPS, RUNS, -1).mean(axis=1))


@pytest.mark.jit
def test_errors_are_as_large_as_the_filter_says() -> None:
    """Average NEES of attitude, velocity and place over 50 runs lies in the two-sided 95 % band of chi-square/50 for about 95 %
    of the time, and is 9 on average (Bar-Shalom, Li, Kirubarajan 2001, sec. 5.4.2). An average wanders in and out slowly, so
    the share of one group of 50 is itself uncertain: four groups, 85 % asked. Half the noise believed: it must not."""
    low, high = chi2.ppf([0.025, 0.975], RUNS * PARTS) / RUNS
    honest, bold = average_nees(1.0), average_nees(0.5**0.5)
    assert np.mean((honest > low) & (honest < high)) > 0.85
    assert np.mean(honest) == pytest.approx(PARTS, rel=0.04)
    assert np.mean((bold > low) & (bold < high)) < 0.4
    assert np.mean(bold) > high


def start(seed: int = 3) -> tuple[np.ndarray, np.ndarray, np.random.Generator]:
    """Memory with a random covariance, and that covariance."""
    draw, memory = np.random.default_rng(seed), np.zeros(512)
    half = draw.normal(size=(15, 15))
    memory[COVARIANCE] = (half @ half.T).ravel()
    return memory, half @ half.T, draw


def test_covariance_in_time_is_the_matrix_exponential() -> None:
    """Attitude and specific force at rest: F = exp(A T) of theta' = -R b, v' = -[R f]x theta - R a, p' = v (Sola 2017, sec. 7);
    scipy.linalg.expm. Left out are the terms of T^2 between non-neighbours: 1e-4 of P after 10 ms, far less after 1 ms."""
    memory, P, draw = start()
    T, R, f = 1e-3, np.linalg.qr(draw.normal(size=(3, 3)))[0], np.array([1.0, -2.0, -9.0])
    u = R @ f
    A = np.zeros((15, 15))
    A[THETA : THETA + 3, GYRO : GYRO + 3] = A[VELOCITY : VELOCITY + 3, ACCEL : ACCEL + 3] = -R
    A[VELOCITY : VELOCITY + 3, THETA : THETA + 3] = np.cross(np.eye(3), -u)  # -[u]x
    A[POSITION : POSITION + 3, VELOCITY : VELOCITY + 3] = np.eye(3)
    memory[Memory.TURNED : Memory.TURNED + 9], memory[Memory.PUSHED : Memory.PUSHED + 3] = (
        (R * T).ravel(),
        u * T,
    )
    memory[Memory.SINCE] = T
    propagate(memory, 2.0, 3.0, 5.0, 7.0)
    Q = np.diag(np.repeat([2.0, 3.0, 0.0, 5.0, 7.0], 3)) * T
    F = expm(A * T)
    assert memory[COVARIANCE].reshape(15, 15) == pytest.approx(F @ P @ F.T + Q, abs=5e-4)
    assert np.max(np.abs(F @ P @ F.T - P)) > 0.1


def test_one_measurement_is_the_matrix_formula() -> None:
    """K = P h/(h^T P h + r), P' = (I - K h^T) P and the correction K z for one element (any textbook); none beyond the gate."""
    for j in (VELOCITY + 1, POSITION + 2, ACCEL):
        memory, P, _ = start()
        s = rows(SIGNALS)[0]
        s.attitude[0] = 1.0
        K = P[:, j] / (P[j, j] + 0.7)
        assert correct(s, memory, j, 0.01, 0.7, 5.0) == 1.0
        assert memory[COVARIANCE].reshape(15, 15) == pytest.approx(P - np.outer(K, P[j]), abs=1e-12)
        assert np.concatenate([s.velocity, s.position]) == pytest.approx(0.01 * K[3:9], abs=1e-12)
        assert 2.0 * s.attitude[1:] == pytest.approx(0.01 * K[:3], abs=1e-4)
        before = memory.copy()
        assert correct(s, memory, j, 1e3, 0.7, 5.0) == 0.0
        assert np.array_equal(memory, before)


@pytest.mark.parametrize(("index", "alpha", "beta"), [(1.0, 0.75, 0.5), (0.1, 0.36, 0.08)])
def test_steady_gain_is_that_of_the_alpha_beta_filter(index: float, alpha: float, beta: float) -> None:
    """P. R. Kalata, The Tracking Index, IEEE Trans. AES 20(2), 1984: lambda = sigma_w T^2/sigma_v. Its model holds a random
    acceleration over each interval; the filter's velocity noise per interval gives the same with the place's share of it put in
    by hand. Alpha and beta are checked against scipy's Riccati equation as well."""
    T = 1.0
    F, h, g = np.array([[1.0, T], [0.0, 1.0]]), np.array([1.0, 0.0]), np.array([0.5 * T * T, T])
    Q = index**2 * np.outer(g, g)
    P = solve_discrete_are(F.T, h[:, None], Q, np.eye(1))
    K = P @ h / (h @ P @ h + 1.0)
    assert pytest.approx((alpha, beta / T), abs=1e-9) == K
    memory, s = np.zeros(512), rows(SIGNALS)[0]
    s.attitude[0] = 1.0
    at = Memory.COVARIANCE + 16 * POSITION
    for _ in range(300):
        memory[Memory.SINCE] = T
        propagate(memory, 0.0, index**2, 0.0, 0.0)
        memory[at] += Q[0, 0]
        for k in (15 * POSITION + VELOCITY, 15 * VELOCITY + POSITION):
            memory[Memory.COVARIANCE + k] += Q[0, 1]
        prior = memory[COVARIANCE].reshape(15, 15)[:, POSITION].copy()
        gain = prior / (prior[POSITION] + 1.0)
        correct(s, memory, POSITION, 0.0, 1.0, 5.0)
    assert (gain[POSITION], gain[VELOCITY]) == pytest.approx((alpha, beta / T), abs=1e-6)
