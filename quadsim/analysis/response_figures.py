"""Figures of short flights on a bench: answers to steps, to disturbances, attitude quickness."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.analysis.step_response import StepResponse, step_response

Array = NDArray[np.float64]
BACK = 0.1
"""A disturbance is made up for once the error stays below this share of its peak."""
NOWHERE = StepResponse(*[math.nan] * 6)
"""Figures of a flight that did not get anywhere."""


@dataclass(frozen=True)
class Trace:
    """One quantity over time: `wanted` as the loops below were asked for it, after any shaping by the guide, and as flown."""

    t_s: Array
    wanted: Array
    flown: Array
    unit: str


@dataclass(frozen=True)
class Step:
    """Answer to a step: figures of the truth over the step as it was asked for, before any shaping.

    size : height of the step, in the trace's unit
    limited_pct : time with a motor command at its least or greatest [%]
    trouble : how the flight ended when it ended early, else empty
    """

    name: str
    axis: str
    size: float
    trace: Trace
    figures: StepResponse
    limited_pct: float
    trouble: str = ""


@dataclass(frozen=True)
class Rejection:
    """Answer to a disturbance: how far it pushes and how long that lasts.

    size : of the disturbance, in `size_unit`
    peak_rate : greatest rate of the quantity that it moves [its unit per s]; peak : greatest error of it
    back_s : from when on the error stays below a tenth of its peak; NaN when it is not by the end
    integral : of the error's size over the flight [its unit times s]
    """

    name: str
    axis: str
    size: float
    size_unit: str
    trace: Trace
    peak_rate: float
    peak: float
    back_s: float
    integral: float
    limited_pct: float
    trouble: str = ""


@dataclass(frozen=True)
class Quickness:
    """Attitude quickness of one change of attitude: peak rate over peak change [1/s], over the least change held after it [deg].

    ADS-33E-PRF (2000), sec. 3.3.3 (moderate-amplitude attitude changes). Its boundaries are those of helicopters, not
    scaled to this size.
    """

    axis: str
    asked_deg: float
    peak_rate_deg_s: float
    peak_change_deg: float
    least_change_deg: float

    @property
    def per_s(self) -> float:
        """Peak rate over peak change [1/s]."""
        return self.peak_rate_deg_s / self.peak_change_deg if self.peak_change_deg > 0.0 else math.nan


def figures_of_step(t_s: Array, flown: Array, size: float) -> StepResponse:
    """Rise, overshoot and settling of an answer (n,) to a step of `size` from where it stood; NaN where nothing was flown."""
    if len(t_s) < 2 or not np.all(np.isfinite(flown)):
        return NOWHERE
    return step_response(t_s, flown, initial=float(flown[0]), final=float(flown[0]) + size)


def time_back(t_s: Array, error: Array, share: float = BACK) -> float:
    """Time [s] from which on |error| stays below `share` of its peak; NaN when it is above at the end."""
    size = np.abs(error)
    outside = np.flatnonzero(size > share * float(np.max(size, initial=0.0)))
    if not outside.size:
        return 0.0
    last = int(outside[-1])
    return math.nan if last == len(t_s) - 1 else float(t_s[last + 1])


def rejection_figures(t_s: Array, error: Array, rate: Array) -> tuple[float, float, float, float]:
    """Peak rate, peak error, time back, integral of the error's size; NaN where nothing was flown."""
    if len(t_s) < 2 or not np.all(np.isfinite(error)):
        return math.nan, math.nan, math.nan, math.nan
    size = np.abs(error)
    return (
        float(np.max(np.abs(rate))), float(np.max(size)), time_back(t_s, error), float(np.trapezoid(size, t_s)),
    )  # fmt: skip


def quickness(axis: str, asked_deg: float, angle_deg: Array, rate_deg_s: Array) -> Quickness:
    """Quickness of a change of attitude from angles (n,) and rates (n,) over time, both from before the change."""
    if len(angle_deg) < 2:
        return Quickness(axis, asked_deg, math.nan, math.nan, math.nan)
    change = math.copysign(1.0, asked_deg) * (angle_deg - angle_deg[0])
    top = int(np.argmax(change))
    return Quickness(
        axis, asked_deg, float(np.max(np.abs(rate_deg_s))), float(change[top]), float(np.min(change[top:]))
    )
