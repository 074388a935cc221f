"""The course in a run file is the course that was flown, and says which gate was next."""

import numpy as np
import pytest

from quadsim.config.course_schema import load_course, parse_course
from quadsim.practice.course_record import course_record, course_text, flown_course
from quadsim.practice.lap_book import course_key
from quadsim.practice.lap_watch import Passage


@pytest.mark.parametrize("name", ["meadow_slalom", "hill_and_valley", "hall"])
def test_a_course_is_read_back_as_it_was(name):
    course = load_course(name)
    back = parse_course(course_text(course))
    assert course_key(back) == course_key(course)
    assert [gate.name for gate in back.gates] == [gate.name for gate in course.gates]
    np.testing.assert_allclose(back.field.low, course.field.low, atol=1e-9)
    assert (back.clearance, back.field.net) == (course.clearance, course.field.net)


def test_the_next_gate_follows_the_passages():
    course = load_course("hall")
    count = len(course.gates)
    times = [2.0 + k for k in range(count + 1 if course.closed else count)]
    passages = [Passage(k % count, "", t, 0.0, 0.0, 0.0, 0.0) for k, t in enumerate(times)]
    flown = flown_course({"practice": course_record(course, passages)})
    assert flown.next_at(1.9) == 0
    assert flown.next_at(2.0) == 1
    assert flown.next_at(times[-2]) == (0 if course.closed else count - 1)
    if not course.closed or course.laps == 1:
        assert flown.next_at(times[-1]) == -1


@pytest.mark.parametrize("meta", [{}, {"practice": {"lap": {}}}, {"practice": {"course_file": "name = 3"}}])
def test_a_run_without_a_course_has_none(meta):
    assert flown_course(meta) is None
