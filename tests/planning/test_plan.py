"""The plan of a small course: through the gates, within the limits, near the point mass; and courses that cannot be flown."""

import math
import time
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from quadsim.config.course_schema import parse_course
from quadsim.errors import InputError
from quadsim.planning.crossing import crossing
from quadsim.planning.guess import first_guess
from quadsim.planning.limits import Limits
from quadsim.planning.line import Problem, Search
from quadsim.planning.plan import lap_times, plan, plan_line, start_of
from tests.planning.course_cases import course_text, gate_text

LIMITS = Limits(9.80665, 35.0, 0.6, 3.0, 12.0, math.radians(80), 0.15, 0.01, 0.2)
GATES = (gate_text("a", 7, 0), gate_text("b", 15, 3, 3), gate_text("c", 22, 7, 2, 90))
POLE = '[[post]]\nname = "pole"\nforward_m = 11\nright_m = 1.5\nheight_m = 6\nradius_m = 0.3\n'


@pytest.fixture(scope="module")
def planned():
    return plan(parse_course(course_text(*GATES, POLE)), LIMITS, 0.1, effort=0.35)


def test_gradient_of_the_whole_cost_agrees_with_differences():
    course = parse_course(course_text(*GATES, POLE))
    problem = Problem(course, LIMITS, Search(3, 2, 8), start_of(course, LIMITS))
    rng = np.random.default_rng(4)
    x = first_guess(problem) + 0.05 * rng.normal(size=len(problem.bounds()))
    way, h = rng.normal(size=len(x)), 1e-6
    slope = (problem.cost(x + h * way, 30.0)[0] - problem.cost(x - h * way, 30.0)[0]) / (2.0 * h)
    assert problem.cost(x, 30.0)[1] @ way == pytest.approx(slope, rel=1e-4)


@pytest.mark.jit
def test_passes_every_gate_ahead_with_room(planned):
    line = planned.line
    places = line.spline.at(np.arange(0.0, line.total + 0.2, 0.002))
    keep = LIMITS.radius + 0.1 + 0.1
    for gate in line.gates:
        found = [one for p, q in pairwise(places) if (one := crossing(gate, p, q)) and one.inside]
        assert len(found) == 1 and found[0].ahead
        assert abs(found[0].side) <= gate.width / 2 - keep + 0.01
        assert abs(found[0].up) <= gate.height / 2 - keep + 0.01


@pytest.mark.jit
def test_keeps_limits_and_obstacles(planned):
    assert max(planned.used[name] for name in ("thrust", "least", "rate", "tilt")) < 1.04
    assert planned.used["depth_m"] < 0.03
    assert planned.used["thrust"] > 0.98, "a line that uses nothing to the full is not the fastest"


@pytest.mark.jit
def test_is_near_the_point_mass_and_above_it(planned):
    assert 0.0 < planned.above_bound < 0.15
    assert planned.free.total <= planned.bound.total


@pytest.mark.jit
def test_less_thrust_is_slower(planned):
    weaker = plan(planned.course, replace(LIMITS, thrust=20.0), 0.1, effort=0.3)
    assert weaker.line.total > planned.line.total * 1.1


@pytest.mark.jit
def test_twelve_gates_are_planned_in_a_moment(monkeypatch):
    """A zigzag of 12 gates over three heights: the work of the search counted, and its processor time."""
    gates = (gate_text(k + 1, 6 + 6 * k, 4 * (k % 2), 1.5 + k % 3) for k in range(12))
    course = parse_course(course_text(*gates, forward=(-5, 95)))
    looks, cost = [], Problem.cost
    monkeypatch.setattr(Problem, "cost", lambda self, x, w: looks.append(1) or cost(self, x, w))
    plan_line(course, LIMITS, 0.1, effort=0.05)  # loads the kernels
    looks.clear()
    begun = time.process_time()
    found = plan_line(course, LIMITS, 0.1)
    assert len(found.line.times) == 12 and found.used["thrust"] > 0.98
    assert len(looks) < 1600
    assert time.process_time() - begun < 10.0, "of which the whole command has ten"


def test_a_gate_too_small_is_named():
    small = gate_text("hole", 15, 3, 3, width=0.55)
    with pytest.raises(InputError, match=r"gate hole: is 0\.55 m wide inside; must be at least 0\.80 m"):
        plan(parse_course(course_text(GATES[0], small)), LIMITS, 0.1)


def test_lap_times_by_the_clock_of_the_course():
    course = parse_course(course_text(*GATES))
    open_course, closed = replace(course, closed=False, laps=1), replace(course, closed=True, laps=2)
    assert lap_times(open_course, np.array([1.0, 2.0, 3.5])).tolist() == [3.5]
    assert lap_times(closed, np.array([1.0, 2.0, 3.5, 5.0, 6.0, 7.0, 8.2])).tolist() == pytest.approx(
        [4.0, 3.2]
    )
