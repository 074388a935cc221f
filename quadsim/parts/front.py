"""What nothing else beats: the front over three events and the price."""

from __future__ import annotations

from functools import cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.int64]

STEPS = (0.1, 0.005, 0.05)
"""Steps of dash [m/s], load [kg] and lap [s] below which two figures count as equal: finer than the estimate knows."""
MOST_KINDS = 3
"""Kinds of propellers, and of packs, that a choice may hold: one for each event."""


def goods(dash: Array, lift: Array, lap: Array) -> Array:
    """Figures (..., 3) in whole steps, more is better: dash, lift, minus lap."""
    steps = np.stack([dash / STEPS[0], lift / STEPS[1], -lap / STEPS[2]], axis=-1)
    return np.asarray(np.round(np.where(np.isfinite(steps), steps, -1e6)))


class Front:
    """Points that no other point beats: nowhere worse, somewhere better. Of two equal ones the first stays.

    points : (n, 4) three goods, more is better, then the price, less is better
    tags : (n, k) what the points are
    """

    def __init__(self, width: int) -> None:
        self.points: Array = np.empty((0, 4))
        self.tags: Index = np.empty((0, width), np.int64)

    def add(self, points: Array, tags: Index) -> None:
        """Take in what is not beaten, and drop what it beats."""
        keep = ~beaten(points, self.points)
        points, tags = points[keep], tags[keep]
        keep = unbeaten(points)
        points, tags = points[keep], tags[keep]
        if points.size:
            stay = ~beaten(self.points, points)
            self.points = np.concatenate([self.points[stay], points])
            self.tags = np.concatenate([self.tags[stay], tags])

    def beats(self, goods: Array, price: float) -> bool:
        """True when some point is as good as these goods for no more than this price."""
        return bool(np.any((self.points[:, 3] <= price) & np.all(self.points[:, :3] >= goods, axis=1)))


def beaten(points: Array, by: Array) -> NDArray[np.bool_]:
    """Which points (n, 4) some of `by` (m, 4) equals or beats."""
    lost = np.zeros(len(points), bool)
    for start in range(0, len(points), 256):
        few = points[start : start + 256, None, :]
        lost[start : start + 256] = np.any(
            np.all(by[None, :, :3] >= few[..., :3], axis=2) & (by[None, :, 3] <= few[..., 3]), axis=1
        )
    return lost


def unbeaten(points: Array) -> Index:
    """Rows of the points that no other beats; of equal ones the first."""
    order = np.lexsort((*(-points[:, k] for k in (2, 1, 0)), points[:, 3]))
    kept: list[int] = []
    best = np.empty((len(points), 3))
    for row in order:  # whoever could beat it is cheaper, or as cheap and ahead of it
        if not np.any(np.all(best[: len(kept)] >= points[row, :3], axis=1)):
            best[len(kept)] = points[row, :3]
            kept.append(int(row))
    return np.array(kept, np.int64)


def worth_having(values: Array, price: Array) -> Index:
    """Rows of `values` (n, ...) for which no other row is as good everywhere for no more money; of equal ones the first."""
    flat = values.reshape(len(values), -1)
    as_good = np.all(flat[None] >= flat[:, None], axis=2) & (price[None] <= price[:, None])
    twins = as_good & as_good.T
    lost = (as_good & ~twins) | (twins & (np.arange(len(flat))[None] < np.arange(len(flat))[:, None]))
    return np.flatnonzero(~lost.any(axis=1))


@cache
def kind_sets(count: int) -> Index:
    """All sets of one to three of `count` kinds (n, 3); a smaller set repeats its first kind."""
    sets = [
        (*chosen, *[chosen[0]] * (MOST_KINDS - size))
        for size in range(1, MOST_KINDS + 1)
        for chosen in combinations(range(count), size)
    ]
    return np.array(sets, np.int64).reshape(-1, MOST_KINDS)


def set_prices(sets: Index, price: Array) -> Array:
    """Price of each set, every kind paid once."""
    fresh = np.ones(sets.shape, bool)
    fresh[:, 1] = sets[:, 1] != sets[:, 0]
    fresh[:, 2] = (sets[:, 2] != sets[:, 0]) & (sets[:, 2] != sets[:, 1])
    return np.asarray(np.sum(np.where(fresh, price[sets], 0.0), axis=1))
