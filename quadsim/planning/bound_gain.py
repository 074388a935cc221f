"""The greatest gain of a point mass within a craft's limits: what bounds its time from below, as a table for one craft.

At prices e of place, c of velocity, k of kinetic energy (r its change) a motion v, f gains
    G = e v + r v^2/2 + (c + k v) (f - d(v)),   d(v) = (d1 + d2 |v|) v,
gravity left to the caller. Its greatest value over |v| <= V and |f| <= f0 - fall (v f/|f|)+, tilted no more than allowed, depends on
sizes and angles only: with s, w the parts of v along and across c, per unit of |c|,
    G/|c| = e_s s + e_w w + r v^2/2 - (s + k v^2) (d1 + d2 |v|) + the greatest of (cos t + k z) (f0 - fall z+),
t the angle between thrust and c, at least what c points beyond the greatest tilt; z the speed along the thrust, which at an angle t
lies within s cos t -+ w sin t.
G is convex in (e, c, k, r) as the greatest of linear functions, so linear interpolation never gives too little of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.planning.bound_kernels import gains_at
from quadsim.planning.limits import Limits

Array = NDArray[np.float64]

COUNTS = (9, 9, 9, 41, 17)
"""Nodes over: cosine of what c points beyond the tilt, k, r, e along c, e across c."""
SPEEDS = 85
"""Speeds from 0 to V at which the gain is looked at."""
ANGLES = 12
"""Angles of the thrust from one node of the first axis to the next."""
SLACK = 0.004
"""Added to the table, of f0: what lies between its speeds, angles and tilts. Found with a finer one and by random draw in the tests."""
LEAST_THRUST = 0.1
"""Of f0: the limits let the thrust fall no further."""
LEAST = 1e-4
"""Size added to c, of 1/f0 times 50: keeps the gain smooth near nothing, at a cost that is counted [s2/m]."""


def top_speed(limits: Limits, seconds: float) -> float:
    """Speed that a point mass never passes within a time from rest [m/s]: pushed as hard as it can along its way, and falling."""
    speed = np.linspace(1.0, 200.0, 800)
    share = np.linspace(0.0, 1.0, 51)[:, None]
    push = share * np.maximum(limits.thrust - limits.thrust_fall * speed * share, LEAST_THRUST * limits.thrust)
    net = push.max(axis=0) + limits.gravity - (limits.drag + limits.drag_squared * speed) * speed
    gaining = speed[net > 0.0]
    steady = float(gaining.max()) + 0.25 if len(gaining) else 1.0
    return min(steady, (limits.thrust + limits.gravity) * seconds)


@dataclass(frozen=True)
class Gain:
    """The table, and how it is read.

    table : COUNTS; low, step : of its axes; steepest : the greatest slopes there are, for what lies beyond it
    speed : V [m/s]; tilt : greatest [rad]; push : greatest |f - d(v)| [m/s2]
    """

    table: Array
    low: Array
    step: Array
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
            self.table, self.low, self.step, self.steepest, self.tilt, LEAST, *flat, k.ravel(), r.ravel(), value, by_c, by_e,
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
        limits.thrust_fall + limits.drag + 2.0 * limits.drag_squared * speed, 0.5 * limits.thrust / speed
    )
    low = np.array([0.0, -1.7 / speed, -2.0 * slope / speed, -0.9 * slope, 0.0])
    high = np.array([1.0, 1.7 / speed, 2.0 * slope / speed, 2.1 * slope, 1.2 * slope])
    drag = limits.drag + limits.drag_squared * speed
    push = limits.thrust + drag * speed
    steepest = np.array([0.0, speed * push, 0.5 * speed * speed, speed, speed])
    axes = [np.linspace(a, b, n) for a, b, n in zip(low, high, COUNTS, strict=True)]
    step = (high - low) / (np.array(COUNTS) - 1)
    table = _table(limits, speed, axes) + SLACK * limits.thrust
    return Gain(table, low, step, steepest, speed, limits.tilt, push)


def _table(limits: Limits, speed: float, axes: list[Array]) -> Array:
    w = np.linspace(0.0, speed, SPEEDS)
    s = np.concatenate([-w[:0:-1], w])[:, None]
    size = np.hypot(s, w)
    drag = limits.drag + limits.drag_squared * size
    outside = size > speed + 1.5 * w[1]
    found = np.empty(COUNTS)
    for i, k in enumerate(axes[1]):
        rest = -(s + k * size**2) * drag
        for j, best in enumerate(_pushes(limits, s, w, float(k), axes[0])):
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
    f0, fall = limits.thrust, limits.thrust_fall
    turns = [0.0]
    if k * fall != 0.0:
        turns.append((k * f0 - fall * cosine) / (2.0 * k * fall))
    best = np.zeros_like(low)
    for z in (low, high, *(np.clip(turn, low, high) for turn in turns)):
        given = np.maximum(f0 - fall * np.maximum(z, 0.0), LEAST_THRUST * f0)
        best = np.maximum(best, (cosine + k * z) * given)
    return best
