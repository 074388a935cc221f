"""Two clocks brought together: offset and drift between a run and a log, from the cross-correlation of the rates."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from quadsim.logs.flight_log import Array, FlightLog
from quadsim.logs.regression import least_squares

RATE_HZ = 200.0
"""Both are brought to so many rows a second."""
PIECES, PIECE_S = 8, 4.0
"""Most pieces that a drift is taken from, and the least length of one [s]; our choice."""
LEAST_RELATED = 0.5
"""Correlation of the rates below which the two are not the same manoeuvres; our choice."""
NEAR_S = 0.5
"""How far from the whole's offset that of a piece is looked for [s]."""


@dataclass(frozen=True)
class Alignment:
    """Log time = run time * (1 + drift) + offset. related : correlation of the rates at that"""

    offset_s: float
    offset_sigma_s: float
    drift: float
    drift_sigma: float
    related: float

    @property
    def same(self) -> bool:
        """Whether the two flew the same manoeuvres."""
        return self.related >= LEAST_RELATED

    def to_log(self, t: Array) -> Array:
        """Times of the run on the log's clock [s]."""
        return np.asarray(t * (1.0 + self.drift) + self.offset_s)


def align(run: FlightLog, log: FlightLog) -> Alignment:
    """Offset and drift of a log's clock against a run's; both must have `gyro`."""
    a, b = _even(run), _even(log)
    lag, related = _best_lag(a, b, None)
    offset = lag / RATE_HZ
    centres, offsets, weights = [], [], []
    length = max(int(PIECE_S * RATE_HZ), a.shape[1] // PIECES)
    for first in range(0, a.shape[1] - length + 1, length):
        piece = a[:, first : first + length]
        near, how = _best_lag(piece, b, (lag + first, int(NEAR_S * RATE_HZ)))
        if how > LEAST_RELATED:
            centres.append((first + 0.5 * length) / RATE_HZ)
            offsets.append((near - first) / RATE_HZ)
            weights.append(how)
    if len(centres) < 3:
        return Alignment(offset, 1.0 / RATE_HZ, 0.0, math.inf, related)
    X = np.stack([np.ones(len(centres)), np.array(centres)], axis=1)
    fit = least_squares(X, np.array(offsets), coloured=False)
    found = Alignment(
        float(fit.theta[0]), float(fit.sigma[0]), float(fit.theta[1]), float(fit.sigma[1]), related
    )
    return Alignment(
        found.offset_s, found.offset_sigma_s, found.drift, found.drift_sigma, _related(run, log, found)
    )


def _even(log: FlightLog) -> Array:
    """Rates at even times, (3, n), each without its mean."""
    t = np.arange(0.0, log.duration_s, 1.0 / RATE_HZ)
    rates = np.stack([np.interp(t, log.t_s, one) for one in log["gyro"].T])
    return np.asarray(rates - rates.mean(axis=1, keepdims=True))


def _best_lag(a: Array, b: Array, near: tuple[float, int] | None) -> tuple[float, float]:
    """Rows by which `a` must be moved to lie on `b`, to a fraction, and the correlation there.

    near : look only (about, within) so many rows
    """
    n, m = a.shape[1], b.shape[1]
    size = 1 << math.ceil(math.log2(n + m))
    cross = np.fft.irfft(np.conj(np.fft.rfft(a, size)) * np.fft.rfft(b, size), size).sum(axis=0)
    lags = np.where(np.arange(size) < m, np.arange(size), np.arange(size) - size)
    power_a, power_b = np.sum(a * a), np.concatenate([[0.0], np.cumsum(np.sum(b * b, axis=0))])
    under = power_b[np.clip(lags + n, 0, m)] - power_b[np.clip(lags, 0, m)]
    part = np.clip(np.minimum(lags + n, m) - np.maximum(lags, 0), 0, None)
    score = cross / np.sqrt(np.maximum(power_a * under, 1e-300))
    allowed = part > 0.5 * min(n, m)
    if near is not None:
        allowed &= np.abs(lags - near[0]) <= near[1]
    if not allowed.any():
        return 0.0, 0.0
    score = np.where(allowed, score, -np.inf)
    k = int(np.argmax(score))
    left, right = cross[k - 1], cross[(k + 1) % size]
    bend = left - 2.0 * cross[k] + right
    shift = 0.5 * (left - right) / bend if bend < 0.0 else 0.0
    return float(lags[k] + np.clip(shift, -0.5, 0.5)), float(np.clip(score[k], -1.0, 1.0))


def _related(run: FlightLog, log: FlightLog, found: Alignment) -> float:
    t = found.to_log(run.t_s)
    inside = (t >= log.t_s[0]) & (t <= log.t_s[-1])
    if inside.sum() < 10:
        return 0.0
    a = run["gyro"][inside] - run["gyro"][inside].mean(axis=0)
    b = np.stack([np.interp(t[inside], log.t_s, one) for one in log["gyro"].T], axis=1)
    b = b - b.mean(axis=0)
    size = float(np.sqrt(np.sum(a * a) * np.sum(b * b)))
    return float(np.sum(a * b)) / size if size > 0.0 else 0.0
