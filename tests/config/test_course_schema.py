"""Course files: read into records, and every fault said with its gate and what to do."""

import math
from itertools import pairwise

import pytest

from quadsim.config.course_schema import load_course, parse_course
from quadsim.config.find_data import shipped
from quadsim.errors import InputError

COURSE = """
name = "Two"
closed = false
clearance_m = 0.2
[field]
forward_m = [-5, 40]
right_m = [-10, 10]
ceiling_m = 8
[start]
forward_m = 0
right_m = 0
heading_deg = 0
[[gate]]
name = "one"
forward_m = 10
right_m = 1
height_m = 2
heading_deg = 90
width_m = 2
tall_m = 1.5
[[gate]]
name = "two"
forward_m = 25
right_m = -3
height_m = 3
heading_deg = 0
width_m = 2.5
tall_m = 2
"""
POST = '[[post]]\nname = "pole"\nforward_m = {}\nright_m = {}\nheight_m = {}\n'
BOX = '[[box]]\nname = "stand"\nforward_m = {}\nright_m = {}\nheight_m = {}\n'


def changed(*changes: tuple[str, str], more: str = "") -> str:
    text = COURSE
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text + more


def problems(text: str) -> str:
    with pytest.raises(InputError) as caught:
        parse_course(text, "two.toml")
    return str(caught.value)


def test_a_file_becomes_records():
    course = parse_course(COURSE)
    one, two = course.gates
    assert one.centre.tolist() == [10.0, 1.0, -2.0]
    assert (one.width, one.height, one.heading) == (2.0, 1.5, pytest.approx(math.pi / 2.0))
    assert two.forward == pytest.approx([1.0, 0.0, 0.0])
    assert course.field.low.tolist() == [-5.0, -10.0, -8.0]
    assert course.field.high.tolist() == [40.0, 10.0, 0.0]
    assert (course.laps, course.closed, course.clearance, course.posts) == (1, False, 0.2, ())


def test_a_gate_may_be_flown_twice():
    course = parse_course(changed(('name = "Two"', 'name = "Two"\norder = ["one", "two", "one"]')))
    assert [gate.name for gate in course.gates] == ["one", "two", "one"]
    assert course.gates[0] is course.gates[2]


def test_posts_and_boxes_north_east_down():
    course = parse_course(changed(more=POST.format(5, 5, 3) + BOX.format([30, 35], [4, 8], [0, 5])))
    assert course.posts[0].place.tolist() == [5.0, 5.0]
    assert (course.posts[0].height, course.posts[0].radius) == (3.0, 0.05)
    assert course.boxes[0].low.tolist() == [30.0, 4.0, -5.0]
    assert course.boxes[0].high.tolist() == [35.0, 8.0, 0.0]


@pytest.mark.parametrize("name", shipped("courses"))
def test_shipped_courses_are_sound_and_say_that_they_are_invented(name):
    course = load_course(name)
    assert len(course.gates) >= 6
    assert "Invented demo data" in shipped("courses")[name].read_text(encoding="utf-8")


def test_a_slalom_a_climb_with_a_dive_and_a_tight_hall_are_shipped():
    assert set(shipped("courses")) == {"meadow_slalom", "hill_and_valley", "hall"}
    heights = [-float(gate.centre[2]) for gate in load_course("hill_and_valley").gates]
    assert max(b - a for a, b in pairwise(heights)) > 5.0  # climb
    assert min(b - a for a, b in pairwise(heights)) < -5.0  # dive
    assert min(gate.width for gate in load_course("hall").gates) < 1.5


BAD = [
    ([('name = "two"', 'name = "one"')], "", ("gate#2.name", "'one' again", "Rename one")),
    ([('name = "Two"', 'name = "Two"\norder = ["one", "three"]')], "", ("order#2", "one of one, two", "leaves out gate 'two'")),
    ([("forward_m = [-5, 40]", "forward_m = [40, -5]")], "", ("field.forward_m", "from less than to")),
    ([("height_m = 2\n", "height_m = 0.5\n")], "", ("gate#1.height_m", "'one' 0.25 m into the ground", "at least 0.75 m")),
    ([("height_m = 3\n", "height_m = 7.5\n")], "", ("'two' 0.50 m over the ceiling", "at most 7 m")),
    ([("right_m = -3", "right_m = -9")], "", ("gate#2.right_m", "-10 to 10 m, 1.25 m to the end of its opening")),
    ([("forward_m = 10\n", "forward_m = 39.5\n")], "", ("gate#1.forward_m", "1.00 m to the end")),
    ([("forward_m = 0\n", "forward_m = -6\n")], "", ("start.forward_m", "is -6")),
    ([("forward_m = 25", "forward_m = 10"), ("right_m = -3", "right_m = 1")], "", ("gate#2", "'two' cut through 'one'")),
    ([], POST.format(10, 1, 4), ("gate#1", "the post 'pole' in the opening of 'one'")),
    ([], BOX.format([24, 26], [-4, -2], [0, 5]), ("gate#2", "the box 'stand' in the opening of 'two'")),
    ([], BOX.format([-2, 2], [-2, 2], [0, 5]), ("start", "is in the box 'stand'")),
    ([("width_m = 2\n", "width_m = -2\n")], "", ("gate#1.width_m", "is -2", "0.2 to 50")),
    ([("tall_m = 2\n", "tal_m = 2\n")], "", ("gate#2.tal_m", "tall_m")),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "more", "said"), BAD, ids=[bad[2][0] + bad[2][-1][-8:] for bad in BAD])
def test_what_is_wrong_is_said(changes, more, said):
    text = problems(changed(*changes, more=more))
    assert text.startswith("two.toml: ")
    for words in said:
        assert words in text


FINE = [
    ([], POST.format(10, 1, 1.2)),  # lower than the opening
    ([], POST.format(8.9, 1, 4)),  # beside the opening, whose end is at 9 m
    ([], BOX.format([24, 26], [-4, -2], [0, 1.5])),  # under the opening
    ([("forward_m = 25", "forward_m = 10"), ("right_m = -3", "right_m = 1"), ("height_m = 3\n", "height_m = 4\n")], ""),
    ([("forward_m = 25", "forward_m = 11"), ("right_m = -3", "right_m = 2.25")], ""),  # a corner of two gates
]  # fmt: skip


@pytest.mark.parametrize(("changes", "more"), FINE)
def test_near_is_not_in_the_way(changes, more):
    assert len(parse_course(changed(*changes, more=more)).gates) == 2
