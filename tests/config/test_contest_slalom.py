"""The slalom of a contest file: gates with an opening, or a course; one of both."""

import re

import numpy as np
import pytest

from quadsim.config.contest_schema import load_contest, parse_contest
from quadsim.config.course_schema import load_course
from quadsim.config.find_data import find_file
from quadsim.contest.slalom import slalom_course
from quadsim.errors import InputError
from quadsim.parts.figures import course_rows

TEXT = find_file("three_events", "contests").read_text(encoding="utf-8")
BEGIN, END = TEXT.index("opening_m"), TEXT.index("[lift]")
OPENING, GATES = "opening_m = 2.2\n", TEXT[TEXT.index("gates_m") : END]


def contest(*lines):
    return parse_contest(TEXT[:BEGIN] + "\n".join(lines) + "\n" + TEXT[END:])


def test_a_course_stands_in_place_of_gates():
    named, course = contest('course = "meadow_slalom"'), load_course("meadow_slalom")
    assert np.array_equal(named.slalom.centres, [gate.centre for gate in course.gates])
    assert named.slalom.opening == min(min(gate.width, gate.height) for gate in course.gates)
    assert len(course_rows(named)) == len(course.gates)
    flown = slalom_course(named)
    assert flown.laps == named.slalom.laps and flown.name == course.name


def test_gates_of_the_file_itself():
    own = load_contest("three_events")
    assert own.slalom.laid is None
    assert own.slalom.centres.shape == (10, 3) and own.slalom.opening == 2.2


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        (
            (OPENING, GATES, 'course = "hall"'),
            ("slalom.gates_m: stands beside course", "slalom.opening_m: stands beside course"),
        ),
        ((OPENING,), ("slalom.gates_m: is missing", "either course, or gates_m and opening_m")),
        ((GATES,), ("slalom.opening_m: is missing",)),
        ((), ("slalom.gates_m: is missing", "slalom.opening_m: is missing")),
        (('course = "hill_and_valley"',), ("hill_and_valley", "is an open course", "must be closed")),
        (('course = "meadow"',), ("meadow_slalom",)),
    ],
)
def test_one_of_both_and_a_course_that_leads_round(lines, words):
    with pytest.raises(InputError) as caught:
        contest(*lines)
    for word in words:
        assert word in re.sub(r" \(line \d+\)", "", str(caught.value))
