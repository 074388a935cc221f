"""The patient pilot flies every shipped course on the sticks, through the same flight that a person practises in."""

import pytest

from quadsim.config import load_craft
from quadsim.config.course_schema import load_course
from quadsim.config.find_data import shipped

FRAME_S = 0.05
LONGEST_S = 150.0


@pytest.mark.jit
@pytest.mark.parametrize("name", sorted(shipped("courses")))
def test_it_flies_the_shipped_courses(name):
    from quadsim.practice.practice_flight import PracticeFlight
    from quadsim.practice.stick_pilot import StickPilot

    course = load_course(name)
    flight = PracticeFlight(course, load_craft("siskin"))
    pilot = StickPilot(flight)
    while not flight.finished and flight.t_s < LONGEST_S:
        flight.set_sticks(*pilot())
        flight.advance(FRAME_S)
    watch = flight.watch
    assert watch.finished, flight.over
    assert len(watch.laps) == course.laps and all(lap.misses == 0 for lap in watch.laps)
