"""Lines and limits against closed forms.

pytestmark = pytest.mark.jit  # no kernel in it

Sources: minimum jerk: T. Flash, N. Hogan, J. Neuroscience 5 (1985). Minimum snap: D. Mellinger, V. Kumar, ICRA 2011; through a
waypoint: C. Richter, A. Bry, N. Roy, ISRR 2013 (equality-constrained quadratic programme). Turns, level acceleration: statics and
kinematics. Rest to a gate in the least time: double integrator, t = sqrt(2 L/a).
"""

import math

import numpy as np
import pytest

from quadsim.config.course import Gate
from quadsim.contest.lap_limits import turns_at_most
from quadsim.planning.guess import first_guess
from quadsim.planning.limits import Limits
from quadsim.planning.line import Problem, Search
from quadsim.planning.samples import farthest
from quadsim.planning.spline import minimum_control
from tests.planning.course_cases import a_course, a_gate

G = 9.80665


@pytest.mark.parametrize(
    ("order", "speed", "acceleration", "share", "cost"),
    [
        (2, 1.5, 6.0, 0.0, 12.0),
        (3, 1.875, 10.0 / math.sqrt(3.0), 0.2113249, 720.0),
        (4, 2.1875, 84.0 * math.sqrt(5.0) / 25.0, 0.2763932, 100800.0),
    ],
)
def test_rest_to_rest(order, speed, acceleration, share, cost):
    length, time = 12.0, 3.0
    spline = minimum_control(np.array([[0.0], [length]]), np.array([time]), order)
    assert spline.at([time / 2], 1)[0, 0] == pytest.approx(speed * length / time, rel=1e-9)
    assert spline.at([share * time], 2)[0, 0] == pytest.approx(acceleration * length / time**2, rel=1e-6)
    assert spline.cost() == pytest.approx(cost * length**2 / time ** (2 * order - 1), rel=1e-9)


def test_minimum_jerk_polynomial():
    spline = minimum_control(np.array([[0.0], [1.0]]), np.array([1.0]), 3)
    assert spline.coefficients[0, :, 0] == pytest.approx([0, 0, 0, 10, -15, 6], abs=1e-9)
    assert spline.at([0.0, 0.5], 3)[:, 0] == pytest.approx([60.0, -30.0])


def test_minimum_snap_polynomial():
    spline = minimum_control(np.array([[0.0], [1.0]]), np.array([1.0]), 4)
    assert spline.coefficients[0, :, 0] == pytest.approx([0, 0, 0, 0, 35, -84, 70, -20], abs=1e-8)


def test_minimum_snap_through_a_waypoint():
    spline = minimum_control(np.array([[0.0], [1.0], [3.0]]), np.array([1.0, 2.0]), 4)
    middle = [spline.at([1.0], k)[0, 0] for k in (1, 2, 3)]
    assert middle == pytest.approx([2.376543, 1.296296, -9.236111], rel=1e-6)
    assert spline.cost() == pytest.approx(1407.2917, rel=1e-6)
    even = minimum_control(np.array([[0.0], [1.0], [2.0]]), np.array([1.0, 1.0]), 4)
    assert even.cost() == pytest.approx(3150.0, rel=1e-9)


def test_more_time_for_the_same_shape():
    spline = minimum_control(np.array([[0.0], [12.0]]), np.array([3.0]), 4)
    slower = spline.stretched(1.5)
    for k in (1, 2, 3):
        assert slower.at([1.8], k)[0, 0] == pytest.approx(spline.at([1.2], k)[0, 0] / 1.5**k, rel=1e-9)


def test_turn_of_the_thrust_on_a_level_circle():
    """r = 5 m, v = 10 m/s: bank 63.87979 deg, thrust 2.271406 m g; the thrust turns at Omega sin(bank) = 1.795745 rad/s."""
    limits = Limits(G, 50.0, 0.0, 0.0, 1.0, math.radians(80.0), 0.0, 0.0, 0.1)
    velocity, inward, jerk = (
        np.array([[10.0, 0.0, 0.0]]),
        np.array([[0.0, 20.0, 0.0]]),
        np.array([[-40.0, 0.0, 0.0]]),
    )
    f = limits.force(velocity, inward)[0]
    assert np.linalg.norm(f) / G == pytest.approx(2.271406, rel=1e-6)
    assert math.degrees(math.acos(-f[2] / np.linalg.norm(f))) == pytest.approx(63.87979, rel=1e-6)
    rate = limits.passed(velocity, inward, jerk)[1][0][0]  # (w/w_max)^2 - 1 with w_max = 1
    assert math.sqrt(rate + 1.0) == pytest.approx(1.795745, rel=1e-6)


@pytest.mark.parametrize(("ratio", "level"), [(2, 16.98562), (3, 27.73739), (4, 37.98099), (5, 48.04258)])
def test_level_acceleration_at_a_thrust(ratio, level):
    limits = Limits(G, ratio * G, 0.0, 0.0, 1.0, 1.0, 0.0, 0.0, 0.1)
    assert turns_at_most(limits) == pytest.approx(level, rel=1e-6)


def _course(*gates: Gate):
    """Gates on one level, 50 m over the ground, far from all limits."""
    return a_course(
        *gates, start=(0.0, 0.0, -50.0), low=(-200.0,) * 3, high=(400.0, 200.0, 0.0), clearance=0.1
    )


def _straight(length: float):
    return _course(a_gate("finish", length, height=50.0, width=4.0, tall=4.0))


@pytest.mark.jit
@pytest.mark.parametrize(("length", "limit"), [(20.0, 10.0), (45.0, 22.5)])
def test_point_mass_from_rest_through_a_gate(length, limit):
    """sqrt(2 L/a) = 2 s; never 1 % slower, nor faster than what the search's own tolerance allows."""
    limits = Limits(0.0, limit, 0.0, 0.0, math.inf, math.pi, 0.0, 0.0, 0.1)
    problem = Problem(
        _straight(length), limits, Search(2, 6, 4, (10.0, 300.0, 5000.0), 300), np.array([0.0, 0.0, -50.0])
    )
    line = problem.line(problem.solve(first_guess(problem)))
    assert 2.0 * 0.998 < line.total < 2.0 * 1.01
    assert farthest(line.spline, limits, problem.course)["thrust"] < 1.005


def test_the_check_notices_a_spline_that_is_not_the_least():
    """A minimum-snap curve is no minimum-jerk one: its jerk costs more than 720 L^2/T^5."""
    snap = minimum_control(np.array([[0.0], [1.0]]), np.array([1.0]), 4)
    t = np.linspace(0.0, 1.0, 2001)
    assert np.trapezoid(snap.at(t, 3)[:, 0] ** 2, t) > 720.0 * 1.05
