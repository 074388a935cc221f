"""How well two records of one channel agree: bias, rms, correlation, lag, against what is allowed."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from quadsim.logs.flight_log import Array, Mask

LAG_S = 0.1
"""Lags are looked for within this [s]."""


@dataclass(frozen=True)
class Agreement:
    """Of one channel, log less model. bias, rms, allowed : in `unit`; lag_s : by which the log is later, NaN where none is seen;
    spread : standard deviation of the log's own."""

    channel: str
    unit: str
    bias: float
    rms: float
    correlation: float
    lag_s: float
    spread: float
    allowed: float
    why: str

    @property
    def agrees(self) -> bool:
        """Whether the rms stays under what is allowed."""
        return self.rms <= self.allowed


def agreement(
    channel: str, unit: str, t: Array, log: Array, model: Array, rows: Mask, allowed: float, why: str, scale: float = 1.0
) -> Agreement:  # fmt: skip
    """Compare a channel over rows. scale : from SI to `unit`, `allowed` is in SI as the channels"""
    left = (log - model)[rows] * scale
    a, b = log[rows], model[rows]
    size = float(np.std(a) * np.std(b))
    related = float(np.mean((a - a.mean()) * (b - b.mean()))) / size if size > 0.0 else math.nan
    lag = _lag(t, log, model, rows) if related > 0.5 else math.nan
    return Agreement(
        channel, unit, float(np.mean(left)), float(np.sqrt(np.mean(left**2))), related, lag, float(np.std(a)) * scale,
        allowed * scale, why,
    )  # fmt: skip


def _lag(t: Array, log: Array, model: Array, rows: Mask) -> float:
    """Lag of least squared difference of the two about their means [s], by a parabola through three neighbours."""
    at = np.flatnonzero(rows)
    at = at[:: max(1, len(at) // 4000)]
    at = at[(t[at] > t[0] + LAG_S) & (t[at] < t[-1] - LAG_S)]
    if at.size < 20:
        return math.nan
    y = log[at] - log[at].mean()

    def cost(late: float) -> float:
        x = np.interp(t[at] - late, t, model)
        x = x - x.mean()
        size = float(x @ x)
        return float(y @ y) - (float(x @ y) ** 2 / size if size > 0.0 else 0.0)

    step = LAG_S
    best = 0.0
    for _ in range(4):
        step /= 5.0
        tries = best + step * np.arange(-5, 6)
        tries = tries[np.abs(tries) <= LAG_S]
        best = float(tries[int(np.argmin([cost(late) for late in tries.tolist()]))])
    return best if abs(best) < 0.99 * LAG_S else math.nan
