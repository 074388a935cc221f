"""A contest's slalom as a course: gates square to the middle between their legs; planned and flown until all gates are passed."""

import math

import numpy as np
import pytest

from quadsim.config.contest_schema import load_contest
from quadsim.contest import lap
from quadsim.contest.lap_limits import LapRule
from quadsim.contest.slalom import START_M, between_legs, slalom_course
from quadsim.environment.atmosphere import Site
from quadsim.planning.reachable import unreachable

CONTEST = load_contest("three_events")


def test_gates_of_a_square_are_flown_through_along_its_diagonals():
    """Forward, right, back, left: at each corner the way turns by 90 degrees, the gate stands at 45."""
    square = np.array([[0.0, 0.0, -2.0], [9.0, 0.0, -2.0], [9.0, 9.0, -3.0], [0.0, 9.0, -2.0]])
    assert np.degrees(between_legs(square)) == pytest.approx([-45.0, 45.0, 135.0, -135.0])


def test_there_and_back_a_gate_is_flown_across():
    line = np.array([[0.0, 0.0, -2.0], [9.0, 0.0, -2.0], [4.0, 6.0, -2.0]])
    there = np.array([[0.0, 0.0, -2.0], [9.0, 0.0, -2.0], [3.0, 0.0, -2.0]])
    assert abs(math.cos(between_legs(there)[1])) < 1e-9
    assert np.all(np.isfinite(between_legs(line)))


def test_the_contest_s_slalom_can_be_flown_and_begins_before_its_first_gate():
    course = slalom_course(CONTEST)
    assert [one.centre.tolist() for one in course.gates] == [list(one) for one in CONTEST.slalom.gates_m]
    assert course.closed and course.laps == CONTEST.slalom.laps
    way = course.gates[0].centre - course.start.place
    assert way @ course.gates[0].forward == pytest.approx(START_M)
    assert course.start.place[2] == 0.0
    assert unreachable(course, 0.2) == []


class Flight:
    def __init__(self, whole):
        self.whole = whole


@pytest.mark.parametrize(
    ("holds", "factor", "whole"), [({1.1, 1.45}, 1.1, True), ({1.45}, 1.45, True), (set(), 2.0, False)]
)
def test_the_first_line_on_which_all_gates_are_passed(monkeypatch, holds, factor, whole):
    monkeypatch.setattr(lap, "resolve_plant", lambda *_: None)
    monkeypatch.setattr(lap, "lap_limits", lambda *_: None)
    monkeypatch.setattr(lap, "plan_line", lambda *_: 1.0)
    monkeypatch.setattr(lap, "lines", lambda planned, _: iter((1.1, 1.2, 1.45, 2.0)))
    monkeypatch.setattr(lap, "_over", lambda one, other: one / other)
    monkeypatch.setattr(lap, "learn", lambda craft, site, slower, _: (None, Flight(slower in holds)))
    found, planned, flown = lap.fastest_flown(None, Site(), None, LapRule())
    assert (found, planned, flown.whole) == (factor, 1.0, whole)
