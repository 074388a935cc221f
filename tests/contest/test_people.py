"""How far people stand: the top speed of a planned line, the wind, and what stands in where no line is known."""

from dataclasses import replace

import numpy as np
import pytest

from quadsim.analysis.throw import dive_speed, worst_throw
from quadsim.config import load_craft
from quadsim.config.course_schema import load_course
from quadsim.contest import people as module
from quadsim.contest.people import farthest_of, people
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError, Problem
from quadsim.planning.line import Line
from quadsim.planning.plan import Plan
from quadsim.planning.spline import Spline

WIND, LEVEL = 3.0, 25.0


@pytest.fixture(scope="module")
def siskin():
    return load_craft("siskin")


@pytest.fixture
def straight(monkeypatch):
    """A plan that is quick to make: 2 s to 20 m/s by v = 10 t, a gate at 20 m, 2 s to rest."""
    monkeypatch.setattr(module, "speed_limits", lambda *_: {"command": LEVEL})
    course = load_course("hill_and_valley")
    pieces = np.zeros((2, 4, 3))
    pieces[0, 2, 0] = 5.0
    pieces[1, :3, 0] = 20.0, 20.0, -5.0
    line = Line(Spline(np.array([2.0, 2.0]), pieces), (1,), course.gates[:1])
    plan = Plan(course, None, line, line, line, {}, {})  # type: ignore[arg-type]
    monkeypatch.setattr(module, "plan_line", lambda *_: plan)
    return course


def test_the_lap_s_top_speed_and_the_wind_from_the_ceiling(siskin, straight):
    """Issue: worst ballistic range plus one second of reaction at the lap's top speed. 20 m/s, in 20 m height."""
    found = people(siskin, straight, Site(), WIND)
    t = found.throw
    assert t.speed_m_s == pytest.approx(23.0, abs=0.2) and t.height_m == 20.0
    assert t.distance_m == pytest.approx(t.range_m + 1.0 * t.speed_m_s)
    assert t == worst_throw(siskin, Site(), 20.0, t.speed_m_s, WIND)
    assert found.fastest == pytest.approx([20.0, 0.0, 0.0], abs=0.5)
    assert "on the planned line between" in found.speed_from
    assert found.runaway is not None
    assert found.runaway.speed_m_s == pytest.approx(dive_speed(LEVEL, 20.0, WIND))
    assert found.runaway.distance_m > t.distance_m


def test_the_footprint_is_widest_where_the_line_is_fastest_and_never_too_narrow(siskin, straight):
    found = people(siskin, straight, Site(), WIND)
    widest = int(np.argmax(found.reaches))
    assert found.reaches[widest] == pytest.approx(found.throw.distance_m)
    assert found.way[widest] == pytest.approx(found.fastest)
    for k in (len(found.way) // 8, len(found.way) // 3):
        speed = 10.0 * 4.0 * k / (len(found.way) - 1) + WIND
        exact = worst_throw(siskin, Site(), 20.0, speed, WIND).distance_m
        assert exact - 0.1 <= found.reaches[k] < exact + 4.0


def test_without_a_line_the_dive_counts_and_says_so(siskin, straight, monkeypatch):
    def none(*_):
        raise InputError([Problem("gate summit", "no line was found that can be flown")])

    monkeypatch.setattr(module, "plan_line", none)
    found = people(siskin, straight, Site(), WIND)
    assert found.throw.speed_m_s == pytest.approx(dive_speed(LEVEL, 20.0, WIND))
    assert "gate summit no line was found" in found.note and found.runaway is None
    quick = people(siskin, straight, Site(), WIND, planned=False)
    assert quick.throw == found.throw and not quick.note
    assert np.all(quick.reaches == quick.throw.distance_m)
    given = people(siskin, straight, Site(), WIND, speed_m_s=12.0)
    assert given.throw.speed_m_s == 12.0 and given.speed_from == "as given"


def test_of_several_the_one_that_comes_farthest_and_fits(siskin, straight):
    heavy = load_craft("bonxie")
    far = farthest_of([siskin, heavy], straight, Site(), WIND, None)
    assert far is not None
    each = [people(one, straight, Site(), WIND, planned=False).throw.distance_m for one in (siskin, heavy)]
    assert far.throw.distance_m == max(each)
    narrow = replace(straight, gates=tuple(replace(one, width=0.3) for one in straight.gates))
    assert farthest_of([siskin, heavy], narrow, Site(), WIND, None) is None
