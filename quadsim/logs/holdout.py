"""Which rows of a log make the fit and which are kept back to judge it: stretches that take turns."""

from __future__ import annotations

import numpy as np

from quadsim.logs.flight_log import Array, FlightLog, Mask

STRETCHES = 12
"""Stretches of the time in the air; every third is kept back. Our choice: both parts then see all of a flight."""
KEPT_BACK = 3


def split(log: FlightLog, flying: Mask) -> tuple[Mask, Mask]:
    """Rows of the fit and rows kept back, both in the air."""
    if not flying.any():
        return flying, flying
    first, last = float(log.t_s[flying][0]), float(log.t_s[flying][-1])
    share = (log.t_s - first) / max(last - first, 1e-9)
    number = np.clip((share * STRETCHES).astype(int), 0, STRETCHES - 1)
    back = number % KEPT_BACK == KEPT_BACK - 1
    return flying & ~back, flying & back


def blocks(log: FlightLog, rate_Hz: float) -> FlightLog:
    """The log with the means of blocks of rows, at no more than a rate; as it is when it is slower already."""
    every = int(log.rate_Hz / rate_Hz)
    if every < 2:
        return log
    n = len(log) // every * every

    def mean(values: Array) -> Array:
        return np.asarray(values[:n].reshape(n // every, every, *values.shape[1:]).mean(axis=1))

    return FlightLog(log.path, mean(log.t_s), {name: mean(values) for name, values in log.channels.items()})


def mask_of(whole: FlightLog, mask: Mask, blocked: FlightLog) -> Mask:
    """A mask over the rows of a log for the blocks of it: all rows must be in it, as far as one can see."""
    at = np.clip(np.searchsorted(whole.t_s, blocked.t_s), 0, len(whole) - 1)
    return np.asarray(mask[at] & mask[np.maximum(at - 1, 0)])
