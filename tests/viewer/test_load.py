"""A load on a line and one let go, as the viewer draws them."""

import numpy as np
import pytest

from quadsim.viewer.cameras import CAMERAS, Orbit, Shot
from quadsim.viewer.canvas import new_canvas
from quadsim.viewer.frames import render
from quadsim.viewer.load_drawing import draw_load, line_points
from quadsim.viewer.palette import PAYLOAD
from quadsim.viewer.track import Loose, Track

SIZE = (950, 510)


@pytest.fixture
def slung(run):
    """The circle with a box three metres below the craft from 5 s on, let go at 20 s where it then stays."""
    rows = run.t_s >= 5.0
    run.data["load_mass_kg"][rows] = 0.3
    run.data["load_position_m"][rows] = run.data["position_m"][rows] + [0.0, 0.0, 3.0]
    run.data["load_position_m"][run.t_s >= 20.0] = [1.0, 2.0, -0.05]
    run.data["line_tension_N"][rows & (run.t_s < 20.0)] = 3.0
    run.view["loads"] = [
        {"name": "brick", "size_m": [0.2, 0.2, 0.1], "at_m": [0, 0, 0.02], "from_s": 5.0, "to_s": 20.0,
         "hook_m": [0, 0, 0.02], "line_m": 3.0, "loose_s": 5.0}
    ]  # fmt: skip
    return run


def test_a_track_knows_where_the_load_is(slung):
    track = Track(slung)
    assert track.at(4.0).load is None
    hanging, lying = track.at(10.0).load, track.at(25.0).load
    assert hanging.position == pytest.approx(track.at(10.0).position + np.array([0.0, 0.0, 3.0]))
    assert hanging.hook == pytest.approx([0.0, 0.0, 0.02])
    assert lying.position == pytest.approx([1.0, 2.0, -0.05])
    assert lying.hook is None


def test_a_run_from_before_there_were_loads(run):
    for name in [name for name in run.data if name.startswith(("load_", "line_"))]:
        del run.data[name]
    assert Track(run).at(10.0).load is None
    render(run, 10.0, (960, 540))


def test_the_box_is_drawn_where_the_load_is(slung):
    track = Track(slung)
    moment = track.at(10.0)
    camera = CAMERAS["chase"](Shot(track, moment, 0.46, SIZE, Orbit()))
    pixels, depth = camera.project(moment.load.position)
    assert depth > 0.0
    assert (
        0 < pixels[0] < SIZE[0] and 0 < pixels[1] < SIZE[1]
    )  # the camera makes room for three metres of line
    canvas = new_canvas(SIZE)
    draw_load(canvas, camera, moment, 1.0)
    start = 3 * (round(float(pixels[1])) * SIZE[0] + round(float(pixels[0])))
    drawn = np.array(list(canvas.pixels()[start : start + 3]), float)
    hue = drawn / drawn.max() - np.array(PAYLOAD) / max(PAYLOAD)  # the same hue, whatever the light
    assert np.max(np.abs(hue)) < 0.06
    assert track.line_reach_m(10.0) == pytest.approx(3.0)
    assert track.line_reach_m(4.9) == track.line_reach_m(22.0) == 0.0


def test_a_taut_line_is_straight_and_a_slack_one_keeps_its_length():
    """A bow of length 2 m over 1.8 m (arc length summed over its pieces); it never dips below the ground."""
    hook, size = np.array([0.0, 0.0, -3.0]), np.full(3, 0.1)
    taut = line_points(hook, Loose(np.array([1.2, 0.0, -1.4]), size, np.zeros(3), 2.0, 3.0))
    assert np.linalg.norm(np.diff(taut, axis=0), axis=1).sum() == pytest.approx(2.0)
    slack = line_points(hook, Loose(np.array([0.3, 0.0, -1.22]), size, np.zeros(3), 2.0, 0.0))
    assert np.linalg.norm(np.diff(slack, axis=0), axis=1).sum() == pytest.approx(2.0, rel=0.02)
    flat = line_points(
        np.array([0.0, 0.0, -0.2]), Loose(np.array([1.0, 0.0, -0.05]), size, np.zeros(3), 2.0, 0.0)
    )
    assert np.max(flat[:, 2]) <= 0.0
