"""A line looked at in samples: how far it passes limits and obstacles, with gradients by coefficients and durations.

    W = weight sum over pieces of T_i/n sum_j w_j sum over limits of max(0, g)^2 (trapezoid rule in each piece)
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.planning.limits import Limits
from quadsim.planning.space import depths
from quadsim.planning.spline import Spline, powers

Array = NDArray[np.float64]
DEPTH_M = 0.5
"""Depth in an obstacle that counts as much as a limit passed twofold [m]."""


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


def passed(spline: Spline, limits: Limits, course: Any, count: int) -> tuple[float, Array, Array]:
    """W, and its partial derivatives by coefficients (M, 2 s, 3) and durations (M,)."""
    p, v, a, j, s = states(spline, count)
    pieces, size = len(spline.durations), spline.coefficients.shape[1]
    share, basis = _basis(count, size)
    weights = np.ones(count + 1)
    weights[[0, -1]] = 0.5
    weights = np.tile(weights / count, pieces) * np.repeat(spline.durations, count + 1)
    by = [np.zeros_like(p) for _ in range(4)]
    cost = np.zeros(len(p))
    for g, partials in limits.passed(v, a, j):
        over = np.maximum(g, 0.0)
        if not over.any():
            continue
        cost += over * over
        for k, one in enumerate(partials):
            by[k + 1] += 2.0 * over[:, None] * one
    for _, depth, gradient in depths(course, limits.radius, p):
        if depth.max() > 0.0:
            over = np.maximum(depth / DEPTH_M, 0.0)
            cost += over * over
            by[0] += (2.0 / DEPTH_M) * over[:, None] * gradient()
    total = float(weights @ cost)
    along = sum(np.sum(one * more, axis=1) for one, more in zip(by, (v, a, j, s), strict=True))
    times = np.tile(share, pieces)
    by_t = (weights * cost).reshape(pieces, -1).sum(axis=1) / spline.durations
    by_t += (weights * times * along).reshape(pieces, -1).sum(axis=1)
    return total, _by_coefficients(spline, weights, by, basis), by_t


def _by_coefficients(spline: Spline, weights: Array, by: list[Array], basis: tuple[Array, ...]) -> Array:
    pieces, size, _ = spline.coefficients.shape
    j, found = np.arange(size), np.zeros_like(spline.coefficients)
    for k, one in enumerate(by):
        if not one.any():
            continue
        weighted = (weights[:, None] * one).reshape(pieces, -1, 3)
        scale = spline.durations[:, None] ** (j - k)
        scale[:, :k] = 0.0
        found += (basis[k].T @ weighted) * scale[:, :, None]
    return found


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
        "thrust": float(np.max(size / (limits.thrust - limits.thrust_fall * climb))),
        "least": float(np.max(limits.least_thrust / size)),
        "rate": float(np.max(turning)) / limits.rate,
        "tilt": float(np.max(tilt)) / limits.tilt if limits.tilt < math.pi else 0.0,
    }
    worst = [float(np.max(depth)) for _, depth, _ in depths(course, limits.radius, p)]
    return used | {"depth_m": max(worst, default=-math.inf)}
