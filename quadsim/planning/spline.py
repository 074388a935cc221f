"""The minimum-control spline: of all curves through points at given times, the one with the least integral of its s-th derivative.

With s = 2, 3, 4 (acceleration, jerk, snap) each piece is a polynomial of degree 2 s - 1, and at an inner point all derivatives up
to 2 s - 2 are continuous. The coefficients c solve a banded system A(T) c = b; a function W of the coefficients and the times T is
brought back to points and times by one more solve with A transposed, g = A^-T dW/dc:
    dW/dq_i = the row of g where b holds q_i,   dW/dT_i = @W/@T_i - sum g (@A/@T_i c).

References
----------
Z. Wang, X. Zhou, C. Xu, F. Gao, Geometrically Constrained Trajectory Optimization for Multicopters, IEEE Transactions on Robotics
38 (2022), doi 10.1109/TRO.2022.3160022 (optimality conditions and the gradient; from memory). Minimum snap: D. Mellinger, V. Kumar,
ICRA 2011, doi 10.1109/ICRA.2011.5980409.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import lapack

Array = NDArray[np.float64]


def powers(t: Array, size: int, derivative: int = 0) -> Array:
    """Rows (n, size) of d^k/dt^k of 1, t, t^2, ... at times (n,)."""
    t = np.asarray(t, float)
    rows = np.zeros((*t.shape, size))
    for j in range(derivative, size):
        rows[..., j] = math.perm(j, derivative) * t ** (j - derivative)
    return rows


@dataclass(frozen=True)
class Spline:
    """Pieces of polynomials, each in the time since its own begin.

    durations : (M,) [s]
    coefficients : (M, 2 s, d), lowest power first
    """

    durations: Array
    coefficients: Array

    @property
    def order(self) -> int:
        """s: the derivative whose square is least."""
        return self.coefficients.shape[1] // 2

    @property
    def knots(self) -> Array:
        """Begin of each piece and the end (M + 1,) [s]."""
        return np.concatenate([[0.0], np.cumsum(self.durations)])

    def at(self, times: Array, derivative: int = 0) -> Array:
        """Derivative of the curve at times (n,) from its begin [s], shape (n, d); the ends are held."""
        knots = self.knots
        t = np.clip(np.asarray(times, float), 0.0, knots[-1])
        piece = np.clip(np.searchsorted(knots, t, side="right") - 1, 0, len(self.durations) - 1)
        rows = powers(t - knots[piece], self.coefficients.shape[1], derivative)
        return np.asarray(np.einsum("nk,nkd->nd", rows, self.coefficients[piece]))

    def stretched(self, factor: float) -> Spline:
        """The same shape flown in `factor` times the time: the k-th derivative falls by factor^k."""
        scale = factor ** -np.arange(self.coefficients.shape[1], dtype=float)
        return Spline(self.durations * factor, self.coefficients * scale[:, None])

    def cost(self) -> float:
        """Integral of the squared s-th derivative."""
        return cost_and_gradients(self)[0]


def cost_and_gradients(spline: Spline) -> tuple[float, Array, Array]:
    """Integral of the squared s-th derivative, with its partial derivatives by coefficients and by durations."""
    s, size = spline.order, spline.coefficients.shape[1]
    k = np.arange(s, size)
    lead = np.array([math.perm(int(j), s) for j in k], float)
    power = (k[:, None] + k[None, :] - 2 * s + 1).astype(float)
    weight = np.outer(lead, lead) / power * spline.durations[:, None, None] ** power
    upper = spline.coefficients[:, s:]
    by_upper = 2.0 * weight @ upper
    by_c = np.zeros_like(spline.coefficients)
    by_c[:, s:] = by_upper
    end = np.einsum("mk,mkd->md", end_values(spline.durations, size)[:, s], spline.coefficients)
    return float(0.5 * np.sum(by_upper * upper)), by_c, np.sum(end**2, axis=1)


def end_values(durations: Array, size: int) -> Array:
    """(M, derivative, power): derivatives of 1, t, t^2, ... at the end of each piece."""
    lead, rise = _falling(size)
    return np.asarray(lead * durations[:, None, None] ** rise)


@lru_cache(maxsize=8)
def _falling(size: int) -> tuple[Array, Array]:
    """j (j - 1) .. (j - k + 1) and j - k, by derivative k and power j; zero where the derivative is gone."""
    lead = np.array([[math.perm(j, k) for j in range(size)] for k in range(size)], float)
    j = np.arange(size)
    return lead, np.maximum(j[None, :] - j[:, None], 0).astype(float)


def continuous(order: int) -> tuple[int | None, ...]:
    """Which derivative each row of an inner point makes continuous; None is the row of the point itself."""
    return (*range(order, 2 * order - 1), None, *range(order))


@lru_cache(maxsize=64)
def _places(count: int, order: int) -> tuple[Any, Array, Any, Any]:
    """Where the system's entries stand in band storage: the fixed ones with their values, and those that are `end_values`."""
    size, fixed, moving = 2 * order, [], []
    last = (count - 1) * size
    fixed += [(k, k, float(math.factorial(k))) for k in range(order)]
    moving += [
        (last + order + k, last + j, ((count - 1) * size + k) * size + j)
        for k in range(order)
        for j in range(k, size)
    ]
    for piece in range(count - 1):
        for row, k in enumerate(continuous(order)):
            at, taken = piece * size + order + row, 0 if k is None else k
            moving += [
                (at, piece * size + j, (piece * size + taken) * size + j) for j in range(taken, size)
            ]
            if k is not None:
                fixed.append((at, (piece + 1) * size + k, -float(math.factorial(k))))
    rows, columns, values = (np.array(one) for one in zip(*fixed, strict=True))
    to, of, taken_from = (np.array(one) for one in zip(*moving, strict=True))
    return (2 * size + rows - columns, columns), values, taken_from, (2 * size + to - of, of)


class Knots:
    """The banded system of one set of durations, factored: from points to the spline and from its gradients back.

    Rows: s derivatives at the begin; at each inner point the continuity of derivatives s .. 2 s - 2, the point itself, and the
    continuity of derivatives 0 .. s - 1; s derivatives at the end. So no entry is farther than 2 s from the diagonal.
    """

    def __init__(self, durations: Array, order: int) -> None:
        self.durations = np.asarray(durations, float)
        self.order, self.size = order, 2 * order
        self.band = self.size
        count, size = len(self.durations), self.size
        self.ends = end_values(self.durations, size)
        """(M, derivative, power): values at the end of each piece."""
        matrix = np.zeros((3 * self.band + 1, count * size))
        at, fixed, taken, moving = _places(count, order)
        matrix[at] = fixed
        matrix[moving] = self.ends.ravel()[taken]
        self._lu, self._pivots, failed = lapack.dgbtrf(matrix, self.band, self.band)
        if failed:
            raise np.linalg.LinAlgError("a piece of a spline has no duration")

    def point_rows(self) -> Array:
        """Row of b that holds each inner point."""
        return np.arange(len(self.durations) - 1) * self.size + 2 * self.order - 1

    def spline(self, begin: Array, points: Array, end: Array) -> Spline:
        """The spline from derivatives at the begin (s, d) through inner points (M - 1, d) to derivatives at the end (s, d)."""
        s, count = self.order, len(self.durations)
        b = np.zeros((count * self.size, np.shape(begin)[1]))
        b[:s], b[-s:] = begin, end
        b[self.point_rows()] = points
        c, _ = lapack.dgbtrs(self._lu, self.band, self.band, b, self._pivots)
        return Spline(self.durations, np.ascontiguousarray(c).reshape(count, self.size, -1))

    def back(self, spline: Spline, by_c: Array, by_t: Array) -> tuple[Array, Array, Array, Array]:
        """Gradients by the begin (s, d), points (M - 1, d), end (s, d) and durations (M,) from those by coefficients and durations."""
        s, count = self.order, len(self.durations)
        flat = by_c.reshape(count * self.size, -1)
        g, _ = lapack.dgbtrs(self._lu, self.band, self.band, flat, self._pivots, trans=1)
        g = np.ascontiguousarray(g)
        c = spline.coefficients
        later = np.einsum("mkj,mjd->mkd", self.ends, c)  # derivative k at the end of each piece
        later = np.concatenate([later, np.zeros_like(later[:, :1])], axis=1)
        grown = np.array(by_t, float)
        inner = g[s : s + (count - 1) * self.size].reshape(count - 1, self.size, -1)
        order = [0 if k is None else k for k in continuous(s)]
        for row, k in enumerate(order):
            grown[:-1] -= np.sum(inner[:, row] * later[:-1, k + 1], axis=1)
        for k in range(s):
            grown[-1] -= float(np.sum(g[-s + k] * later[-1, k + 1]))
        return g[:s], g[self.point_rows()], g[-s:], grown


def minimum_control(points: Array, durations: Array, order: int = 4) -> Spline:
    """The least-control spline from rest to rest through points (M + 1, d) with durations (M,) [s]."""
    points = np.asarray(points, float)
    rest = np.zeros((order, points.shape[1]))
    begin, end = rest.copy(), rest.copy()
    begin[0], end[0] = points[0], points[-1]
    return Knots(durations, order).spline(begin, points[1:-1], end)
