"""A first line: smooth from gate to gate along their directions, slow enough for any craft that can fly the course."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from quadsim.planning.line import Problem

Array = NDArray[np.float64]
PULL = 0.8
"""Length of the tangents over the distance between two gates."""
ROUND = 0.35
"""Share of the greatest acceleration at which its times are guessed."""


def first_guess(problem: Problem) -> Array:
    """The vector of a cubic from start to gate to gate to a place behind the last one."""
    k = problem.search.pieces
    keep = 2.0 + problem.keep
    stop = problem.centre[-1] + keep * problem.forward[-1]
    nodes = np.concatenate([[problem.start], problem.centre, [stop]])
    ways = np.concatenate([[np.zeros(3)], problem.forward, [problem.forward[-1]]])
    points, durations = [], []
    steady = ROUND * problem.limits.thrust
    for i in range(len(nodes) - 1):
        gap = float(np.linalg.norm(nodes[i + 1] - nodes[i]))
        inner = _cubic(nodes[i], ways[i], nodes[i + 1], ways[i + 1], PULL * gap, np.arange(1, k) / k)
        way = np.concatenate([nodes[i : i + 1], inner, nodes[i + 1 : i + 2]])
        length = float(np.sum(np.linalg.norm(np.diff(way, axis=0), axis=1)))
        durations.append(np.full(k, max(2.0 * np.sqrt(length / steady), 0.2) / k))
        points.append(way[1:])
    return problem.packed(np.concatenate(points)[:-1], stop, np.concatenate(durations))


def _cubic(a: Array, at_a: Array, b: Array, at_b: Array, pull: float, share: Array) -> Array:
    """The Hermite cubic between two points at shares of it (n, 3)."""
    t = share[:, None]
    found = (2 * t**3 - 3 * t**2 + 1) * a + (t**3 - 2 * t**2 + t) * pull * at_a
    found += (3 * t**2 - 2 * t**3) * b + (t**3 - t**2) * pull * at_b
    return np.asarray(found)
