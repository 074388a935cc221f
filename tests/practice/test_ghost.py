"""Another lap to fly against."""

import numpy as np
import pytest

from quadsim.errors import InputError
from quadsim.practice.course_frame import from_its_start, start_shift
from quadsim.practice.ghost import line_ghost, read_line

ROUND = np.array([(0, 0, -2), (18, 0, -2), (18, 6, -2), (2, 6, -2), (0, 0, -2), (8, 0, -2)], float)


def timed(places):
    """Times at 4 m/s."""
    return np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(places, axis=0), axis=1))]) / 4.0


def test_a_line_is_timed_gate_by_gate(make_course):
    ghost = line_ghost(timed(ROUND), ROUND, make_course())
    assert ghost.splits_s[:3] == pytest.approx([0.0, 10.0 / 4.0, (13.0 + 6.0 + 8.0) / 4.0], abs=1e-6)
    assert ghost.time_s == pytest.approx((13.0 + 6.0 + 16.0 + 40.0**0.5 + 5.0) / 4.0, abs=0.02)
    assert ghost.place_at(1.0) == pytest.approx([9.0, 0.0, -2.0])
    assert ghost.difference_s(1, 2.0) == pytest.approx(-0.5) and ghost.difference_s(9, 1.0) is None


def test_a_line_that_misses_a_gate_is_refused(make_course):
    aside = ROUND + np.array([0.0, 4.0, 0.0])
    with pytest.raises(InputError, match="does not pass gate 1, out"):
        line_ghost(timed(aside), aside, make_course())


def test_a_file_is_in_the_course_axes(make_course, tmp_path):
    """The flight's origin is the start place; the file counts from the course's origin."""
    course = make_course(start=(-3.0, 1.0))
    path = tmp_path / "line.csv"
    lines = [f"{t},{n},{e},{-d}" for t, (n, e, d) in zip(timed(ROUND), ROUND.tolist(), strict=True)]
    path.write_text("t_s,north_m,east_m,height_m\n" + "\n".join(lines) + "\n")
    ghost = read_line(path, from_its_start(course), start_shift(course))
    assert ghost.place_at(1.0) == pytest.approx([12.0, -1.0, -2.0])


def test_the_course_moves_as_a_whole(make_course):
    course = make_course(start=(-3.0, 1.0))
    moved = from_its_start(course)
    pairs = (
        (course.gates[0].centre, moved.gates[0].centre),
        (course.boxes[0].low, moved.boxes[0].low),
        (course.field.high, moved.field.high),
    )
    for a, b in pairs:
        assert b - a == pytest.approx([3.0, -1.0, 0.0])
    assert moved.posts[0].place - course.posts[0].place == pytest.approx([3.0, -1.0])
    assert moved.start.place == pytest.approx([0.0, 0.0, 0.0])
