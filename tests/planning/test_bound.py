"""The proven bound: its gain against random motions, its gradient, closed forms, and a planned line that it must not pass."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from quadsim.planning.bound import PARTS, SPANS, Bound, proven_bound
from quadsim.planning.bound_gain import Gain, make_gain, top_speed
from quadsim.planning.guess import first_guess
from quadsim.planning.limits import Limits
from quadsim.planning.line import Problem, Search
from tests.planning.course_cases import a_course, a_gate

pytestmark = pytest.mark.jit
LIMITS = Limits(9.80665, 42.0, 0.8, 0.0, math.inf, math.radians(85.0), 0.1, 0.009, 0.2, 0.005)
FREE = Limits(0.0, 10.0, 0.0, 0.0, math.inf, math.pi, 0.5, 0.0, 0.1)
LEAST_S = brentq(lambda t: 10.0 / 0.5 * (t - (1.0 - math.exp(-0.5 * t)) / 0.5) - 20.0, 1.0, 5.0)
"""From rest to a gate 20 m ahead under FREE: v' = a - d v, x = a/d (t - (1 - exp(-d t))/d) (closed form)."""


@pytest.fixture(scope="module")
def gain() -> Gain:
    return make_gain(LIMITS, top_speed(LIMITS, 7.0))


def prices(rng, count):
    """c, e, k, r as they are on the way to a good bound."""
    c, e = 0.02 * rng.normal(size=(2, count, 3))
    return c, e, 3e-4 * rng.normal(size=count), 5e-4 * rng.normal(size=count)


def motions(rng, near_v, near_f, step, fastest):
    """Velocities up to a speed and thrusts over mass within LIMITS, drawn near others."""
    v = near_v + step * rng.normal(size=near_v.shape)
    v *= np.minimum(1.0, fastest / np.linalg.norm(v, axis=1, keepdims=True))
    u = near_f + step * rng.normal(size=near_f.shape)
    u /= np.linalg.norm(u, axis=1, keepdims=True)
    level = np.linalg.norm(u[:, :2], axis=1)
    steep = -u[:, 2] < math.cos(LIMITS.tilt)
    flat = u[:, :2] / level[:, None] * math.sin(LIMITS.tilt)
    u = np.where(steep[:, None], np.column_stack([flat, np.full(len(u), -math.cos(LIMITS.tilt))]), u)
    climb = np.maximum(np.sum(v * u, axis=1), 0.0)
    return v, u * LIMITS.greatest(np.linalg.norm(v, axis=1), climb)[:, None]


def test_no_motion_within_the_limits_gains_more_than_the_table_says(gain):
    """Motions sought at random for 4000 prices, better and better; the limits' own numbers say that they are within them."""
    rng = np.random.default_rng(3)
    c, e, k, r = prices(rng, 4000)
    said = gain(c, e, k, r)[0]
    v, f, best, step = np.zeros_like(c), 2000.0 * c, np.full(4000, -np.inf), 20.0
    for turn in range(200):
        at, push = motions(rng, v, f, step, gain.speed)
        speed = np.linalg.norm(at, axis=1, keepdims=True)
        a = push - (LIMITS.drag + LIMITS.drag_squared * speed) * at
        found = (
            np.sum(e * at, axis=1) + 0.5 * r * speed[:, 0] ** 2 + np.sum((c + k[:, None] * at) * a, axis=1)
        )
        better = found > best
        best, v, f = (
            np.where(better, found, best),
            np.where(better[:, None], at, v),
            np.where(better[:, None], push, f),
        )
        step *= 0.5 if turn % 30 == 29 else 1.0
    pulled = LIMITS.passed(v, f - (LIMITS.drag + LIMITS.drag_squared * np.linalg.norm(v, axis=1, keepdims=True)) * v
                           + np.array([0.0, 0.0, LIMITS.gravity]), 0.0 * v)  # fmt: skip
    assert max(float(np.max(g)) for g, _ in pulled) < 1e-6
    short = (said - best) / (np.linalg.norm(c, axis=1) * LIMITS.thrust)
    assert short.min() > 0.0
    assert np.median(short[c[:, 2] < 0.0]) < 0.12, "a table that says far too much proves little"


def test_partial_derivatives_of_the_gain(gain):
    rng = np.random.default_rng(5)
    at = prices(rng, 300)
    partials = gain(*at)[1:]
    for n, (one, by) in enumerate(zip(at, partials, strict=True)):
        way, h = rng.normal(size=one.shape), 1e-8 if n < 2 else 1e-10
        ends = [
            gain(*(o + side * h * way if m == n else o for m, o in enumerate(at)))[0] for side in (1.0, -1.0)
        ]
        slope = (ends[0] - ends[1]) / (2.0 * h)
        along = np.sum(by * way, axis=-1) if n < 2 else by * way
        assert np.median(np.abs(along - slope) / (np.abs(slope) + 1e-3)) < 1e-4


def line_of(course, limits, start):
    problem = Problem(course, limits, Search(2, 4, 4, (10.0, 300.0, 5000.0), 150), start)
    return problem.line(problem.solve(first_guess(problem)))


@pytest.fixture(scope="module")
def straight():
    gate = a_gate("finish", 20.0, height=50.0, width=4.0, tall=4.0)
    course = a_course(
        gate, start=(0.0, 0.0, -50.0), low=(-200.0,) * 3, high=(400.0, 200.0, 0.0), clearance=0.1
    )
    return course, line_of(course, FREE, np.array([0.0, 0.0, -50.0]))


def test_gradient_of_the_bound(straight):
    course, line = straight
    bound = Bound(course, FREE, line, 0.0)
    rng = np.random.default_rng(1)
    x = bound.first(line) + 0.05 * rng.random(len(bound.ranges()))
    way, h = rng.normal(size=len(x)), 1e-6
    slope = (bound.cost(x + h * way, 0.05)[0] - bound.cost(x - h * way, 0.05)[0]) / (2.0 * h)
    assert bound.cost(x, 0.05)[1] @ way == pytest.approx(slope, rel=0.02)
    assert bound.times.shape == (1, len(SPANS) + 1, 2) and len(bound.shapes) == 11 and PARTS > 1


def test_from_rest_to_a_gate(straight):
    """Never above the closed form, and not far below."""
    course, line = straight
    assert 0.9 * LEAST_S < proven_bound(course, FREE, line, 0.0, ((0.1, 150), (0.03, 80))) <= LEAST_S


def test_any_prices_give_a_bound(straight):
    """Weak duality: whatever the prices are, the closed form is not passed."""
    course, line = straight
    bound = Bound(course, FREE, line, 0.0)
    rng = np.random.default_rng(8)
    for scale in (0.0, 0.1, 0.5, 2.0):
        x = bound.first(line) + scale * rng.normal(size=len(bound.ranges()))
        assert bound.height(np.maximum(x, bound.ranges()[:, 0])) <= LEAST_S


def test_a_course_with_a_turn_and_a_climb():
    """A bound under the point mass that a search found; the time to the first gate is a part of it."""
    gates = (a_gate("a", 9.0), a_gate("b", 18.0, 4.0, 6.0, 40.0), a_gate("c", 18.0, 14.0, 3.0, 120.0))
    course = a_course(
        *gates, start=(0.0, 0.0, -1.0), low=(-10.0, -20.0, -15.0), high=(40.0, 30.0, 0.0), clearance=0.1
    )
    line = line_of(course, LIMITS, np.array([0.0, 0.0, -1.0]))
    found = proven_bound(course, LIMITS, line, 0.0, ((0.05, 60),))
    assert 0.6 * line.total < found < line.total
