"""Frames, posts, boxes and the edge: what a craft hits, by geometry worked out by hand."""

import math

import numpy as np
import pytest

from quadsim.practice.strikes import BAR_M, Body, Obstacles, bars, body_of, struck_words

FLAT = np.array([0.0, 0.0, 1.0])
BODY = Body(0.15, 0.06)


def room(course, place, down=FLAT):
    return Obstacles(course, BODY).meet(np.array(place, float), np.array(place, float), down)


def test_reach_of_the_body():
    along = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
    assert BODY.reach(along, FLAT) == pytest.approx([0.15, 0.03])
    on_its_side = np.array([1.0, 0.0, 0.0])
    assert BODY.reach(along, on_its_side) == pytest.approx([0.03, 0.15])


@pytest.mark.parametrize(
    ("side", "hit"), [(0.0, False), (0.84, False), (0.86, True), (1.05, True), (1.24, True), (1.26, False)]
)
def test_the_upright_of_a_gate(make_course, side, hit):
    """Opening 2 m wide: inner face of the bar at 1 m, outer at 1.1 m, craft 0.15 m to the tips."""
    what, _ = room(make_course(), [5.0, side, -2.0])
    assert bool(what) == hit
    assert not hit or what == "the frame of out"


@pytest.mark.parametrize(
    ("height", "hit"), [(2.96, False), (2.98, True), (3.12, True), (3.14, False), (1.04, False), (1.02, True)]
)
def test_top_and_sill(make_course, height, hit):
    """Level, the craft is 0.06 m tall: top from 3.0 to 3.1 m, sill from 0.9 to 1.0 m."""
    assert bool(room(make_course(), [5.0, 0.0, -height])[0]) == hit


def test_a_banked_craft_fits_beside_where_a_level_one_does_not(make_course):
    place = [5.0, 0.93, -2.0]
    banked = np.array([0.0, math.sin(math.radians(80.0)), math.cos(math.radians(80.0))])
    assert room(make_course(), place)[0] and not room(make_course(), place, banked)[0]


def test_room_is_the_distance_that_is_left(make_course):
    assert room(make_course(), [5.0, 0.5, -2.0])[1] == pytest.approx(1.0 - 0.5 - 0.15)


def test_a_fast_craft_does_not_tunnel(make_course):
    """20 m/s at 20 rows a second: 1 m between two looks, across a post."""
    obstacles = Obstacles(make_course(), BODY)
    what, _ = obstacles.meet(np.array([10.0, -3.6, -1.0]), np.array([10.0, -2.4, -1.0]), FLAT)
    assert what == "the post pole"
    over = obstacles.meet(np.array([10.0, -3.6, -3.4]), np.array([10.0, -2.4, -3.4]), FLAT)
    assert over[0] == ""


@pytest.mark.parametrize(
    ("place", "what"),
    [
        ([22.0, -6.0, -1.0], "the no-fly box hut"),
        ([19.9, -6.0, -1.0], "the no-fly box hut"),
        ([19.8, -6.0, -1.0], ""),
        ([22.0, -6.0, -3.2], ""),
        ([29.9, 0.0, -2.0], "the edge of the flying space"),
        ([0.0, 0.0, -11.99], "the top of the flying space"),
        ([0.0, 0.0, -0.01], ""),
    ],
)
def test_boxes_and_the_edge(make_course, place, what):
    assert room(make_course(), place)[0] == what


def test_what_happened_in_words():
    assert struck_words("the frame of out") == "hit the frame of out"
    assert struck_words("the no-fly box hut") == "entered the no-fly box hut"
    assert struck_words("the edge of the flying space") == "flew out at the edge of the flying space"


def test_a_gate_on_the_ground_has_no_sill(make_course):
    import dataclasses

    low = dataclasses.replace(make_course().gates[0], centre=np.array([5.0, 0.0, -1.0]))
    assert len(bars(low)) == 3 and len(bars(make_course().gates[0])) == 4
    assert np.allclose(bars(low)[1:, 1, 2], 0.0)  # the uprights stand on the ground
    assert np.ptp(bars(low)[0, :, 1]) == pytest.approx(2.0 + BAR_M)


def test_the_body_of_a_craft():
    rotors = [{"at_m": [0.1, 0.1, -0.02], "radius_m": 0.06}]
    body = body_of({"rotors": rotors, "feet_m": [[0.0, 0.0, 0.05]]})
    assert body.radius_m == pytest.approx(math.hypot(0.1, 0.1) + 0.06) and body.height_m == pytest.approx(
        0.07
    )
