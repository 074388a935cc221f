"""Where something that is left of a limit is used up: many bracketed searches side by side.

I. F. D. Oliveira and R. H. C. Takahashi, An Enhancement of the Bisection Method Average Performance Preserving Minmax
Optimality, ACM TOMS 47(1), 2020, doi 10.1145/3423597 (from memory): a secant's point, moved a little towards the middle and
never farther from it than halving alone can make up for. A smooth row takes eight rounds or so; one that jumps, as where a
pack cannot feed the craft any more, takes one round more than halving.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

TRUNCATION = 0.2
"""By which the secant's point is moved, times the squared width over the first one; the paper's examples take 0.1 to 0.2."""
HALVINGS = 30
"""By which the bracket shrinks at least, as a power of two."""
SLACK = 1
"""Rounds that may be spent beyond those of halving."""


def last_kept(left: Callable[[Array], Array], low: Array, high: Array, halvings: int = HALVINGS) -> Array:
    """The greatest values (N,) between two bounds at which something is left, to within 2^-halvings of their distance.

    left : of values (N,), not below zero where a limit is kept; what is left must not rise, and must be finite.
    A row that keeps its limit up to `high` gives `high`; one that does not even at `low` gives `low`.
    """
    a, b = np.array(low, float), np.array(high, float)
    of_a, of_b = left(a), left(b)
    span = b - a
    a = np.where(of_b >= 0.0, b, a)
    open_ = (of_a >= 0.0) & (of_b < 0.0)
    fine = span * 0.5 ** (halvings + 1)
    for k in range(halvings + SLACK):
        open_ &= b - a > 2.0 * fine
        if not np.any(open_):
            break
        at = np.where(open_, _next(a, b, of_a, of_b, span, fine, 2.0 ** (halvings + SLACK - k)), a)
        found = left(at)
        keeps, passes = open_ & (found >= 0.0), open_ & (found < 0.0)
        a, of_a = np.where(keeps, at, a), np.where(keeps, found, of_a)
        b, of_b = np.where(passes, at, b), np.where(passes, found, of_b)
    return a


def _next(a: Array, b: Array, of_a: Array, of_b: Array, span: Array, fine: Array, reach: float) -> Array:
    """Where to look next; reach : half the width, in `fine`, that halving could still bring down in the rounds that are left.

    The secant's point is moved by `fine` at least: where it has hit the crossing, that closes the bracket around it.
    """
    width, middle, drop = b - a, 0.5 * (a + b), of_a - of_b
    secant = a + width * np.where(drop > 0.0, of_a / np.where(drop > 0.0, drop, 1.0), 0.5)
    way = np.sign(middle - secant)
    moved = np.maximum(TRUNCATION * width * width / np.where(span > 0.0, span, 1.0), fine)
    near = np.where(moved <= np.abs(middle - secant), secant + way * moved, middle)
    room = np.maximum(fine * reach - 0.5 * width, 0.0)
    return np.where(np.abs(near - middle) <= room, near, middle - way * room)
