"""What nothing else beats: the front over three events and the price."""

from __future__ import annotations

from functools import cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.int64]

STEPS = (0.2, 0.010, 0.05)
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
        if not len(points):
            return
        best = unbeaten(points)
        points, tags = points[best], tags[best]
        stay = ~beaten(self.points, points)
        self.points = np.concatenate([self.points[stay], points])
        self.tags = np.concatenate([self.tags[stay], tags])

    def beats(self, goods: Array, price: float) -> bool:
        """True when some point is as good as these goods for no more than this price."""
        return bool(np.any((self.points[:, 3] <= price) & np.all(self.points[:, :3] >= goods, axis=1)))


def beaten(points: Array, by: Array) -> NDArray[np.bool_]:
    """Which points (n, 4) some of `by` (m, 4) equals or beats."""
    from quadsim.parts.front_kernels import mark_beaten_by

    lost = np.zeros(len(points), np.bool_)
    if len(points) and len(by):
        values, others = np.ascontiguousarray(points[:, :3]), np.ascontiguousarray(by[:, :3])
        mark_beaten_by(
            values, np.ascontiguousarray(points[:, 3]), others, np.ascontiguousarray(by[:, 3]), lost
        )
    return lost


def unbeaten(points: Array) -> Index:
    """Rows of the points (n, 4) that no other beats; of equal ones the first."""
    return worth_having(points[:, :3], points[:, 3])


def worth_having(values: Array, price: Array) -> Index:
    """Rows of `values` (n, ...) for which no other row is as good everywhere for no more money; of equal ones the first."""
    from quadsim.parts.front_kernels import mark_beaten

    flat = values.reshape(len(values), -1)
    order = np.argsort(-flat.sum(axis=1), kind="stable")  # the strongest first: they end most comparisons
    lost = np.zeros(len(flat), np.bool_)
    mark_beaten(np.ascontiguousarray(flat[order]), np.ascontiguousarray(price[order]), lost)
    return np.sort(order[~lost])


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
