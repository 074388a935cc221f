"""Allan deviation of a sensor's record, and what is read off it: white noise N, bias instability B, rate random walk K.

IEEE Std 952-1997, annex C (names, spectra, read-off points); W. J. Riley, Handbook of Frequency Stability Analysis,
NIST SP 1065 (2008), sec. 5.2.4 (overlapping estimate).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

FLOOR = math.sqrt(2.0 * math.log(2.0) / math.pi)
"""Floor of the Allan deviation over the bias instability, 0.664."""


@dataclass(frozen=True)
class ReadOff:
    """One figure read off an Allan plot.

    value : N [unit/sqrt(Hz), two-sided], B [unit] or K [unit/sqrt(s)]
    slope : of the deviation over the cluster time in log-log, fitted in the range (-1/2, 0, +1/2 expected)
    range_s : cluster times that the fit used
    sampling_error : relative standard error of the deviation at the middle of the range
    """

    value: float
    slope: float
    range_s: tuple[float, float]
    sampling_error: float


def overlapping_allan_deviation(record: Array, rate_Hz: float, clusters: NDArray[np.int64]) -> Array:
    """Overlapping Allan deviation (n,) of a record (N,) of rates for clusters of m samples, tau = m/rate.

    sigma^2 = sum (x[k+2m] - 2 x[k+m] + x[k])^2/(2 tau^2 (N - 2m + 1)), x the integral of the record (NIST SP 1065, eq. 11).

    Raises
    ------
    ValueError
        when a cluster is not shorter than half the record, or empty.
    """
    record = np.asarray(record, dtype=float)
    if np.any(clusters < 1) or np.any(2 * clusters > record.size):
        raise ValueError(f"clusters must be 1 to {record.size // 2} samples of a record of {record.size}")
    # the mean is taken out so that the integral stays small: differences of the second kind do not see it
    x = np.concatenate([[0.0], np.cumsum(record - np.mean(record))]) / rate_Hz
    found = []
    for m in clusters:
        second = x[2 * m :] - 2.0 * x[m:-m] + x[: -2 * m]
        found.append(math.sqrt(np.mean(second**2) / 2.0) * rate_Hz / m)
    return np.array(found)


def cluster_sizes(samples: int, per_decade: int = 10, share: float = 1.0 / 9.0) -> NDArray[np.int64]:
    """Sizes evenly spread over the logarithm, up to a share of the record (longer ones are too uncertain to read)."""
    most = max(1, int(samples * share))
    return np.unique(
        np.round(np.geomspace(1, most, 1 + round(per_decade * math.log10(most)))).astype(np.int64)
    )


def sampling_error(seconds: float, tau_s: float) -> float:
    """Relative standard error of an Allan deviation: 1/sqrt(2 (T/tau - 1)) (IEEE Std 952-1997, annex C; from memory)."""
    return 1.0 / math.sqrt(2.0 * (seconds / tau_s - 1.0))


def white_noise_density(
    taus_s: Array, deviation: Array, seconds: float, range_s: tuple[float, float]
) -> ReadOff:
    """N: the line of slope -1/2 through the range, read at tau = 1 s. sigma = N/sqrt(tau)."""
    return _read(taus_s, deviation, seconds, range_s, -0.5, 1.0, 1.0)


def bias_instability(
    taus_s: Array, deviation: Array, seconds: float, range_s: tuple[float, float]
) -> ReadOff:
    """B: the mean level of the floor in the range over 0.664."""
    return _read(taus_s, deviation, seconds, range_s, 0.0, 1.0, FLOOR)


def rate_random_walk(
    taus_s: Array, deviation: Array, seconds: float, range_s: tuple[float, float]
) -> ReadOff:
    """K: the line of slope +1/2 through the range, read at tau = 3 s. sigma = K sqrt(tau/3)."""
    return _read(taus_s, deviation, seconds, range_s, 0.5, 3.0, 1.0)


def _read(
    taus_s: Array,
    deviation: Array,
    seconds: float,
    range_s: tuple[float, float],
    slope: float,
    at_s: float,
    per: float,
) -> ReadOff:
    """Level of the line of a given slope that fits best in log-log, read at a cluster time; beside it the slope left free.

    Each point counts by its sampling error, whose square grows with tau.
    """
    taken = (taus_s >= range_s[0] * (1.0 - 1e-9)) & (taus_s <= range_s[1] * (1.0 + 1e-9))
    if np.count_nonzero(taken) < 2:
        raise ValueError(f"fewer than two cluster times between {range_s[0]:g} and {range_s[1]:g} s")
    along, level, weight = np.log(taus_s[taken] / at_s), np.log(deviation[taken]), 1.0 / taus_s[taken]
    value = math.exp(float(np.average(level - slope * along, weights=weight))) / per
    free = float(np.polyfit(along, level, 1, w=np.sqrt(weight))[0])
    return ReadOff(value, free, range_s, sampling_error(seconds, math.sqrt(range_s[0] * range_s[1])))
