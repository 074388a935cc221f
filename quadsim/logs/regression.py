"""Least squares with standard errors that stay honest when residuals are related from row to row.

Equation error: V. Klein & E. A. Morelli, Aircraft System Identification, AIAA, 2006, ch. 5 (ordinary least squares, its
covariance s^2 (X'X)^-1, and the correction for coloured residuals); from memory. The correction is the sandwich
(X'X)^-1 [sum over lags of x_i R(i-j) x_j'] (X'X)^-1; lags are weighted as W. K. Newey & K. D. West, Econometrica 55, 1987,
703-708, have it, which keeps it positive.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

FADED = 0.05
"""Correlation of residuals below which they count as unrelated; our choice."""
REACH = 3
"""Lags that are summed over those after which residuals are unrelated; our choice."""
MOST = 0.2
"""Share of the rows that lags may reach over at most, as Klein & Morelli."""
GROWN, HALVINGS = 1.01, 8
"""A step that makes the squares larger than by this factor is halved, at most so often; our choice."""
INTERVAL_95 = 1.959964
"""Standard normal quantile of a two-sided interval of 95 %."""


@dataclass(frozen=True)
class Fit:
    """Estimates with covariance. residual : y - X theta; explained : share of y's variance (R squared)"""

    theta: Array
    covariance: Array
    residual: Array
    explained: float

    @property
    def sigma(self) -> Array:
        """Standard errors, one an estimate."""
        return np.asarray(np.sqrt(np.diag(self.covariance)))

    @property
    def correlation(self) -> Array:
        """Correlation matrix of the estimates."""
        return np.asarray(self.covariance / np.outer(self.sigma, self.sigma))


def least_squares(X: Array, y: Array, coloured: bool = True, prior: Array | None = None) -> Fit:
    """theta that minimises |y - X theta|, with its covariance.

    Parameters
    ----------
    X : regressors (n, p); y : (n,)
    coloured : residuals may be related from row to row; else the textbook's s^2 (X'X)^-1
    prior : standard deviations about 0 of what is known of theta beforehand (p,); infinite where nothing is
    """
    n, p = X.shape
    scale = np.linalg.norm(X, axis=0)
    scale = np.where(scale > 0.0, scale, 1.0)
    S = X / scale  # columns of one size: the normal equations of raw ones lose half the digits
    known = np.zeros(p) if prior is None else 1.0 / (np.asarray(prior) * scale) ** 2
    theta = _solve(S, y, np.zeros(p))
    weight = 1.0
    for _ in range(3 if known.any() else 1):
        residual = y - S @ theta
        lags = _lags(residual) if coloured else 0
        variance = float(residual @ residual) / max(n - p, 1)
        weight = max(variance * _inflation(residual, lags), 1e-300)
        if known.any():
            theta = _solve(S, y, known * weight)
    residual = y - S @ theta
    bread = np.linalg.inv(S.T @ S + np.diag(known * weight))
    if lags:
        covariance = (
            bread @ (_meat(S, residual, lags) * n / max(n - p, 1) + np.diag(known * weight**2)) @ bread
        )
    else:
        covariance = bread * variance
    spread = float(np.sum((y - y.mean()) ** 2))
    explained = 1.0 - float(residual @ residual) / spread if spread > 0.0 else 0.0
    return Fit(theta / scale, covariance / np.outer(scale, scale), residual, explained)


def _solve(S: Array, y: Array, known: Array) -> Array:
    """By orthogonal factors of [S; sqrt(known)], which keeps the digits that normal equations lose."""
    rows = np.concatenate([S, np.diag(np.sqrt(known))]) if known.any() else S
    target = np.concatenate([y, np.zeros(len(known))]) if known.any() else y
    return np.asarray(np.linalg.lstsq(rows, target, rcond=None)[0])


def autocorrelation(values: Array, most: int) -> Array:
    """Of values about their mean, at lags 0 to `most`."""
    centred = values - values.mean()
    size = 1 << math.ceil(math.log2(len(values) + most + 1))
    spectrum = np.abs(np.fft.rfft(centred, size)) ** 2
    found = np.fft.irfft(spectrum, size)[: most + 1]
    return np.asarray(found / found[0]) if found[0] > 0.0 else np.concatenate([[1.0], np.zeros(most)])


def _lags(residual: Array) -> int:
    most = max(int(MOST * len(residual)), 1)
    related = np.abs(autocorrelation(residual, most)) > FADED
    first = int(np.argmin(related)) if not related.all() else most
    return min(REACH * first, most)


def _inflation(residual: Array, lags: int) -> float:
    """Long-run variance of residuals over their variance, at least 1."""
    if not lags:
        return 1.0
    related = autocorrelation(residual, lags)[1:]
    weights = 1.0 - np.arange(1, lags + 1) / (lags + 1.0)
    return max(1.0 + 2.0 * float(weights @ related), 1.0)


def _meat(S: Array, residual: Array, lags: int) -> Array:
    """Sum over lags of x_i e_i e_j x_j', weights falling to 0, by one convolution a column."""
    scores = S * residual[:, None]
    n, p = scores.shape
    size = 1 << math.ceil(math.log2(n + lags + 1))
    spectra = np.fft.rfft(scores, size, axis=0)
    weights = 1.0 - np.arange(0, lags + 1) / (lags + 1.0)
    total = np.zeros((p, p))
    for a in range(p):
        for b in range(p):
            cross = np.fft.irfft(np.conj(spectra[:, a]) * spectra[:, b], size)
            total[a, b] = weights @ cross[: lags + 1] + weights[1:] @ cross[-1 : -lags - 1 : -1]
    return 0.5 * (total + total.T)


def gauss_newton(
    residuals: Callable[[Array], Array],
    steps: Array,
    prior: Array,
    start: Array | None = None,
    passes: int = 6,
) -> Fit:
    """Output error: theta that minimises |residuals(theta)|^2 with sensitivities by differences.

    R. E. Maine & K. W. Iliff, Identification of Dynamic Systems, NASA RP-1138, 1985 (modified Newton-Raphson; from memory).

    steps : of each theta for the differences (p,); prior : standard deviations about `start` (p,), infinite where none
    """
    first = np.zeros(len(steps)) if start is None else np.asarray(start, dtype=float)
    theta = first.copy()
    for _ in range(passes):
        e = residuals(theta)
        columns = [
            (residuals(theta + d) - residuals(theta - d)) / (2.0 * s)
            for d, s in zip(np.diag(steps), steps, strict=True)
        ]
        X = -np.stack(columns, axis=1)
        # the prior is about `start`: shift the target so that theta - first is what is solved for
        fit = least_squares(X, e + X @ (theta - first), prior=prior)
        change = fit.theta + first - theta
        size = float(e @ e)
        for _ in range(HALVINGS):
            tried = residuals(theta + change)
            if float(tried @ tried) <= GROWN * size:  # false for what is not finite, too
                break
            change = 0.5 * change
        theta = theta + change
        if np.all(np.abs(change) < 1e-3 * np.maximum(fit.sigma, 1e-12)):
            break
    return Fit(theta, fit.covariance, residuals(theta), fit.explained)
