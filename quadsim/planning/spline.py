"""The minimum-control spline: of all curves through points at given times, the one whose squared s-th derivative has the least
integral.

With s = 2, 3, 4 (acceleration, jerk, snap) each piece is a polynomial of degree 2 s - 1, and at an inner point all derivatives
up to 2 s - 2 are continuous. The coefficients c solve a banded system A(T) c = b; a function W of the coefficients and the times
T is brought back to points and times by one more solve with A transposed, g = A^-T dW/dc:
    dW/dq_i = the row of g where b holds q_i,   dW/dT_i = @W/@T_i - sum g (@A/@T_i c).

References
----------
Z. Wang, X. Zhou, C. Xu, F. Gao, Geometrically Constrained Trajectory Optimization for Multicopters, IEEE Transactions on
Robotics 38 (2022), doi 10.1109/TRO.2022.3160022 (optimality conditions and the gradient; from memory). Minimum snap:
D. Mellinger, V. Kumar, ICRA 2011, doi 10.1109/ICRA.2011.5980409.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

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
    power = durations[:, None] ** np.arange(size)
    return np.asarray(lead * power[:, rise])


@lru_cache(maxsize=8)
def _falling(size: int) -> tuple[Array, NDArray[np.intp]]:
    """j (j - 1) .. (j - k + 1) and j - k, by derivative k and power j; zero where the derivative is gone."""
    lead = np.array([[math.perm(j, k) for j in range(size)] for k in range(size)], float)
    j = np.arange(size)
    return lead, np.maximum(j[None, :] - j[:, None], 0)


class Knots:
    """The banded system of one set of durations, factored: from points to the spline and from its gradients back.

    Rows: s derivatives at the begin; at each inner point the continuity of derivatives s .. 2 s - 2, the point itself, and the
    continuity of derivatives 0 .. s - 1; s derivatives at the end. So no entry is farther than 2 s from the diagonal.
    """

    def __init__(self, durations: Array, order: int) -> None:
        from quadsim.planning import band_kernels  # compiles

        self.durations = np.asarray(durations, float)
        self.order, self.size = order, 2 * order
        self.band = self.size
        self.ends = end_values(self.durations, self.size)
        """(M, derivative, power): values at the end of each piece."""
        self._factors = np.empty((len(self.durations) * self.size, 2 * self.band + 1))
        self._kernels = band_kernels
        band_kernels.fill(self.ends, order, self._factors)
        if not band_kernels.factor(self._factors, self.band):
            raise np.linalg.LinAlgError("a piece of a spline has no duration")

    def point_rows(self) -> NDArray[np.intp]:
        """Row of b that holds each inner point."""
        return np.asarray(np.arange(len(self.durations) - 1) * self.size + 2 * self.order - 1)

    def spline(self, begin: Array, points: Array, end: Array) -> Spline:
        """The spline from derivatives at the begin (s, d) through inner points (M - 1, d) to derivatives at the end (s, d)."""
        s, count = self.order, len(self.durations)
        b = np.zeros((count * self.size, np.shape(begin)[1]))
        b[:s], b[-s:] = begin, end
        b[self.point_rows()] = points
        self._kernels.solve(self._factors, self.band, b)
        return Spline(self.durations, b.reshape(count, self.size, -1))

    def back(self, spline: Spline, by_c: Array, by_t: Array) -> tuple[Array, Array, Array, Array]:
        """Gradients by begin (s, d), points (M - 1, d), end (s, d), durations (M,) from those by coefficients and durations."""
        s = self.order
        g = np.array(by_c, float).reshape(len(self.durations) * self.size, -1)
        self._kernels.solve_transposed(self._factors, self.band, g)
        grown = np.array(by_t, float)
        self._kernels.by_durations(self.ends, s, spline.coefficients, g, grown)
        return g[:s], g[self.point_rows()], g[-s:], grown


def minimum_control(points: Array, durations: Array, order: int = 4) -> Spline:
    """The least-control spline from rest to rest through points (M + 1, d) with durations (M,) [s]."""
    points = np.asarray(points, float)
    rest = np.zeros((order, points.shape[1]))
    begin, end = rest.copy(), rest.copy()
    begin[0], end[0] = points[0], points[-1]
    return Knots(durations, order).spline(begin, points[1:-1], end)
