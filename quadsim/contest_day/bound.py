"""How far wind or temperature may go: a range to go, a wider one beyond which it is no-go, caution in between."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Range = tuple[float, float]

GO, CAUTION, NO_GO = "go", "caution", "no-go"
VERDICTS = (GO, CAUTION, NO_GO)
NEVER: Range = (math.nan, math.nan)
"""Nothing that was looked at will do."""


@dataclass(frozen=True)
class Bound:
    """quantity : "gust", "wind", "air" or "pack"; today, go, stop : in `unit`, an infinite end was not reached
    why : what is so at the ends of both ranges."""

    quantity: str
    unit: str
    today: float
    go: Range
    stop: Range
    why: str

    @property
    def verdict(self) -> str:
        """Today's word."""
        if self.go[0] <= self.today <= self.go[1]:
            return GO
        return CAUTION if self.stop[0] <= self.today <= self.stop[1] else NO_GO


def worst(verdicts: list[str]) -> str:
    """The word that counts of several."""
    return max(verdicts, key=VERDICTS.index)


def kept_range(grid: Array, left: Array, today: float) -> Range:
    """The range of a quantity around today's value in which something is left (>= 0), ends by linear interpolation.

    grid : rising (N,); left : (N,). An end at the edge of the grid is infinite. When nothing is left today, the nearest range;
    NEVER when there is none.
    """
    good = left >= 0.0
    if not np.any(good):
        return NEVER
    edges = np.flatnonzero(np.diff(good.astype(int)))
    starts = [0, *(edges + 1).tolist()]
    ends = [*edges.tolist(), len(grid) - 1]
    runs = [(a, b) for a, b in zip(starts, ends, strict=True) if good[a]]
    ranges = [(_end(grid, left, a, a - 1), _end(grid, left, b, b + 1)) for a, b in runs]
    return min(ranges, key=lambda one: max(one[0] - today, today - one[1], 0.0))


def _end(grid: Array, left: Array, inside: int, outside: int) -> float:
    """Where nothing is left between two neighbours of the grid; infinite beyond its edge."""
    if outside < 0:
        return -math.inf
    if outside >= len(grid):
        return math.inf
    share = left[inside] / (left[inside] - left[outside])
    return float(grid[inside] + share * (grid[outside] - grid[inside]))
