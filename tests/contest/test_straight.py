"""Run-up and braking: the force ahead, and the law that steers them."""

import math

import numpy as np
import pytest

from quadsim.config import load_craft, resolve_plant
from quadsim.contest.crowd import crowd_of
from quadsim.contest.steady import level_acceleration, trim
from quadsim.contest.straight import SETTLED, STOPPED_M_S, Pull, fly_legs, run_aim
from quadsim.environment.atmosphere import Site

TOP = {"siskin": 29.0, "bonxie": 20.0, "williwaw": 33.0}


@pytest.fixture(scope="module", params=TOP)
def one(request):
    return crowd_of([resolve_plant(load_craft(request.param), Site())]), TOP[request.param]


def test_from_rest_it_is_the_slope_of_the_thrust(one):
    # statics: m a = m g tan(tilt) with height held, no drag at rest
    crowd, _ = one
    for tilt in (-0.5, 0.2, 0.9):
        found = level_acceleration(crowd, np.array([tilt]), np.zeros(1))[0]
        assert found == pytest.approx(float(crowd.gravity[0]) * math.tan(tilt), rel=1e-9)


def test_in_a_trim_nothing_is_left(one):
    crowd, top = one
    for speed in (0.4 * top, top):
        lean = trim(crowd, crowd.mass, np.array([speed])).tilt
        assert abs(level_acceleration(crowd, lean, np.array([speed]))[0]) < 0.05
        assert level_acceleration(crowd, lean + 0.1, np.array([speed]))[0] > 0.5


def test_the_grid_follows_the_force(one):
    crowd, top = one
    pull = Pull.of(crowd, (-0.6, 1.3), (-1.0, top))
    tilt, speed = np.array([-0.41, 0.33, 1.17]), np.array([0.7 * top, 0.13 * top, 0.9 * top])
    exact = level_acceleration(crowd.rows([0, 0, 0]), tilt, speed)
    assert pull.acceleration(tilt, speed) == pytest.approx(exact, abs=0.3)


def test_legs_reach_what_they_are_for(one):
    crowd, top = one
    legs = fly_legs(crowd, top, 1.4, np.array([5.0, -5.0]))
    assert np.all(legs.up.ground_m_s[-1] - legs.wind > SETTLED * top)
    assert legs.run_up_m[0] > legs.run_up_m[1] > 0.0  # the wind carries it along
    assert legs.braking_m[0] > legs.braking_m[1] > 0.0
    assert np.all(legs.run_up_s < 10.0) and STOPPED_M_S < 5.0
    # no craft brakes shorter than at g tan(30 deg) and its drag of top speed together: way > V^2/(2 a)
    lean = float(legs.lean[0])
    hardest = 9.80665 * (math.tan(math.radians(30.0)) + math.tan(lean))
    assert legs.braking_m[0] > (top + 5.0) ** 2 / (2.0 * hardest)


def test_the_law_leans_by_what_is_missing():
    aim = run_aim(np.array([20.0]), np.array([0.6]), 0.7)
    assert aim.tilt(np.array([20.0]))[0] == 0.6
    assert aim.tilt(np.array([0.0]))[0] == 0.7  # the greatest tilt
    assert 0.6 - math.radians(10.0) <= aim.tilt(np.array([22.0]))[0] < 0.6
