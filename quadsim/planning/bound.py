"""A time that no point mass passes under: proven by prices on place, velocity and kinetic energy, not by a search for a line.

Between two gates let  phi = -p x - c v - k v^2/2  with any p, c(t), k(t). Along every motion
    phi(T) - phi(0) = -integral of (c' + p) v + k' v^2/2 + (c + k v) a  >=  -integral of the greatest gain (`bound_gain`).
With the same prices C, K, P on both sides of a gate the sums of all stretches T_i + phi telescope to the whole time, so that
    time >= sum over i of the least over T_i of  T_i - integral of the gain - what the places within the openings are worth.
Whatever the prices are, this is a lower bound (weak duality); a search makes it as high as it can. p may change underway:
as no place lies outside the field, a change that pushes off an edge costs no more than the edge's place. A velocity through a
gate has no part against its direction: c may drop by a multiple of it.

Between nodes of time c and k are straight, the gain is convex there, and a trapezoid gives no less than its integral. For prices
over the share of T the bound of a stretch is concave in T: between two times it is no less than at the lower end of both. So no
step of time or T has to be small for the bound to hold; it is only less high. Left out, which can only make it lower: posts,
boxes, turning, least thrust, and the thrust's side when its tilt is limited.

References
----------
Weak duality of optimal control: R. Vinter, Convex duality and nonlinear optimal control, SIAM J. Control Optim. 31 (1993),
doi 10.1137/0331024 (from memory). Point mass through gates: A. Romero, S. Sun, P. Foehn, D. Scaramuzza, arXiv 2203.09839.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from quadsim.planning.bound_gain import Gain, make_gain, top_speed
from quadsim.planning.limits import Limits
from quadsim.planning.line import Line, Search
from quadsim.planning.line import Problem as LineProblem
from quadsim.planning.plan import Plan, start_of

Array = NDArray[np.float64]

PARTS = 4
"""Pieces of time from gate to gate."""
SPANS = np.geomspace(0.38, 1.6, 20)
"""Ends of the spans of T that are looked at one by one, over the time of the line that is compared; one more on each side
reaches to the shortest and the longest time that there can be."""
STAGES = (0.2, 150), (0.05, 250), (0.02, 250), (0.007, 150)
"""Softness of the least over T [s], and steps with it."""
AGAIN = 20
"""Steps that a search counts at least."""
WORTH_S = 2e-3
"""A gain of the bound for which the search is begun again [s]."""
SMOOTH = 1e-9
"""Rounds a size off: sqrt(x^2 + this) is never less."""


def proven(plan: Plan, margin: float = 0.0) -> float:
    """Time to the last passage that no point mass with the thrust, drag and tilt of a plan's craft is faster than [s]."""
    return proven_bound(plan.course, plan.limits.of_point_mass, plan.bound, margin)


def proven_bound(
    course: Any,
    limits: Limits,
    line: Line,
    margin: float = 0.0,
    stages: tuple[tuple[float, int], ...] = STAGES,
) -> float:
    """Time from rest at the start to the last passage that no point mass within the limits is faster than [s].

    line : of a point mass, found by search; its time is the greatest that is given
    """
    bound = Bound(course, limits, line, margin)
    x = bound.first(line)
    for softness, steps in stages:
        x = _higher(bound, x, softness, steps)
    return min(bound.height(x), line.total)


def _higher(bound: Bound, x: Array, softness: float, steps: int) -> Array:
    """Better prices; begun again where a kink of the gain ended the search early."""
    ranges, before = bound.ranges(), np.inf
    while steps > 0:
        found = minimize(
            bound.cost, x, args=(softness,), jac=True, method="L-BFGS-B", bounds=ranges,
            options={"maxiter": steps, "maxfun": 3 * steps, "maxcor": 30, "ftol": 1e-8, "gtol": 1e-8},
        )  # fmt: skip
        x, steps = found.x, steps - max(int(found.nit), AGAIN)
        if before - found.fun < WORTH_S:
            break
        before = found.fun
    return np.asarray(x)


class Bound:
    """The prices, packed in one vector, and how high they bound the time.

    Shared at gates: C (n - 1, 3), P (n - 1, 2) in the opening, K (n - 1), drop (n) of c against the direction. For each stretch
    and span: p (3), c and k inside (m - 1), pushes off the low and high edges of the field (m - 1, 3). For the start, which is at
    rest, c (3) and k.
    """

    def __init__(self, course: Any, limits: Limits, line: Line, margin: float) -> None:
        problem = LineProblem(course, limits, Search(), start_of(course, limits), margin)
        self.limits, self.total = limits, line.total
        self.gain: Gain = make_gain(limits, top_speed(limits, line.total))
        self.centre = np.concatenate([problem.start[None], problem.centre])
        self.right, self.forward = problem.right, problem.forward
        self.half = np.maximum(problem.half - problem.keep, 0.0)
        self.low, self.high = (
            np.minimum(problem.low, self.centre.min(0)),
            np.maximum(problem.high, self.centre.max(0)),
        )
        self.times = self._times(np.diff(np.concatenate([[0.0], line.times])))
        n, k, m = len(self.right), self.times.shape[1], PARTS
        self.shapes = [
            (n - 1, 3), (n - 1, 2), (n - 1,), (n,),
            (n, k, 3), (n, k, m - 1, 3), (n, k, m - 1), (n, k, m - 1, 3), (n, k, m - 1, 3), (k, 3), (k,),
        ]  # fmt: skip
        c, p, energy = 1.0 / limits.thrust, 0.05, 1e-3
        self.scales = [c, p, energy, c, p, c, energy, p, p, c, energy]
        self.signed = [True, True, True, False, True, True, True, False, False, True, True]
        self.cuts = np.cumsum([int(np.prod(shape)) for shape in self.shapes])[:-1]

    def _times(self, found: Array) -> Array:
        """Both ends of the spans of each stretch (n, spans, 2) [s]: from what the top speed allows to what the others leave."""
        reach = np.concatenate([[0.0], np.linalg.norm(self.half, axis=1)])
        gap = np.maximum(np.linalg.norm(np.diff(self.centre, axis=0), axis=1) - reach[1:] - reach[:-1], 0.0)
        least = np.maximum(gap / self.gain.speed, 1e-3)
        ends = np.clip(found[:, None] * SPANS, least[:, None], (self.total - least.sum() + least)[:, None])
        ends = np.concatenate([least[:, None], ends, (self.total - least.sum() + least)[:, None]], axis=1)
        return np.stack([ends[:, :-1], ends[:, 1:]], axis=-1)

    def ranges(self) -> Array:
        """Least and greatest value of every price, (n, 2): prices of inequalities are not below zero."""
        low = [
            np.full(int(np.prod(shape)), -np.inf if signed else 0.0)
            for shape, signed in zip(self.shapes, self.signed, strict=True)
        ]
        return np.stack([np.concatenate(low), np.full(sum(map(len, low)), np.inf)], axis=1)

    def _parts(self, x: Array) -> list[Array]:
        cut = np.split(x, self.cuts)
        return [
            scale * one.reshape(shape)
            for one, shape, scale in zip(cut, self.shapes, self.scales, strict=True)
        ]

    def _packed(self, parts: list[Array], power: int) -> Array:
        return np.concatenate(
            [np.ravel(one) * scale**power for one, scale in zip(parts, self.scales, strict=True)]
        )

    def first(self, line: Line) -> Array:
        """Prices to begin with: velocity is worth most along the thrust of the line that was found."""
        parts = [np.zeros(shape) for shape in self.shapes]
        ends = np.concatenate([[0.0], line.times])
        t = ends[:-1, None] + np.diff(ends)[:, None] * np.linspace(0.0, 1.0, PARTS + 1)
        f = self.limits.force(line.spline.at(t.ravel(), 1), line.spline.at(t.ravel(), 2))
        c = 0.7 / self.limits.thrust * (f / np.linalg.norm(f, axis=1, keepdims=True)).reshape(*t.shape, 3)
        c[-1] *= np.linspace(1.0, 0.0, PARTS + 1)[:, None]
        parts[0][:] = c[:-1, -1]
        p = 0.3 * c.mean(axis=1) - (c[:, -1] - c[:, 0]) / np.diff(ends)[:, None]
        parts[4][:], parts[5][:], parts[9][:] = p[:, None], c[:, None, 1:-1], c[0, 0]
        return self._packed(parts, -1)

    def height(self, x: Array) -> float:
        """The bound [s] with the prices of a vector."""
        found, _ = self._stretches(self._parts(x))
        return float(found.min(axis=(1, 2)).sum())

    def cost(self, x: Array, softness: float) -> tuple[float, Array]:
        """The bound with a soft least over T, which is no greater, negative; with the gradient by the vector."""
        found, back = self._stretches(self._parts(x))
        least = found.min(axis=(1, 2), keepdims=True)
        near = np.exp(-(found - least) / softness)
        total = near.sum(axis=(1, 2), keepdims=True)
        return float(-np.sum(least - softness * np.log(total))), -self._packed(back(near / total), 1)

    def _stretches(self, parts: list[Array]) -> tuple[Array, Any]:
        """The bounds of all stretches at both ends of their spans (n, spans, 2), and what brings weights on them to the parts."""
        C, P, K, drop, p, c_in, k_in, off_low, off_high, c0, k0 = parts
        n, spans, m = len(self.right), p.shape[1], PARTS
        c, k = np.zeros((n, spans, 1, m + 1, 3)), np.zeros((n, spans, 1, m + 1))
        c[:, :, 0, 1:-1], k[:, :, 0, 1:-1] = c_in, k_in
        c[1:, :, 0, 0], k[1:, :, 0, 0] = C[:, None], K[:, None]
        c[0, :, 0, 0], k[0, :, 0, 0] = c0, k0
        c[:-1, :, 0, -1], k[:-1, :, 0, -1] = C[:, None], K[:, None]
        c[:, :, 0, -1] += (drop[:, None] * self.forward)[:, None]
        push = off_high - off_low
        force = np.concatenate([p[:, :, None], p[:, :, None] + np.cumsum(push, axis=2)], axis=2)[:, :, None]
        step = (self.times / m)[..., None]
        found = self.times - self._worth(force[:, :, 0], P)[..., None]
        found = found - np.sum(off_high * self.high - off_low * self.low, axis=(2, 3))[..., None]
        slopes_c, slopes_k = np.diff(c, axis=3) / step[..., None], np.diff(k, axis=3) / step
        g = np.array([0.0, 0.0, self.limits.gravity])
        kept = []
        for side in (slice(None, -1), slice(1, None)):
            at_c = np.broadcast_to(c[:, :, :, side], slopes_c.shape)
            at_k = np.broadcast_to(k[:, :, :, side], slopes_k.shape)
            value, *by = self.gain(at_c, force + slopes_c + at_k[..., None] * g, at_k, slopes_k)
            found = found - 0.5 * np.sum(step * (value + at_c @ g), axis=-1)
            kept.append((side, by))
        return found, lambda weight: self._back(parts, force[:, :, 0], weight, step, kept, g)

    def _worth(self, force: Array, P: Array) -> Array:
        """What the places at both gates of a stretch are worth at most (n, spans)."""
        first, last = force[:, :, 0], force[:, :, -1]
        fixed = np.sum(first * self.centre[:-1, None], axis=-1) - np.sum(
            last * self.centre[1:, None], axis=-1
        )
        return fixed + sum(half * np.sqrt(off * off + SMOOTH) for half, off, *_ in self._offs(first, last, P))

    def _offs(self, first: Array, last: Array, P: Array) -> list[Any]:
        """Half-widths, prices of place less forces along both axes of both openings, and the axes."""
        n = len(self.right)
        up = np.tile([0.0, 0.0, -1.0], (n, 1))
        found: list[Any] = []
        for q, axis in enumerate((self.right, up)):
            price = np.append(P[:, q], 0.0)
            half = self.half[:, q]
            found.append((half[:, None], price[:, None] - np.einsum("nkd,nd->nk", last, axis), q, axis, True))
            before = np.concatenate([[0.0], half[:-1]])
            there = np.concatenate([[0.0], P[:, q]])[:, None] - np.einsum(
                "nkd,nd->nk", first, np.roll(axis, 1, axis=0)
            )
            found.append((before[:, None], there, q, np.roll(axis, 1, axis=0), False))
        return found

    def _back(
        self, parts: list[Array], force: Array, weight: Array, step: Array, kept: list[Any], g: Array
    ) -> list[Array]:
        """Partial derivatives by the parts of the bounds, weighted."""
        P, m = parts[1], PARTS
        n, spans = weight.shape[:2]
        by_c, by_k = np.zeros((n, spans, m + 1, 3)), np.zeros((n, spans, m + 1))
        by_force = np.zeros((n, spans, m, 3))
        half = -0.5 * step * weight[..., None]
        for side, (c, e, k, r) in kept:
            by_e = half[..., None] * e
            by_force += by_e.sum(axis=2)
            by_c[:, :, side] += (half[..., None] * (c + g)).sum(axis=2)
            by_k[:, :, side] += (half * k).sum(axis=2) + by_e.sum(axis=2) @ g
            along, change = (by_e / step[..., None]).sum(axis=2), (half * r / step).sum(axis=2)
            by_c[:, :, 1:] += along
            by_c[:, :, :-1] -= along
            by_k[:, :, 1:] += change
            by_k[:, :, :-1] -= change
        w = weight.sum(axis=2)
        by_force[:, :, 0] -= w[..., None] * self.centre[:-1, None]
        by_force[:, :, -1] += w[..., None] * self.centre[1:, None]
        by_P = np.zeros((n + 1, 2))
        for size, off, q, axis, after in self._offs(force[:, :, 0], force[:, :, -1], P):
            by_off = -w * size * off / np.sqrt(off * off + SMOOTH)
            by_P[: -1 if not after else None][0 if not after else 1 :, q] += by_off.sum(axis=1)
            by_force[:, :, -1 if after else 0] -= by_off[..., None] * axis[:, None]
        by_push = np.cumsum(by_force[:, :, :0:-1], axis=2)[:, :, ::-1]
        edges = w[..., None, None]
        return [
            by_c[1:, :, 0].sum(axis=1) + by_c[:-1, :, -1].sum(axis=1), by_P[1:-1],
            by_k[1:, :, 0].sum(axis=1) + by_k[:-1, :, -1].sum(axis=1), np.sum(by_c[:, :, -1].sum(axis=1) * self.forward, axis=1),
            by_force.sum(axis=2), by_c[:, :, 1:-1], by_k[:, :, 1:-1], edges * self.low - by_push, by_push - edges * self.high,
            by_c[0, :, 0], by_k[0, :, 0],
        ]  # fmt: skip
