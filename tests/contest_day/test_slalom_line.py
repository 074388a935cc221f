"""The slalom of a contest that names a course: the planned lap, what it makes of the sheet, and what stands in for it."""

from dataclasses import replace

import numpy as np
import pytest

from quadsim.config import load_craft, resolve_plant
from quadsim.config.contest_schema import load_contest
from quadsim.config.course import Gate
from quadsim.config.course_schema import parse_course
from quadsim.contest.lap_limits import LapRule, lap_limits
from quadsim.contest.lap_pilot import MARGIN_M, PilotLap
from quadsim.contest_day import slalom as module
from quadsim.contest_day import slalom_line
from quadsim.contest_day.bound import CAUTION, GO, NO_GO
from quadsim.contest_day.slalom import slalom_day
from quadsim.contest_day.slalom_line import Passing, PlannedLap, beside
from quadsim.contest_day.today import Today
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError, Problem
from quadsim.planning.plan import plan_line
from quadsim.planning.speeds import speeds_along, steady_load

TODAY = Today(Site(), 2.0, 4.0)
TOP = 29.9
PILOT = PilotLap(11.0, 8.0, 0.0, 1.5, 0.7, 0.3, 0.5)
GATES = [Passing("1", 12.0, 0.9), Passing("2", 20.0, 0.4)]
EASY = PlannedLap("Meadow slalom", 8.0, PILOT, 25.0, ("gate 1", "gate 2"), GATES, 3.0, 4.0)
TRIANGLE = """
name = "Triangle"
closed = true
clearance_m = 0.3
field = { forward_m = [-10, 30], right_m = [-10, 30], ceiling_m = 10 }
start = { forward_m = -4, right_m = 0, heading_deg = 0 }
gate = [
  { name = "A", forward_m = 6, right_m = 0, height_m = 2, heading_deg = 0, width_m = 2.4, tall_m = 2 },
  { name = "B", forward_m = 20, right_m = 12, height_m = 2, heading_deg = 120, width_m = 2.4, tall_m = 2 },
  { name = "C", forward_m = 2, right_m = 16, height_m = 2, heading_deg = 240, width_m = 2.4, tall_m = 2 },
]
"""


@pytest.fixture(scope="module")
def siskin():
    return load_craft("siskin")


@pytest.fixture(scope="module")
def contest():
    """The shipped contest around a shipped course."""
    return load_contest("meadow_day")


def no_line(*_, **__):
    raise InputError([Problem("gate 4", "no line was found that can be flown", "on the way")])


def test_room_beside_a_craft_by_hand():
    """2.4 m wide, a craft of 0.2 m: 1.0 m in the middle. 0.9 m off it: 0.1 m, and the pilot's own margin."""
    gate = Gate("A", np.zeros(3), 0.0, 2.4, 2.0)
    assert beside(gate, 0.0, 0.2) == pytest.approx(1.0)
    assert beside(gate, -0.9, 0.2) == beside(gate, 0.9, 0.2) == pytest.approx(0.1 + MARGIN_M)


def test_the_steady_load_takes_the_mean_power():
    loads = np.array([1.0, 4.0])
    assert 2.0 * steady_load(loads) ** 1.5 == pytest.approx(1.0 + 8.0)
    assert steady_load(np.full(5, 2.5)) == pytest.approx(2.5)


@pytest.mark.jit
def test_the_lap_is_that_of_the_planner(siskin, monkeypatch):
    """The plan is caught on its way, made with a third of the usual steps to be quick."""
    plans = []

    def caught(course, limits, margin):
        plans.append(plan_line(course, limits, margin, 0.3))
        return plans[-1]

    monkeypatch.setattr(slalom_line, "plan_line", caught)
    found = slalom_line.planned_lap(siskin, Site(), parse_course(TRIANGLE))
    (plan,), rule = plans, LapRule()
    limits = plan.limits
    assert limits == lap_limits(siskin, resolve_plant(siskin, Site()), rule)
    assert found.seconds == pytest.approx(float(np.min(plan.lap_times)))
    assert found.pilot.seconds > found.seconds
    assert [one.gate for one in found.passings] == ["A", "B", "C"]
    least = plan.course.clearance + rule.margin + MARGIN_M - 0.1
    assert all(least < one.room <= 1.2 - limits.radius for one in found.passings)
    assert all(0.0 < one.speed <= found.top for one in found.passings)
    assert 1.0 < found.mean_load < found.peak_load < 1.05 * limits.thrust / limits.gravity
    along = speeds_along(plan.line)
    by_steps = np.linalg.norm(np.diff(along.places, axis=0), axis=1) / np.diff(along.times)
    assert found.top == along.top == pytest.approx(by_steps.max(), rel=0.01)
    k = int(np.searchsorted(plan.line.times, along.times[np.argmax(along.speeds)]))
    names = ["the start", "gate A", "gate B", "gate C", "gate A", "the end of the run-out"]
    assert found.between == (names[k], names[k + 1])


def test_the_pilot_s_lap_of_the_line_counts_and_the_worst_gate(siskin, contest, monkeypatch):
    monkeypatch.setattr(module, "planned_lap", lambda *_, **__: EASY)
    day = slalom_day(siskin, contest, TODAY, TOP)
    assert day.lap_s == 11.0 and day.planned is EASY and day.word == GO and not day.why
    assert day.points == pytest.approx(contest.slalom.points * contest.slalom.reference_s / 11.0)
    assert day.tightest.gate == "2"  # faster, and less room
    assert day.end.seconds == pytest.approx(module.APPROACH_S + contest.slalom.laps * 11.0)
    wide = replace(EASY, passings=[EASY.passings[0]])
    monkeypatch.setattr(module, "planned_lap", lambda *_, **__: wide)
    assert slalom_day(siskin, contest, TODAY, TOP).bounds[0].go[1] > day.bounds[0].go[1]
    practised = slalom_day(siskin, contest, TODAY, TOP, own_lap_s=9.5)
    assert practised.lap_s == 9.5
    few = replace(EASY, flown=(3, 12), held=False)
    monkeypatch.setattr(module, "planned_lap", lambda *_, **__: few)
    assert slalom_day(siskin, contest, TODAY, TOP, flights=12).word == CAUTION


def test_without_a_line_the_point_mass_counts_and_is_called_that(siskin, contest, monkeypatch):
    named_none = slalom_day(siskin, load_contest("three_events"), TODAY, TOP)
    assert named_none.planned is None and named_none.word == GO and "names no course" in named_none.why
    monkeypatch.setattr(module, "planned_lap", no_line)
    day = slalom_day(siskin, contest, TODAY, TOP)
    assert day.planned is None and day.word == CAUTION
    assert day.why == "no line was found: gate 4 no line was found that can be flown"
    assert day.lap_s == day.estimate_s
    tight = contest.slalom.laid
    narrow = replace(tight, gates=tuple(replace(one, width=0.5) for one in tight.gates))
    contest.slalom._laid = narrow
    try:
        assert slalom_day(siskin, contest, TODAY, TOP).word == NO_GO
    finally:
        contest.slalom._laid = tight
