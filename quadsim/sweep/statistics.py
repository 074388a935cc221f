"""How sure figures from so many flights are: quantiles, a share with its interval, a rank correlation with its interval."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

LEVEL = 0.95
"""Probability that an interval holds the true value."""


def half_width(level: float = LEVEL) -> float:
    """Standard deviations either side of the middle of a normal distribution."""
    from scipy.special import ndtri

    return float(ndtri(0.5 + 0.5 * level))


def wilson(passed: int, flown: int, level: float = LEVEL) -> tuple[float, float]:
    """Interval of the share that passes, from `passed` of `flown` flights; (0, 1) without a flight.

    E. B. Wilson, J. Am. Stat. Assoc. 22(158), 1927, 209-212; recommended for small numbers by L. D. Brown, T. T. Cai and
    A. DasGupta, Interval estimation for a binomial proportion, Statistical Science 16(2), 2001, 101-133, eq. (4). It counts
    flights as independent; draws that fill the space evenly, as ours do, are at least as good.
    """
    if flown == 0:
        return 0.0, 1.0
    share, z2 = passed / flown, half_width(level) ** 2
    middle = (passed + z2 / 2.0) / (flown + z2)
    reach = math.sqrt(z2 * flown) / (flown + z2) * math.sqrt(share * (1.0 - share) + z2 / (4.0 * flown))
    return (0.0 if passed == 0 else middle - reach), (1.0 if passed == flown else middle + reach)


def quantiles(values: Array) -> tuple[float, float, float]:
    """5 %, median and 95 % of the finite values; NaN without one. Linear between neighbours."""
    known = values[np.isfinite(values)]
    if known.size == 0:
        return math.nan, math.nan, math.nan
    low, middle, high = np.quantile(known, (0.05, 0.5, 0.95)).tolist()
    return low, middle, high


def ranks(values: Array) -> Array:
    """Ranks from 1; equal values share the mean of theirs."""
    order = np.argsort(values, kind="stable")
    _, place, count = np.unique(values[order], return_inverse=True, return_counts=True)
    last = np.cumsum(count)
    found = np.empty(values.size)
    found[order] = (last - (count - 1) / 2.0)[place]
    return found


def rank_correlation(a: Array, b: Array) -> float:
    """Spearman's: Pearson's correlation of the ranks; NaN where either does not vary."""
    a, b = ranks(a) - (a.size + 1) / 2.0, ranks(b) - (b.size + 1) / 2.0
    norm = math.sqrt(float(a @ a) * float(b @ b))
    return float(a @ b) / norm if norm > 0.0 else math.nan


def correlation_interval(correlation: float, count: int, level: float = LEVEL) -> tuple[float, float]:
    """Interval of a rank correlation from `count` pairs: tanh(atanh r -+ z sqrt((1 + r^2/2)/(n - 3))).

    D. G. Bonett, T. A. Wright, Sample size requirements for estimating Pearson, Kendall and Spearman correlations,
    Psychometrika 65(1), 2000, 23-28, doi 10.1007/BF02294183.
    """
    if count < 5 or not math.isfinite(correlation):
        return -1.0, 1.0
    r = min(max(correlation, -1.0 + 1e-9), 1.0 - 1e-9)
    reach = half_width(level) * math.sqrt((1.0 + r * r / 2.0) / (count - 3))
    return math.tanh(math.atanh(r) - reach), math.tanh(math.atanh(r) + reach)
