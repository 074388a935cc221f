"""Limits and obstacles: their partial derivatives against differences, and signs."""

import math

import numpy as np
import pytest

from quadsim.config.course_schema import parse_course
from quadsim.planning.limits import Limits
from quadsim.planning.look_kernels import depth_at
from quadsim.planning.space import depths, obstacle_rows
from tests.planning.course_cases import course_text, gate_text

LIMITS = Limits(9.80665, 35.0, 0.6, 3.0, 12.0, math.radians(75), 0.15, 0.01, 0.2, 0.008)
COURSE = course_text(
    gate_text("a", 6, 0),
    gate_text("b", 14, 2, 2.5, 20),
    '[[post]]\nname = "pole"\nforward_m = 10\nright_m = 0.5\nheight_m = 5\nradius_m = 0.3\n'
    '[[box]]\nname = "hut"\nforward_m = [20, 24]\nright_m = [-4, 2]\nheight_m = [0, 3]\n',
    forward=(-5, 30),
    right=(-10, 10),
)


def test_partial_derivatives_agree_with_differences():
    rng = np.random.default_rng(1)
    v, a, j = rng.normal(size=(3, 40, 3)) * np.array([8.0, 15.0, 80.0])[:, None, None]
    states, h = [v, a, j], 1e-6
    for k, (_, partials) in enumerate(LIMITS.passed(v, a, j)):
        for axis, partial in enumerate(partials):
            way = rng.normal(size=(40, 3))
            low, high = (
                LIMITS.passed(*[one + side * h * way * (n == axis) for n, one in enumerate(states)])[k][0]
                for side in (-1.0, 1.0)
            )
            assert np.allclose(np.sum(partial * way, axis=1), (high - low) / (2.0 * h), rtol=1e-4, atol=1e-6)


def test_hover_keeps_every_limit():
    still = np.zeros((1, 3))
    assert all(g[0] < 0.0 for g, _ in LIMITS.passed(still, still, still))
    assert LIMITS.force(still, still)[0].tolist() == pytest.approx([0.0, 0.0, -9.80665])


def test_a_point_mass_has_fewer_limits():
    still = np.zeros((1, 3))
    assert len(LIMITS.passed(still, still, still)) == 4
    assert len(LIMITS.of_point_mass.passed(still, still, still)) == 2
    assert len(LIMITS.of_free_point_mass.passed(still, still, still)) == 1


@pytest.mark.parametrize("k", range(8))
def test_depth_of_obstacles_and_its_gradient(k):
    """The kernel against the depths of many places at once, and its gradient against differences."""
    course = parse_course(COURSE)
    places = np.random.default_rng(2).uniform([-6.0, -11.0, -9.0], [31.0, 11.0, 0.5], (100, 3))
    keep, h, gradient = 0.3, 1e-6, np.empty(3)
    kinds, rows = obstacle_rows(course)
    way = np.array([0.3, -0.5, 0.8])
    for place, known in zip(places, list(depths(course, 0.2, places))[k][1], strict=True):
        low, high = (
            depth_at(kinds[k], rows[k], keep, place + h * side * way, gradient) for side in (-1.0, 1.0)
        )
        assert depth_at(kinds[k], rows[k], keep, place, gradient) == pytest.approx(known, abs=1e-6)
        assert gradient @ way == pytest.approx((high - low) / (2.0 * h), abs=1e-4)


def test_depth_beside_a_pole_and_in_a_box():
    found = dict(depths(parse_course(COURSE), 0.2, np.array([[10.0, 1.0, -2.0]])))
    assert found["the post 'pole'"][0] == pytest.approx(0.3 + 0.2 + 0.1 - 0.5)
    assert found["the box 'hut'"][0] == pytest.approx(0.3 - 10.0)
