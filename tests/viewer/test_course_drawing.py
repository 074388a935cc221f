"""A course in the picture: what is projected together is what each point would be alone, and far-off pieces cost nothing."""

import math

import numpy as np
import pytest

from quadsim.config.course import Box, Course, Field, Gate, Post, Start
from quadsim.viewer import palette
from quadsim.viewer.cameras import UP
from quadsim.viewer.canvas import new_canvas
from quadsim.viewer.course_drawing import CourseSight, draw_course, gate_looks
from quadsim.viewer.course_model import PIECES, make_course_model
from quadsim.viewer.labels import LabelSpace
from quadsim.viewer.projection import Camera, focal, look_at

SIZE = (640, 360)


@pytest.fixture(scope="module")
def model():
    """Two gates ahead, one behind the camera, a post and a no-fly box."""
    gates = tuple(
        Gate(str(k), np.array([d, 0.0, -1.5]), 0.0, 2.0, 2.0) for k, d in enumerate((6.0, 12.0, -9.0))
    )
    field = Field(np.array([-20.0, -20.0, -10.0]), np.array([40.0, 20.0, 0.0]))
    box = Box("trees", np.array([9.0, 5.0, -4.0]), np.array([12.0, 8.0, 0.0]))
    post = Post("mast", np.array([8.0, -3.0]), 3.0, 0.05)
    return make_course_model(
        Course("Invented", "", gates, Start(np.zeros(3), 0.0), False, 1, (post,), (box,), field, 0.3)
    )


def camera_at(position, target):
    position = np.array(position, float)
    return Camera(position, look_at(position, np.array(target, float), UP), focal(SIZE, 50.0), SIZE)


def sight_of(model, camera):
    return CourseSight(camera, model, gate_looks(model.course, 0, True, False), SIZE)


def test_every_piece_is_where_its_points_are(model):
    camera = camera_at((0.0, 0.5, -2.0), (10.0, 0.0, -1.0))
    sight = sight_of(model, camera)
    for k, gate in enumerate(model.gates):
        for name in PIECES:
            world = getattr(gate, name)
            np.testing.assert_allclose(sight.seen(k, name), camera.to_camera(world), atol=1e-12)
            np.testing.assert_allclose(sight.piece(k, name), camera.project(world)[0], atol=1e-9)


def test_gates_behind_and_beside_are_left_out(model):
    assert sight_of(model, camera_at((0, 0, -2), (10, 0, -1))).visible == [True, True, False]
    assert sight_of(model, camera_at((0, 0, -2), (-10, 0, -1))).visible == [False, False, True]
    assert sight_of(model, camera_at((20, -6, -2), (20, 30, -2))).visible == [False, False, False]
    half = sight_of(
        model, camera_at((6.0, 0.0, -1.5), (6.3, 1.0, -1.5))
    )  # in the gate, looking at one of its posts
    assert half.visible[0] and not half.whole[0]


@pytest.mark.parametrize("ahead_m", [0.03, 0.3, 3.0])
def test_a_gate_flown_through_fills_the_picture_without_points_far_off(model, ahead_m):
    """The marked gate's colour is where its frame is, however near; what pygame gets is cut to the picture."""
    sight = sight_of(model, camera_at((6.0 - ahead_m, 0.9, -1.5), (16.0, 0.9, -1.5)))
    canvas, given = new_canvas(SIZE), []
    patches = canvas.patches
    canvas.patches = lambda colour, shapes, soft=False: (
        given.append(np.abs(shapes).max()),
        patches(colour, shapes, soft),
    )
    draw_course(canvas, sight, LabelSpace())
    pixels = np.frombuffer(canvas.pixels(), np.uint8).reshape(SIZE[1], SIZE[0], 3)
    shown = (pixels == palette.WANTED).all(axis=2)
    # the right upright stands from 0.1 to 0.24 m right of the line of sight
    column = SIZE[0] / 2 + sight.camera.focal_px * 0.17 / ahead_m
    assert shown[SIZE[1] // 2, min(round(column), SIZE[0] - 1)] or column > SIZE[0]
    assert max(given) < 4.0 * SIZE[0]


def test_what_is_farther_than_the_craft_is_drawn_before_it(model):
    """Two halves of a course, behind and before the craft, are the whole course but for its labels."""
    sight = sight_of(model, camera_at((0.0, 0.5, -2.0), (10.0, 0.0, -1.0)))
    whole, halves = new_canvas(SIZE), new_canvas(SIZE)
    draw_course(whole, sight, LabelSpace())
    draw_course(halves, sight, LabelSpace(), beyond_m=9.0)
    far = halves.pixels()
    draw_course(halves, sight, LabelSpace(), nearer_m=9.0)
    assert far != halves.pixels()
    one, two = (np.frombuffer(c.pixels(), np.uint8).astype(int) for c in (whole, halves))
    assert np.count_nonzero(one != two) < 0.01 * len(one)


def test_many_lines_are_as_each_alone():
    """Strokes in one call lie where single ones do, on a part of a canvas too."""
    rng = np.random.default_rng(3)
    a, b = rng.uniform(-50.0, 400.0, (2, 40, 2))
    alone, together = new_canvas(SIZE), new_canvas(SIZE)
    for canvas in (alone, together):
        canvas.fill(palette.PAPER)
    from quadsim.viewer.layout import Rect

    room = Rect(40, 30, 300, 200)
    for p, q in zip(a.tolist(), b.tolist(), strict=True):
        alone.part(room).smooth_line(palette.INK, p, q)
    together.part(room).smooth_lines([palette.INK] * len(a), a, b)
    assert alone.pixels() == together.pixels()
    outside = np.frombuffer(together.pixels(), np.uint8).reshape(SIZE[1], SIZE[0], 3)[: room.y]
    assert (outside == palette.PAPER).all()


def test_the_edge_of_the_field_goes_round(model):
    """Its lines close a ring on the ground, as long as the field's sides, and four masts stand on its corners."""
    starts, ends = model.edge
    low, high = model.course.field.low, model.course.field.high
    length = np.linalg.norm(ends[:-4] - starts[:-4], axis=1).sum()
    assert length == pytest.approx(2.0 * (high[0] - low[0] + high[1] - low[1]))
    assert math.isclose(np.abs(ends[-4:] - starts[-4:])[:, 2].min(), 3.0)
    np.testing.assert_allclose(np.roll(starts[:-4], -1, axis=0), ends[:-4])
