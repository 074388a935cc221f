"""A line looked at in samples: how far it passes limits and obstacles, with gradients by coefficients and durations.

W = sum over pieces of T_i/n sum_j w_j sum over limits of max(0, g)^2 (trapezoid rule in each piece)
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.planning.limits import Limits
from quadsim.planning.space import depths, obstacle_rows
from quadsim.planning.spline import Spline, powers

Array = NDArray[np.float64]


@lru_cache(maxsize=16)
def _basis(count: int, size: int) -> tuple[Array, tuple[Array, ...]]:
    """Shares of a piece (count + 1,), and derivatives 0 .. 4 of the powers there."""
    share = np.linspace(0.0, 1.0, count + 1)
    return share, tuple(powers(share, size, k) for k in range(5))


def states(spline: Spline, count: int, most: int = 4) -> list[Array]:
    """Derivatives 0 .. most of a line at count + 1 samples a piece, each (M (count + 1), 3)."""
    size = spline.coefficients.shape[1]
    _, basis = _basis(count, size)
    j = np.arange(size)
    found = []
    for k in range(most + 1):
        scale = spline.durations[:, None] ** (j - k)
        scale[:, :k] = 0.0
        found.append((basis[k] @ (spline.coefficients * scale[:, :, None])).reshape(-1, 3))
    return found


class Sight:
    """What a line of a craft may pass on a course, in the arrays that the kernels look at.

    passed : W of a spline, and its partial derivatives by coefficients (M, 2 s, 3) and durations (M,)
    """

    def __init__(self, limits: Limits, course: Any) -> None:
        self.numbers = limits.numbers
        self.kinds, self.obstacles = obstacle_rows(course)
        self.keep = float(limits.radius + course.clearance)
        self.work = np.zeros((9, 5, 8))

    def passed(self, spline: Spline, count: int) -> tuple[float, Array, Array]:
        from quadsim.planning.look_kernels import look  # compiles

        by_c, by_t = np.empty_like(spline.coefficients), np.empty_like(spline.durations)
        total = look(
            spline.coefficients, spline.durations, count, self.numbers, self.kinds, self.obstacles, self.keep,
            self.work, by_c, by_t,
        )  # fmt: skip
        return total, by_c, by_t


def farthest(spline: Spline, limits: Limits, course: Any, count: int = 40) -> dict[str, float]:
    """By how much each limit is used at most (1 is the limit; for obstacles the depth in m, positive inside)."""
    p, v, a, j = states(spline, count, 3)
    f = limits.force(v, a)
    size = np.linalg.norm(f, axis=1)
    unit = f / size[:, None]
    climb = np.maximum(np.sum(v * unit, axis=1), 0.0)
    turning = np.linalg.norm(np.cross(f, j), axis=1) / size**2
    tilt = np.arccos(np.clip(-unit[:, 2], -1.0, 1.0))
    used = {
        "thrust": float(np.max(size / limits.greatest(np.linalg.norm(v, axis=1), climb))),
        "least": float(np.max(limits.least_thrust / size)),
        "rate": float(np.max(turning)) / limits.rate,
        "tilt": float(np.max(tilt)) / limits.tilt if limits.tilt < math.pi else 0.0,
    }
    worst = [float(np.max(depth)) for _, depth in depths(course, limits.radius, p)]
    return used | {"depth_m": max(worst, default=-math.inf)}
