"""Which input matters most for a figure: its rank correlation, and by how much the figure moves with it.

The rank correlation is robust, but what the other inputs do counts as chance in it; the effect comes from a plane through
all inputs at once, sharper where the figure is near a straight line. Intervals hold for all inputs of a table and both columns
at once (Bonferroni: level 1 - 0.05/2k for k inputs), so that among twenty inputs without any effect hardly one looks as if it
had one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.sweep.statistics import LEVEL, correlation_interval, rank_correlation

Array = NDArray[np.float64]

FEWEST = 8
"""Flights below which nothing is said."""


@dataclass(frozen=True)
class Input:
    """What was varied. step : by how much it is moved for an effect: a standard deviation when drawn, its range in a grid"""

    name: str
    unit: str
    step: float
    values: Array


@dataclass(frozen=True)
class Influence:
    """What one input does to a figure.

    correlation : of the ranks, with its interval; effect : change of the figure with a step of the input, in the figure's
    unit, all other inputs held, with its interval
    """

    input: Input
    correlation: float
    interval: tuple[float, float]
    effect: float
    effect_interval: tuple[float, float]

    @property
    def certain(self) -> bool:
        """True when one of the two intervals leaves zero out."""
        return any(low > 0.0 or high < 0.0 for low, high in (self.interval, self.effect_interval))


@dataclass(frozen=True)
class Influences:
    """All inputs of one figure, that with the greatest effect first.

    explained : share of the figure's variance that goes with the inputs in a straight line; the rest is chance (the seed),
    curvature and what inputs do together
    """

    figure: str
    ranked: tuple[Influence, ...]
    flights: int
    explained: float


def influences(
    figure: str, inputs: Sequence[Input], values: Array, most: float = math.inf
) -> Influences | None:
    """What the inputs do to a figure; None when too few flights have it, or when it never changes.

    most : that the figure can change at all, 1 for a share; a straight line through flights that pass and then do not is steeper
    """
    known = np.isfinite(values)
    moving = [one for one in inputs if np.ptp(one.values[known]) > 0.0] if known.any() else []
    y = values[known]
    if not moving or y.size < max(FEWEST, len(moving) + 4) or not np.ptp(y) > 0.0:
        return None
    level = 1.0 - (1.0 - LEVEL) / (2 * len(moving))
    effects, reaches, explained = _line([one.values[known] / one.step for one in moving], y, level)
    found = []
    for one, effect, reach in zip(moving, effects.tolist(), reaches.tolist(), strict=True):
        correlation = rank_correlation(one.values[known], y)
        interval = correlation_interval(correlation, y.size, level)
        effect, low, high = (min(max(k, -most), most) for k in (effect, effect - reach, effect + reach))
        found.append(Influence(one, correlation, interval, effect, (low, high)))
    found.sort(key=lambda one: -abs(one.effect))
    return Influences(figure, tuple(found), int(y.size), explained)


def _line(inputs: Sequence[Array], y: Array, level: float) -> tuple[Array, Array, float]:
    """Slopes of the least-squares plane, half the width of their intervals (Student's t), and the share it explains.

    N. R. Draper, H. Smith, Applied Regression Analysis, 3rd ed., ch. 5.
    """
    from scipy.special import stdtrit

    columns = np.column_stack([np.ones(y.size), *(one - one.mean() for one in inputs)])
    slopes, *_ = np.linalg.lstsq(columns, y, rcond=None)
    free = y.size - columns.shape[1]
    rest = float(np.sum((y - columns @ slopes) ** 2))
    spread = np.sqrt(np.maximum(np.diag(np.linalg.pinv(columns.T @ columns)), 0.0) * rest / free)
    whole = float(np.sum((y - y.mean()) ** 2))
    reach = float(stdtrit(free, 0.5 + 0.5 * level)) * spread[1:]
    return slopes[1:], reach, 1.0 - rest / whole if whole > 0.0 else math.nan
