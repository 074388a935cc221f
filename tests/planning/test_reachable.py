"""A course that cannot be flown says which gate and why."""

import pytest

from quadsim.config.course_schema import load_course, parse_course
from quadsim.config.find_data import shipped
from quadsim.errors import InputError
from quadsim.planning.reachable import check_reachable, unreachable

RADIUS = 0.2
COURSE = """
name = "Yard"
closed = false
clearance_m = 0.2
field = {{ forward_m = [-5, 25], right_m = [-6, 6], ceiling_m = 6 }}
start = {{ forward_m = 0, right_m = 0, heading_deg = 0 }}
gate = [
  {{ name = "one", forward_m = 5, right_m = 0, height_m = 2, heading_deg = 0, width_m = 2, tall_m = 2 }},
  {{ name = "two", forward_m = {forward}, right_m = 0, height_m = 2, heading_deg = 0, width_m = {width}, tall_m = 2 }},
]
"""
POLE = '[[post]]\nname = "pole"\nforward_m = {}\nright_m = 0\nheight_m = 4\n'
WALL = '[[box]]\nname = "wall"\nforward_m = [10, 11]\nright_m = {}\nheight_m = {}\n'


def found(more: str = "", forward: float = 20.0, width: float = 2.0, radius: float = RADIUS) -> list[str]:
    course = parse_course(COURSE.format(forward=forward, width=width) + more)
    return [str(one) for one in unreachable(course, radius)]


@pytest.mark.parametrize("name", shipped("courses"))
def test_shipped_courses_can_be_flown_by_a_small_craft(name):
    assert unreachable(load_course(name), RADIUS) == []


def test_open_space_is_no_problem():
    assert found() == []


def test_a_gate_too_narrow():
    (said,) = found(width=0.7)
    assert said.startswith(
        "gate two: is 0.70 m wide inside; must be at least 0.80 m: 2 x (0.20 craft + 0.20 clearance)"
    )
    assert found(width=0.8) == []
    assert len(found(radius=0.81)) == 2


def test_a_gate_flown_towards_the_limit_of_the_field():
    """Wholly behind the gate, 0.2 m, a craft of 0.2 m still needs 0.2 m of clearance: 0.6 m."""
    (said,) = found(forward=24.45)
    assert said.startswith("gate two: has the field's limit too near, behind its opening; must leave 0.40 m")
    assert found(forward=24.39) == []


@pytest.mark.parametrize(("forward", "where"), [(4.4, "before"), (5.6, "behind")])
def test_a_post_just_before_or_behind_a_gate(forward, where):
    (said,) = found(POLE.format(forward))
    assert f"gate one: has the post 'pole' too near, {where} its opening" in said


@pytest.mark.parametrize(
    "forward", [4.1, 5.9]
)  # 0.9 m - 0.4 m to the end of the way - 0.05 m radius leaves 0.45 m
def test_a_post_farther_away_is_flown_around(forward):
    assert found(POLE.format(forward)) == []


def test_a_wall_from_side_to_side_cuts_off_what_is_behind_it():
    (said,) = found(WALL.format([-6, 6], [0, 6]))
    assert said.startswith("gate two: has no way to it from the start")
    (said,) = found(WALL.format([-6, 6], [0, 5.4]))  # 0.6 m under the ceiling, 0.8 m are needed
    assert said.startswith("gate two: has no way")


@pytest.mark.parametrize(("right", "height"), [([-6, 6], [0, 4.7]), ([-4.5, 6], [0, 6]), ([-6, 6], [1.3, 6])])
def test_a_gap_over_beside_or_under_the_wall_is_a_way(right, height):
    assert found(WALL.format(right, height)) == []


def test_a_start_without_room():
    said = found(POLE.format(0.2))
    assert said[0].startswith("start: has no room for a craft of 0.40 m with 0.2 m of clearance")


def test_every_gate_is_said_at_once_under_the_course_s_name():
    course = parse_course(COURSE.format(forward=20, width=0.7) + WALL.format([-6, 6], [0, 6]))
    with pytest.raises(InputError, match="Yard: 1 problem"):
        check_reachable(course, RADIUS)
    with pytest.raises(InputError, match=r"gate one(.|\n)*gate two"):
        check_reachable(course, 1.0)
