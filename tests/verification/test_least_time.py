"""The least time within limits, and speeds that drag bounds, against closed forms.

Sources: optimal control of the double integrator (bang-bang); the point mass with limits per axis through gates is the model of
A. Romero, S. Sun, P. Foehn, D. Scaramuzza, arXiv 2203.09839; shares of polynomials: T. Flash, N. Hogan, J. Neuroscience 5 (1985)
and D. Mellinger, V. Kumar, ICRA 2011; drag balance: statics.
"""

import math

import numpy as np
import pytest
from scipy.optimize import minimize

from quadsim.config import load_craft, resolve_plant
from quadsim.contest.crowd import crowd_of
from quadsim.contest.dash import speed_limits
from quadsim.contest.dash_prediction import dash_of, ratings
from quadsim.contest.lap_limits import LapRule, lap_limits
from quadsim.contest.rules import DashRule
from quadsim.contest.steady import trim
from quadsim.environment.atmosphere import Site
from quadsim.planning.limits import Limits
from quadsim.planning.spline import Knots, Spline, minimum_control

G, RHO = 9.80665, 1.225


class PerAxis:
    """The planner's spline of linear accelerations and its gradients, under limits of each axis: from rest to rest."""

    def __init__(self, places, low, high, fastest=math.inf, pieces=6):
        self.places, self.low, self.high, self.fastest = np.array(places, float), low, high, fastest
        self.pieces, legs = pieces, len(places) - 1
        self.free = [i for i in range(legs * pieces - 1) if (i + 1) % pieces]
        self.along = np.arange(1, legs * pieces) / pieces

    def first(self):
        points = [np.interp(self.along, np.arange(len(self.places)), one)[self.free] for one in self.places.T]
        return np.concatenate([np.stack(points, axis=1).ravel(), np.full(len(self.along) + 1, math.log(0.5))])

    def unpacked(self, x):
        count, axes = len(self.free), self.places.shape[1]
        points = np.empty((len(self.along), axes))
        points[self.pieces - 1 :: self.pieces] = self.places[1:-1]
        points[self.free] = x[: count * axes].reshape(count, axes)
        return points, np.exp(x[count * axes :])

    def spline(self, x) -> tuple[Knots, Spline]:
        points, durations = self.unpacked(x)
        first, last = np.zeros((2, 2, points.shape[1]))
        first[0], last[0] = self.places[0], self.places[-1]
        knots = Knots(durations, 2)
        return knots, knots.spline(first, points, last)

    def cost(self, x, weight):
        knots, spline = self.spline(x)
        c, t = spline.coefficients, spline.durations[:, None]
        by_c, by_t, over = np.zeros_like(c), np.ones(len(t)), 0.0
        for share in (0.0, 0.5, 1.0):  # accelerations are straight in a piece, speeds nearly
            at = share * t
            v = c[:, 1] + 2.0 * c[:, 2] * at + 3.0 * c[:, 3] * at**2
            a = 2.0 * c[:, 2] + 6.0 * c[:, 3] * at
            wrong_a = (
                np.maximum(a / self.high - 1.0, 0.0) / self.high
                + np.minimum(a / -self.low + 1.0, 0.0) / -self.low
            )
            size = np.maximum(a / self.high - 1.0, 0.0) + np.minimum(a / -self.low + 1.0, 0.0)
            wrong_v = np.sign(v) * np.maximum(np.abs(v) / self.fastest - 1.0, 0.0)
            over += np.sum(t * (size**2 + wrong_v**2))
            by_a, by_v = 2.0 * weight * t * wrong_a, 2.0 * weight * t * wrong_v / self.fastest
            by_c[:, 1] += by_v
            by_c[:, 2] += 2.0 * by_a + 2.0 * at * by_v
            by_c[:, 3] += 6.0 * at * by_a + 3.0 * at**2 * by_v
            by_t += weight * np.sum(size**2 + wrong_v**2, axis=1) + share * np.sum(
                by_a * 6.0 * c[:, 3] + by_v * a, axis=1
            )
        _, by_points, _, by_t = knots.back(spline, by_c, by_t)
        gradient = np.concatenate([by_points[self.free].ravel(), by_t * spline.durations])
        return float(spline.durations.sum() + weight * over), gradient

    def fastest_line(self) -> Spline:
        x = self.first()
        for weight in (10.0, 300.0, 5000.0, 50000.0):
            options = {"maxiter": 500, "maxcor": 30, "ftol": 1e-10}
            x = minimize(self.cost, x, (weight,), "L-BFGS-B", jac=True, options=options).x
        return self.spline(x)[1]


def test_gradient_of_the_least_time():
    problem = PerAxis([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0)], -8.0, 12.0, 6.0, 3)
    rng = np.random.default_rng(2)
    x = problem.first() + 0.1 * rng.normal(size=len(problem.first()))
    way, h = rng.normal(size=len(x)), 1e-6
    slope = (problem.cost(x + h * way, 20.0)[0] - problem.cost(x - h * way, 20.0)[0]) / (2.0 * h)
    assert problem.cost(x, 20.0)[1] @ way == pytest.approx(slope, rel=1e-4)


@pytest.mark.jit
@pytest.mark.parametrize(
    ("length", "brake", "push", "fastest", "seconds", "peak"),
    [
        (20.0, 10.0, 10.0, math.inf, 2.828427, 14.142136),  # 2 sqrt(L/a)
        (20.0, 10.0, 10.0, 10.0, 3.0, 10.0),  # L/v + v/a
        (30.0, 12.0, 8.0, math.inf, 3.535534, 16.970563),  # sqrt(2 L (a + b)/(a b)), sqrt(2 L a b/(a + b))
    ],
)
def test_rest_to_rest_in_the_least_time(length, brake, push, fastest, seconds, peak):
    """Never faster than what the search leaves over its limits, 0.1 %, and within 1 %."""
    line = PerAxis([(0.0,), (length,)], -brake, push, fastest).fastest_line()
    assert seconds * 0.999 < line.knots[-1] < seconds * 1.01
    assert line.at(np.linspace(0.0, line.knots[-1], 400), 1).max() == pytest.approx(peak, rel=0.02)


@pytest.mark.jit
def test_corner_gate_in_the_least_time():
    """Rest at (0, 0), through (10, 0), rest at (10, 10) with |ax|, |ay| <= 10: T = 2 sqrt((1 + sqrt 2) L/a) = 3.107548 s, the
    gate at T/2 with vx = vy = sqrt(a L/(1 + sqrt 2)) = 6.435943 m/s. A stop at the gate takes 4 s, the way without it 2 s."""
    line = PerAxis([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0)], -10.0, 10.0).fastest_line()
    at_gate = line.knots[6]
    assert 3.107548 * 0.999 < line.knots[-1] < 3.107548 * 1.01
    assert at_gate == pytest.approx(3.107548 / 2.0, rel=0.02)
    assert line.at([at_gate], 1)[0] == pytest.approx([6.435943, 6.435943], rel=0.03)


@pytest.mark.parametrize(("order", "price"), [(2, 2.449490), (3, 2.402811), (4, 2.741020)])
def test_price_of_smoothness_under_one_limit(order, price):
    """T sqrt(a/L) of cubic, minimum jerk and minimum snap at their greatest acceleration; bang-bang takes 2."""
    spline = minimum_control(np.array([[0.0], [1.0]]), np.array([1.0]), order)
    most = np.abs(spline.at(np.linspace(0.0, 1.0, 20001), 2)).max()
    assert math.sqrt(most) == pytest.approx(price, rel=1e-6)


@pytest.mark.parametrize(
    ("mass", "ratio", "area", "level"), [(0.65, 4.0, 0.012, 57.95570), (0.9, 3.0, 0.015, 52.12612)]
)
def test_level_speed_that_drag_bounds(mass, ratio, area, level):
    """v = sqrt(2 m g sqrt(n^2 - 1)/(rho CdA)): at it the thrust limit is used to the full, no more."""
    limits = Limits(G, ratio * G, 0.0, 0.0, math.inf, math.pi, 0.0, RHO * area / (2.0 * mass), 0.1)
    still = np.zeros((1, 3))
    at = limits.passed(np.array([[level, 0.0, 0.0]]), still, still)[0][0][0]
    assert at == pytest.approx(0.0, abs=1e-6)


def test_speeds_straight_up_and_down_and_the_tilt_that_holds_against_drag():
    """m = 0.65 kg, n = 4, CdA = 0.012 m2: climb 51.00749 m/s, fall without thrust 29.44919 m/s, tilt at 15 m/s 14.54412 deg."""
    limits = Limits(G, 4.0 * G, 0.0, 0.0, math.inf, math.pi, 0.0, RHO * 0.012 / 1.3, 0.1)
    speeds = np.array([[0.0, 0.0, -51.00749], [0.0, 0.0, 29.44919], [15.0, 0.0, 0.0]])
    f = limits.force(speeds, np.zeros((3, 3)))
    assert np.linalg.norm(f[0]) == pytest.approx(4.0 * G, rel=1e-6)
    assert np.linalg.norm(f[1]) == pytest.approx(0.0, abs=1e-5)
    assert math.degrees(math.atan2(f[2, 0], -f[2, 2])) == pytest.approx(14.54412, rel=1e-6)


def _steady(limits: Limits) -> float:
    """Level speed at which the planner's thrust limit is used to the full [m/s]."""
    speed = np.linspace(1.0, 80.0, 8000)
    v = np.zeros((len(speed), 3))
    v[:, 0] = speed
    over = limits.passed(v, 0.0 * v, 0.0 * v)[0][0]
    return float(speed[np.argmax(over > 0.0)])


@pytest.mark.parametrize("name", ["siskin", "bonxie", "williwaw"])
def test_straight_of_the_planner_against_the_dash(name):
    """Within 6 % of the dash's with as much kept for attitude (measured 1.3 to 4.2 % below: the dash has a full battery and trims
    the whole craft, the planner has three numbers for what the air does)."""
    craft = load_craft(name)
    plant = resolve_plant(craft, Site())
    rule = DashRule(moment_reserve=LapRule().reserve)
    dash = speed_limits(crowd_of([plant]), dash_of(craft, rule), ratings(craft, plant))["command"]
    assert _steady(lap_limits(craft, plant, LapRule())) == pytest.approx(dash, rel=0.06)


@pytest.mark.parametrize("name", ["siskin", "bonxie", "williwaw"])
def test_tilt_against_drag_is_that_of_the_trim(name):
    """At 5 to 20 m/s: 3.5 deg; two numbers have to do for all speeds up to the top."""
    craft = load_craft(name)
    plant = resolve_plant(craft, Site())
    limits, rows = lap_limits(craft, plant, LapRule()), crowd_of([plant]).rows([0] * 4)
    speed = np.array([5.0, 10.0, 15.0, 20.0])
    v = np.zeros((4, 3))
    v[:, 0] = speed
    f = limits.force(v, 0.0 * v)
    leans = np.degrees(np.arctan2(f[:, 0], -f[:, 2]))
    assert leans == pytest.approx(np.degrees(trim(rows, rows.mass, speed).tilt), abs=3.5)
