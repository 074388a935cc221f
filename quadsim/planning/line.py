"""The fastest line through a course: a minimum-control spline whose passage points, inner points and durations are free.

What is made small is the time from start to the last gate, a little of the time of the run-out to rest, and what passes limits
(squared, with a weight that grows). At a passage the point is free in the gate's opening; what an oblique passage takes of it
counts: with m the distance of the point from an edge and c the cosine of the angle at which the line meets the gate, seen along
that edge, m c must leave room for the craft and the declared clearance. That also asks for the right direction.

Rationale: bounded quasi-Newton steps (L-BFGS-B) need no map from unbounded numbers to a gate's opening.

References
----------
Z. Wang, X. Zhou, C. Xu, F. Gao, IEEE Transactions on Robotics 38 (2022), doi 10.1109/TRO.2022.3160022 (from memory).
R. H. Byrd, P. Lu, J. Nocedal, C. Zhu, SIAM J. Sci. Comput. 16 (1995): L-BFGS-B.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from quadsim.planning.limits import Limits
from quadsim.planning.samples import Sight
from quadsim.planning.spline import Knots, Spline

Array = NDArray[np.float64]

RUN_OUT_WEIGHT = 0.02
"""Weight of the time from the last gate to rest: the line must end well, but is not judged by it."""
SHORTEST_S, LONGEST_S = 0.01, 20.0
"""Of a piece [s]."""
LATER = 0.5
"""Share of the steps for every weight after the first: the line is near by then."""


@dataclass(frozen=True)
class Search:
    """How a line is looked for: order of the spline, pieces from gate to gate, samples a piece, weights of what passes limits one
    after the other, and steps for the first.

    stretch : log of a duration that counts as much in the vector as a metre; of 0.1, 0.3, 1 and 3 the one that ended lowest after
    equal steps, 1 for a point mass
    """

    order: int = 3
    pieces: int = 3
    samples: int = 8
    weights: tuple[float, ...] = (10.0, 300.0, 5000.0)
    steps: int = 300
    stretch: float = 0.3


@dataclass(frozen=True)
class Line:
    """A line from rest at the start through all passages to rest.

    passages : index of the knot at each passage; gates : the gate of each
    """

    spline: Spline
    passages: tuple[int, ...]
    gates: tuple[Any, ...]

    @property
    def times(self) -> Array:
        """Of the passages since the start [s]."""
        return np.asarray(self.spline.knots[list(self.passages)])

    @property
    def total(self) -> float:
        """From the start to the last passage [s]."""
        return float(self.times[-1])

    def stretched(self, factor: float) -> Line:
        return Line(self.spline.stretched(factor), self.passages, self.gates)


def passages(course: Any) -> tuple[Any, ...]:
    """The gates in the order in which they are flown: all laps, and the first one again where the course is closed."""
    flown = tuple(course.gates) * max(int(course.laps), 1)
    return (*flown, course.gates[0]) if course.closed else flown


class Problem:
    """The numbers that are free, packed in one vector: passage points (side, up), inner points, the end, log durations
    over the search's stretch."""

    def __init__(
        self, course: Any, limits: Limits, search: Search, start: Array, margin: float = 0.0
    ) -> None:
        self.course, self.limits, self.search = course, limits, search
        self.start = np.asarray(start, float)
        self.gates = passages(course)
        count, k = len(self.gates), search.pieces
        self.pieces = (count + 1) * k
        knots = np.arange(1, self.pieces)
        self.gate_rows = np.arange(1, count + 1) * k - 1
        self.free_rows = np.setdiff1d(knots - 1, self.gate_rows)
        self.centre = np.array([gate.centre for gate in self.gates])
        self.forward = np.array([gate.forward for gate in self.gates])
        self.right = np.array([gate.right for gate in self.gates])
        self.half = 0.5 * np.array([[gate.width, gate.height] for gate in self.gates])
        self.keep = limits.radius + float(course.clearance) + margin
        low, high = (np.asarray(edge, float) for edge in (course.field.low, course.field.high))
        keep = limits.radius + float(course.clearance)
        self.low, self.high = low + keep, high - keep
        self.sight = Sight(limits, course)
        self.weights = np.ones(self.pieces)
        self.weights[-k:] = RUN_OUT_WEIGHT

    def bounds(self) -> Array:
        """(n, 2) of the vector."""
        room = np.maximum(self.half - self.keep, 0.0)
        gates = np.stack([-room, room], axis=-1).reshape(-1, 2)
        field = np.tile(np.stack([self.low, self.high], axis=1), (len(self.free_rows) + 1, 1))
        times = np.tile(np.log([[SHORTEST_S, LONGEST_S]]) / self.search.stretch, (self.pieces, 1))
        return np.concatenate([gates, field, times])

    def packed(self, points: Array, end: Array, durations: Array) -> Array:
        """The vector of inner points (M - 1, 3), an end (3,) and durations (M,)."""
        off = points[self.gate_rows] - self.centre
        gates = np.stack([np.sum(off * self.right, axis=1), -off[:, 2]], axis=1)
        x = np.concatenate(
            [gates.ravel(), points[self.free_rows].ravel(), end, np.log(durations) / self.search.stretch]
        )
        low, high = self.bounds().T
        return np.clip(x, low, high)

    def unpacked(self, x: Array) -> tuple[Array, Array, Array]:
        """Inner points, end and durations of the vector."""
        n, m = 2 * len(self.gates), 3 * len(self.free_rows)
        points = np.empty((self.pieces - 1, 3))
        gates = x[:n].reshape(-1, 2)
        points[self.gate_rows] = self.centre + gates[:, :1] * self.right
        points[self.gate_rows, 2] -= gates[:, 1]
        points[self.free_rows] = x[n : n + m].reshape(-1, 3)
        return points, x[n + m : n + m + 3], np.exp(self.search.stretch * x[n + m + 3 :])

    def line(self, x: Array) -> Line:
        points, end, durations = self.unpacked(x)
        _, spline = self._spline(points, end, durations)
        return Line(spline, tuple((self.gate_rows + 1).tolist()), self.gates)

    def _spline(self, points: Array, end: Array, durations: Array) -> tuple[Knots, Spline]:
        knots = Knots(durations, self.search.order)
        first, last = np.zeros((2, self.search.order, 3))
        first[0], last[0] = self.start, end
        return knots, knots.spline(first, points, last)

    def cost(self, x: Array, weight: float) -> tuple[float, Array]:
        """Time and what passes limits, with the gradient by the vector."""
        points, end, durations = self.unpacked(x)
        knots, spline = self._spline(points, end, durations)
        over, by_c, by_t = self.sight.passed(spline, self.search.samples)
        open_, by_gates, by_node = self._openings(x, spline)
        by_c, by_t = weight * by_c, weight * by_t
        by_c[self.gate_rows + 1, 1] += weight * by_node  # the velocity at a passage begins the next piece
        _, by_points, by_end, by_t = knots.back(spline, by_c, by_t + self.weights)
        gates = by_points[self.gate_rows]
        by_gates = weight * by_gates + np.stack([np.sum(gates * self.right, axis=1), -gates[:, 2]], axis=1)
        gradient = np.concatenate(
            [
                by_gates.ravel(),
                by_points[self.free_rows].ravel(),
                by_end[0],
                self.search.stretch * durations * by_t,
            ]
        )
        return float(self.weights @ durations + weight * (over + open_)), gradient

    def _openings(self, x: Array, spline: Spline) -> tuple[float, Array, Array]:
        """What oblique passages lack of room, with its partial derivatives by passage points (G, 2) and velocities (G, 3)."""
        from quadsim.planning.look_kernels import openings  # compiles

        at = x[: 2 * len(self.gates)].reshape(-1, 2)
        v = spline.coefficients[self.gate_rows + 1, 1]
        by_at, by_v = np.empty_like(at), np.empty_like(v)
        return openings(at, v, self.forward, self.right, self.half, self.keep, by_at, by_v), by_at, by_v

    def solve(self, x: Array, weights: Sequence[float] | None = None) -> Array:
        """The vector of the fastest line near a first guess."""
        bounds = self.bounds()
        for k, weight in enumerate(self.search.weights if weights is None else weights):
            steps = round(self.search.steps * (LATER if k else 1.0))
            found = minimize(
                self.cost,
                x,
                args=(weight,),
                jac=True,
                method="L-BFGS-B",
                bounds=bounds,
                options={"maxiter": steps, "maxcor": 20, "ftol": 1e-8, "gtol": 1e-6},
            )
            x = found.x
        return np.asarray(x)
