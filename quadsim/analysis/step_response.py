"""Figures of a step response: rise, peak, overshoot, settling."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from quadsim.errors import InputError


@dataclass(frozen=True)
class StepResponse:
    """Times count from the step [s]; NaN where the response never gets there.

    rise_s : from 10 to 90 % of the step; full_rise_s : from the step to its first 100 %
    peak_s, overshoot_pct : time of the greatest excess over the step, and that excess in % of it (0 when there is none)
    settle_2_s, settle_5_s : from when on it stays within 2 % and 5 % of the step
    """

    rise_s: float
    full_rise_s: float
    peak_s: float
    overshoot_pct: float
    settle_2_s: float
    settle_5_s: float


def step_response(
    t: ArrayLike, y: ArrayLike, *, final: float | None = None, initial: float | None = None
) -> StepResponse:
    """Figures of the response y (n,) over times t (n,) [s] to a step at t[0], interpolated between samples.

    Parameters
    ----------
    final : value the step asks for; the last sample if not given
    initial : value before the step; the first sample if not given

    Definitions: K. Ogata, Modern Control Engineering, 5th ed. (2010), sec. 5-3.

    Raises
    ------
    InputError
        for times that do not grow, sizes that differ, or a step of no height.
    """
    times, values = np.asarray(t, dtype=float), np.asarray(y, dtype=float)
    if times.ndim != 1 or times.shape != values.shape or times.size < 2:
        raise InputError(
            f"t and y have shapes {times.shape} and {values.shape}; must be equal, (n,) with n of 2 or more"
        )
    if not (np.all(np.isfinite(times)) and np.all(np.isfinite(values)) and np.all(np.diff(times) > 0.0)):
        raise InputError("t and y hold a value that is not finite, or t does not grow; give a clean record")
    start = float(values[0] if initial is None else initial)
    height = float(values[-1] if final is None else final) - start
    if height == 0.0:
        raise InputError(
            f"the step goes from {start:g} to {start:g}; must have a height. Name final= or initial="
        )
    since, share = times - times[0], (values - start) / height
    low, high = _first_above(since, share, 0.1), _first_above(since, share, 0.9)
    peak, excess = _peak(since, share)
    return StepResponse(
        rise_s=high - low,
        full_rise_s=_first_above(since, share, 1.0),
        peak_s=peak,
        overshoot_pct=100.0 * excess,
        settle_2_s=_settled(since, share, 0.02),
        settle_5_s=_settled(since, share, 0.05),
    )


def _first_above(t: NDArray[np.float64], share: NDArray[np.float64], level: float) -> float:
    """Time of the first crossing of a level, by straight lines between samples."""
    above = np.flatnonzero(share >= level)
    if above.size == 0:
        return float("nan")
    k = int(above[0])
    if k == 0:
        return float(t[0])
    part = (level - share[k - 1]) / (share[k] - share[k - 1])
    return float(t[k - 1] + part * (t[k] - t[k - 1]))


def _peak(t: NDArray[np.float64], share: NDArray[np.float64]) -> tuple[float, float]:
    """Time and height of the greatest excess over the step; NaN and 0 without one."""
    k = int(np.argmax(share))
    excess = float(share[k]) - 1.0
    return (float(t[k]), excess) if excess > 0.0 else (float("nan"), 0.0)


def _settled(t: NDArray[np.float64], share: NDArray[np.float64], band: float) -> float:
    """Time from which on the response stays within +-band of the step; NaN when it is outside at the end."""
    outside = np.flatnonzero(np.abs(share - 1.0) > band)
    if outside.size == 0:
        return float(t[0])
    k = int(outside[-1])
    if k == t.size - 1:
        return float("nan")
    before, after = abs(share[k] - 1.0), abs(share[k + 1] - 1.0)
    crossing = np.sign(share[k] - 1.0) != np.sign(share[k + 1] - 1.0)
    part = (before - band) / (before + after if crossing else before - after)
    return float(t[k] + part * (t[k + 1] - t[k]))
