"""The greatest gain of a point mass within a craft's limits: what bounds its time from below, as a table for one craft.

At prices e of place, c of velocity, k of kinetic energy (r its change) a motion v, f gains
    G = e v + r v^2/2 + (c + k v) (f - d(v)),   d(v) = (d1 + d2 |v|) v,
gravity left to the caller. Its greatest value over |v| <= V and |f| <= f0 - fall(|v|) (v f/|f|)+, tilted no more than allowed,
depends on sizes and angles only: with s, w the parts of v along and across c, per unit of |c|,
    G/|c| = e_s s + e_w w + r v^2/2 - (s + k v^2) (d1 + d2 |v|) + the greatest of (cos t + k z) (f0 - fall z+),
t the angle between thrust and c, at least what c points beyond the greatest tilt; z the speed along the thrust, which at an
angle t lies within s cos t -+ w sin t.
G is convex in (e, c, k, r) as the greatest of linear functions, so linear interpolation never gives too little of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.planning.bound_kernels import gains_at
from quadsim.planning.limits import LEAST_THRUST, Limits

Array = NDArray[np.float64]

COUNTS = (7, 13, 13, 31, 15)
"""Nodes over: cosine of what c points beyond the tilt, k, r, e along c, e across c."""
LEANS = np.array([0.0, 0.01, 0.1, 0.3, 0.6, 0.85, 1.0])
"""Nodes of the first axis."""
SPEEDS = 65
"""Speeds from 0 to V at which the gain is looked at."""
DENSE = 3.0
"""How much denser the nodes stand in the middle of an axis than at its ends."""
ANGLES = 12
"""Angles of the thrust from one node of the first axis to the next."""
SLACK = 0.002
"""Added to the table, of f0: what lies between its speeds and angles. Held against random draw in the tests."""
LEAST = 1e-4
"""Size added to c, of 1/f0 times 50: keeps the gain smooth near nothing, at a cost that is counted [s2/m]."""


def top_speed(limits: Limits, seconds: float) -> float:
    """Speed that a point mass never passes within a time from rest [m/s]: pushed as hard as it can along its way, and falling."""
    speed = np.linspace(0.0, 200.0, 801)
    share = np.linspace(0.0, 1.0, 51)[:, None]
    push = share * limits.greatest(speed, speed * share)
    net = push.max(axis=0) + limits.gravity - (limits.drag + limits.drag_squared * speed) * speed
    gaining = speed[net > 0.0]
    steady = float(gaining.max()) + 0.25 if net[-1] <= 0.0 else math.inf
    return min(steady, (limits.thrust + limits.gravity) * seconds)


@dataclass(frozen=True)
class Gain:
    """The table, and how it is read.

    table : COUNTS; nodes : of its axes (5, 31); steepest : the greatest slopes there are, for what lies beyond it
    speed : V [m/s]; tilt : greatest [rad]; push : greatest |f - d(v)| [m/s2]
    """

    table: Array
    nodes: Array
    steepest: Array
    speed: float
    tilt: float
    push: float

    def __call__(self, c: Array, e: Array, k: Array, r: Array) -> tuple[Array, Array, Array, Array, Array]:
        """The gain at prices (..., 3) and (...), and its partial derivatives by c, e, k and r."""
        count = k.size
        value, by_k, by_r = np.empty((3, count))
        by_c, by_e = np.empty((2, count, 3))
        flat = [np.ascontiguousarray(one.reshape(-1, 3)) for one in (c, e)]
        gains_at(
            self.table, self.nodes, self.steepest, self.tilt, LEAST, *flat, k.ravel(), r.ravel(), value, by_c, by_e,
            by_k, by_r,
        )  # fmt: skip
        size = np.sqrt(np.sum(flat[0] * flat[0], axis=1) + 1e-20)
        larger = np.sqrt(size * size + LEAST * LEAST)
        value += self.push * (larger - size)
        by_c += (self.push * (1.0 / larger - 1.0 / size))[:, None] * flat[0]
        return (
            value.reshape(k.shape), by_c.reshape(c.shape), by_e.reshape(e.shape), by_k.reshape(k.shape), by_r.reshape(k.shape),
        )  # fmt: skip


def make_gain(limits: Limits, speed: float) -> Gain:
    """The table of a craft, for speeds up to one [m/s]."""
    slope = max(
        limits.thrust_fall + limits.drag + 2.0 * (limits.drag_squared + limits.push) * speed,
        0.5 * limits.thrust / speed,
    )
    axes = [
        LEANS,
        _nodes(-0.4, 0.7, 5.0, COUNTS[1]) / speed,
        _nodes(-6.0, 0.0, 6.0, COUNTS[2]) * slope / speed,
        _nodes(-4.0, 0.25, 4.0, COUNTS[3]) * slope,
        _nodes(0.0, 0.0, 3.0, COUNTS[4]) * slope,
    ]
    nodes = np.zeros((5, max(COUNTS)))
    for row, axis in zip(nodes, axes, strict=True):
        row[: len(axis)] = axis
    drag = limits.drag + limits.drag_squared * speed
    push = limits.thrust + drag * speed
    steepest = np.array([0.0, speed * push, 0.5 * speed * speed, speed, speed])
    table = _table(limits, speed, axes) + SLACK * limits.thrust
    return Gain(table, nodes, steepest, speed, limits.tilt, push)


def _nodes(low: float, middle: float, high: float, count: int) -> Array:
    """Nodes that are densest about a middle."""
    ends = np.arcsinh(DENSE * (np.array([low, high]) - middle))
    return np.asarray(middle + np.sinh(np.linspace(ends[0], ends[1], count)) / DENSE)


def _table(limits: Limits, speed: float, axes: list[Array]) -> Array:
    w = np.linspace(0.0, speed, SPEEDS)
    s = np.concatenate([-w[:0:-1], w])[:, None]
    size = np.hypot(s, w)
    drag = limits.drag + limits.drag_squared * size
    outside = size > speed + 1.5 * w[1]
    found = np.empty(COUNTS)
    for i, k in enumerate(axes[1]):
        rest = -(s + k * size**2) * drag
        pushes = _pushes(limits, s, w, float(k), axes[0])
        for j, best in enumerate(
            [*pushes[1:], pushes[-1]]
        ):  # of the next node: no less than anywhere between the two
            level = np.where(outside, -np.inf, best + rest)
            for n, r in enumerate(axes[2]):
                across = level + 0.5 * r * size**2
                inner = np.max(across[:, None] + axes[4][:, None] * w, axis=2)
                found[j, i, n] = np.max(inner + axes[3][:, None, None] * s, axis=1)
    return found


def _pushes(limits: Limits, s: Array, w: Array, k: float, cosines: Array) -> list[Array]:
    """The greatest (cos t + k z) (f0 - fall z+) over angles t of at least each acos of `cosines`."""
    best, last, found = np.zeros((len(s), len(w))), math.pi, []
    for cosine in cosines.tolist():
        least = math.acos(cosine)
        for angle in np.linspace(least, last, ANGLES).tolist():
            best = np.maximum(best, _push(limits, s, w, k, math.cos(angle), math.sin(angle)))
        still = np.arctan2(np.maximum(s, 0.0), w + 1e-12)  # the angle at which the thrust meets no climb
        best = np.where(still >= least, np.maximum(best, np.cos(still) * limits.thrust), best)
        found.append(best)
        last = least
    return found


def _push(limits: Limits, s: Array, w: Array, k: float, cosine: float, sine: float) -> Array:
    """Over all speeds z along a thrust at an angle; the greatest stands at an end, at z = 0 or where the slope is zero."""
    low, high = s * cosine - w * sine, s * cosine + w * sine
    f0, fall = limits.thrust, limits.thrust_fall + limits.push * np.hypot(s, w)
    turns: list[Array | float] = [0.0]
    if k * limits.thrust_fall != 0.0:
        turns.append((k * f0 - fall * cosine) / (2.0 * k * fall))
    best = np.zeros_like(low)
    for z in (low, high, *(np.clip(turn, low, high) for turn in turns)):
        given = np.maximum(f0 - fall * np.maximum(z, 0.0), LEAST_THRUST * f0)
        best = np.maximum(best, (cosine + k * z) * given)
    return best
