"""The farthest fall of a craft against closed forms, and what must make it farther."""

import math
from dataclasses import replace

import numpy as np
import pytest

from quadsim.analysis import throw
from quadsim.analysis.falling import Body, fall
from quadsim.analysis.throw import dive_speed, worst_throw
from quadsim.config import load_craft
from quadsim.environment.atmosphere import Site

RHO, G = 1.225, 9.80665
HEIGHT, SPEED = 12.0, 20.0


@pytest.fixture(scope="module")
def siskin():
    return load_craft("siskin")


def test_an_oblique_throw_in_vacuum():
    """x = v cos(a) t, t = (v sin(a) + sqrt(v^2 sin(a)^2 + 2 g h))/g; energy is kept. Elementary mechanics."""
    angle = math.radians(35.0)
    across, up = SPEED * math.cos(angle), SPEED * math.sin(angle)
    down = fall(HEIGHT, across, 0.0, Body(0.6, 0.0, RHO, G), up)
    t = (up + math.sqrt(up**2 + 2.0 * G * HEIGHT)) / G
    assert down.time_s == pytest.approx(t, rel=1e-8)
    assert down.distance_m == pytest.approx(across * t, rel=1e-8)
    assert down.speed_m_s == pytest.approx(math.sqrt(SPEED**2 + 2.0 * G * HEIGHT), rel=1e-8)


def test_the_best_angle_in_vacuum(siskin, monkeypatch):
    """R = v/g sqrt(v^2 + 2 g h) at tan(a) = v/sqrt(v^2 + 2 g h). Elementary mechanics; angles are looked at 5 deg apart."""

    def bare(plant, area, height, speed, wind, angle):
        body = Body(float(plant.mass), 0.0, RHO, G)
        return fall(height, speed * math.cos(angle), wind, body, speed * math.sin(angle))

    monkeypatch.setattr(throw, "_fall", bare)
    found = worst_throw(siskin, Site(), HEIGHT, SPEED, 0.0)
    root = math.sqrt(SPEED**2 + 2.0 * G * HEIGHT)
    assert found.range_m == pytest.approx(SPEED * root / G, rel=0.003)
    assert found.range_m <= SPEED * root / G
    assert abs(found.angle_deg - math.degrees(math.atan(SPEED / root))) <= 2.5
    assert found.impact_speed_m_s == pytest.approx(root, rel=1e-8)


def test_a_craft_falls_shorter_than_without_air_and_no_shorter_than_at_any_angle(siskin):
    found = worst_throw(siskin, Site(), HEIGHT, SPEED, 0.0)
    root = math.sqrt(SPEED**2 + 2.0 * G * HEIGHT)
    assert 0.5 * SPEED * root / G < found.range_m < SPEED * root / G
    assert found.reaction_m == SPEED
    assert found.distance_m == found.range_m + SPEED
    mass = found.impact_energy_J / (0.5 * found.impact_speed_m_s**2)
    assert mass == pytest.approx(0.6, abs=0.3)


@pytest.mark.parametrize("more", [{"height_m": 20.0}, {"speed_m_s": 30.0}, {"wind_m_s": 8.0}])
def test_higher_faster_or_with_more_wind_it_goes_farther(siskin, more):
    case = {"height_m": HEIGHT, "speed_m_s": SPEED, "wind_m_s": 2.0}
    near = worst_throw(siskin, Site(), **case)
    far = worst_throw(siskin, Site(), **(case | more))
    assert far.distance_m > near.distance_m + 0.5


def test_standing_still_without_wind_it_falls_down(siskin):
    found = worst_throw(siskin, Site(), HEIGHT, 0.0, 0.0)
    assert found.distance_m == pytest.approx(0.0, abs=1e-6)
    assert replace(found, reaction_m=3.0).distance_m == pytest.approx(3.0)
    assert np.isfinite(found.impact_energy_J)


def test_a_dive_is_faster_than_level_flight_and_wind_carries():
    """A fall from rest of 20 m: v = sqrt(2 g h) = 19.806 m/s (elementary mechanics)."""
    assert dive_speed(0.0, 20.0, 0.0) == pytest.approx(19.806, abs=1e-3)
    assert dive_speed(30.0, 0.0, 5.0) == 35.0


def test_the_speed_reckoned_with_covers_a_lap_planned_with_a_dive():
    """Siskin flies 29.9 m/s level; its fastest line planned over `hill_and_valley` reached 33.3 m/s in still air."""
    assert dive_speed(29.9, 20.0, 0.0) > 33.3 > 29.9


def test_a_craft_may_hit_at_its_full_speed(siskin):
    """Fast and low, the air slows what falls: the worst hit is the straight one."""
    found = worst_throw(siskin, Site(), 1.0, 40.0, 0.0)
    assert found.impact_speed_m_s == pytest.approx(40.0, rel=0.02)
    assert found.impact_speed_m_s >= 40.0
