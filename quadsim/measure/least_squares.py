"""Least squares with the rows that do not belong marked, and a refusal where the rows cannot tell the unknowns apart.

Outliers: the largest externally studentised residual against Student's t with Bonferroni's bound, one row at a time
(R. D. Cook & S. Weisberg, Residuals and Influence in Regression, 1982, sec. 2.2.2; from memory). Covariance of nonlinear
fits: s^2 (J'J)^-1 at the minimum, as the certified values of NIST's Statistical Reference Datasets have it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

LEVEL = 0.01
"""Probability that a sound table loses a row. Our choice."""
MOST_LEFT_OUT = 0.2
"""Share of the rows that may be left out; more than that is no outlier but another law. Our choice."""
FEWEST_TO_LEAVE = 4
"""Rows from which one may be left out in any case. Our choice."""
ALIKE = 1e-7
"""Singular value over the greatest, columns scaled to one length, below which unknowns cannot be told apart."""


class UndeterminedError(ValueError):
    """The rows cannot tell the unknowns."""


@dataclass(frozen=True)
class Fit:
    """Least squares: values and their standard errors (p,), covariance (p, p), residuals of all rows (n,) in the unit of y,
    standard deviation of the residuals of those kept, which rows were kept (n,), degrees of freedom."""

    values: Array
    sigmas: Array
    covariance: Array
    residuals: Array
    sigma: float
    kept: NDArray[np.bool_]
    freedom: int


def linear(design: Array, y: Array, weights: Array | None = None) -> Fit:
    """Fit y = design @ values; `weights` (n,) multiply the residuals (one over their standard deviation, up to a factor).

    With as many rows as unknowns the standard errors are infinite.

    Raises
    ------
    UndeterminedError
        when two columns cannot be told apart, or there are fewer rows than unknowns.
    """
    w = np.ones(y.size) if weights is None else weights
    rows, unknowns = design.shape
    if rows < unknowns:
        raise UndeterminedError(f"{rows} rows for {unknowns} unknowns")
    a = design * w[:, None]
    scale = np.linalg.norm(a, axis=0)
    if np.any(scale == 0.0):
        raise UndeterminedError("a column of nothing but zeros")
    u, s, vt = np.linalg.svd(a / scale, full_matrices=False)
    if s[-1] < ALIKE * s[0]:
        raise UndeterminedError("two unknowns act alike in every row")
    values = (vt.T @ ((u.T @ (y * w)) / s)) / scale
    residuals = y - design @ values
    freedom = rows - unknowns
    spread = math.sqrt(float(np.sum((residuals * w) ** 2)) / freedom) if freedom else math.inf
    half = vt.T / s / scale[:, None]
    covariance = (half @ half.T) * (spread**2 if freedom else math.inf)
    return Fit(
        values, np.sqrt(np.diag(covariance)), covariance, residuals, spread, np.ones(rows, dtype=bool), freedom
    )  # fmt: skip


def without_outliers(design: Array, y: Array, weights: Array | None = None, least: float = 0.0) -> Fit:
    """Like `linear`, with rows left out one at a time whose residual is far beyond what the others scatter.

    least : residuals up to this, in the unit of y times weight, are never outliers
    """
    w = np.ones(y.size) if weights is None else weights
    kept = np.ones(y.size, dtype=bool)
    most = max(int(MOST_LEFT_OUT * y.size), int(y.size >= FEWEST_TO_LEAVE))
    while True:
        fit = linear(design[kept], y[kept], w[kept])
        worst = _worst(design[kept] * w[kept][:, None], fit, w[kept], least)
        if worst is None or np.count_nonzero(~kept) >= most:
            residuals = y - design @ fit.values
            return Fit(
                fit.values, fit.sigmas, fit.covariance, residuals, fit.sigma, kept, fit.freedom
            )  # fmt: skip
        kept[np.flatnonzero(kept)[worst]] = False


def _worst(a: Array, fit: Fit, w: Array, least: float) -> int | None:
    """Index of the row that is an outlier most; None when none is."""
    from scipy.special import stdtrit

    rows, unknowns = a.shape
    freedom = rows - unknowns - 1
    if freedom < 1:
        return None
    q, _ = np.linalg.qr(a)
    left = np.maximum(1.0 - np.sum(q**2, axis=1), 1e-12)
    r = fit.residuals * w
    others = (float(r @ r) - r**2 / left) / freedom
    t = np.abs(r) / np.sqrt(np.maximum(others, 1e-300) * left)
    far = (t > float(stdtrit(freedom, 1.0 - LEVEL / (2.0 * rows)))) & (np.abs(r) > least)
    return int(np.argmax(np.where(far, t, -1.0))) if far.any() else None


def curve(
    model: Callable[[Array], Array],
    y: Array,
    start: Sequence[float],
    scale: Sequence[float],
    low: Sequence[float] | None = None,
    high: Sequence[float] | None = None,
) -> Fit:
    """Nonlinear least squares of y = model(values) from `start`; `scale`: what counts as a change of each value.

    Raises
    ------
    UndeterminedError
        when the minimum is flat along a value.
    """
    from scipy.optimize import least_squares

    bounds = (
        -np.inf if low is None else np.asarray(low, dtype=float),
        np.inf if high is None else np.asarray(high, dtype=float),
    )
    if y.size < len(start):
        raise UndeterminedError(f"{y.size} rows for {len(start)} unknowns")
    found = least_squares(
        lambda v: y - model(v), start, x_scale=np.asarray(scale, dtype=float), bounds=bounds,
        xtol=1e-14, ftol=1e-14, gtol=1e-14, method="trf", max_nfev=2000, jac="3-point",
    )  # fmt: skip
    jacobian = found.jac
    length = np.linalg.norm(jacobian, axis=0)
    if np.any(length == 0.0):
        raise UndeterminedError("a value changes nothing")
    _, s, vt = np.linalg.svd(jacobian / length, full_matrices=False)
    if s[-1] < ALIKE * s[0]:
        raise UndeterminedError("two unknowns act alike in every row")
    freedom = y.size - len(start)
    residuals = y - model(found.x)
    spread = math.sqrt(float(residuals @ residuals) / freedom) if freedom else math.inf
    half = vt.T / s / length[:, None]
    covariance = (half @ half.T) * (spread**2 if freedom else math.inf)
    return Fit(
        found.x, np.sqrt(np.diag(covariance)), covariance, residuals, spread, np.ones(y.size, dtype=bool), freedom
    )  # fmt: skip


def apart(residuals: Array) -> float:
    """By how much standard errors grow where neighbouring residuals hang together: sqrt((1 + r)/(1 - r)), r their correlation.

    G. V. Bayley & J. M. Hammersley, J. R. Stat. Soc. Suppl. 8(2), 1946, 184-197 (from memory), for a first-order process.
    """
    if residuals.size < 4:
        return 1.0
    power = float(residuals @ residuals)
    r = float(residuals[1:] @ residuals[:-1]) / power if power > 0.0 else 0.0
    r = min(max(r, 0.0), 0.99)
    return math.sqrt((1.0 + r) / (1.0 - r))
