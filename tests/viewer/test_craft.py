"""The craft: closed outward surfaces, true places on the screen, and saturation that shows."""

from dataclasses import replace

import numpy as np
import pytest

from quadsim.errors import InputError
from quadsim.viewer.cameras import CAMERAS, Orbit, Shot, check_camera
from quadsim.viewer.canvas import new_canvas
from quadsim.viewer.craft_drawing import draw_craft, pose
from quadsim.viewer.craft_model import ROUND, hanging, make_model
from quadsim.viewer.palette import ALARM
from quadsim.viewer.projection import Camera
from quadsim.viewer.track import Track

SIZE = (950, 510)


def enclosed_volume(model):
    """Divergence theorem: a closed surface with outward normals holds sum(area n . centre) / 3."""
    total = 0.0
    for face, normal in zip(model.faces, model.normals, strict=True):
        corners = model.vertices[list(face.corners)]
        fan = np.cross(corners[1:-1] - corners[0], corners[2:] - corners[0]).sum(axis=0) / 2.0
        total += np.linalg.norm(fan) * (normal @ corners[0]) / 3.0
    return total


@pytest.mark.parametrize(
    ("part", "volume"),
    [
        ({"shape": "box", "size_m": [0.1, 0.05, 0.02], "yaw_rad": 0.7}, 0.1 * 0.05 * 0.02),
        # regular polygon of n corners in a circle of radius r: area n r^2 sin(2 pi / n) / 2
        ({"shape": "cylinder", "size_m": [0.04, 0.04, 0.1], "axis": "down"},
         0.1 * ROUND * 0.02**2 * np.sin(2 * np.pi / ROUND) / 2),
        ({"shape": "tube", "size_m": [0.2, 0.016, 0.016], "axis": "forward", "yaw_rad": -2.0},
         0.2 * ROUND * 0.008**2 * np.sin(2 * np.pi / ROUND) / 2),
    ],
)  # fmt: skip
def test_parts_are_closed_and_of_true_size(part, volume):
    model = make_model({"parts": [{"name": "part", "at_m": [0.03, -0.02, 0.01], **part}]})
    assert enclosed_volume(model) == pytest.approx(volume)


def test_span_is_the_reach_of_the_rotors(run):
    # rotors of 0.076 m at (0.11, 0.11): 2 (0.11 sqrt 2 + 0.076)
    assert make_model(run.view).span_m == pytest.approx(2 * (0.11 * np.sqrt(2) + 0.076))


def test_a_run_without_geometry_is_still_drawn():
    model = make_model({})
    assert len(model.hubs) == 4 and model.faces == ()


@pytest.mark.parametrize("name", CAMERAS)
def test_every_camera_sees_the_craft(run, name):
    track, model = Track(run), make_model(run.view)
    for t in (0.0, 9.0, 22.0, 30.0):
        moment = track.at(t)
        camera = CAMERAS[name](Shot(track, moment, model.span_m, SIZE, Orbit()))
        assert camera.axes @ camera.axes.T == pytest.approx(np.eye(3))
        nose, depth = camera.project(moment.position + moment.rotation @ [0.4 * model.span_m, 0.0, 0.0])
        assert depth > 0 and 0 <= nose[0] <= SIZE[0] and 0 <= nose[1] <= SIZE[1]


def test_from_above_north_is_up_and_east_is_right(run):
    track = Track(run)
    moment = track.at(5.0)
    camera = CAMERAS["top"](Shot(track, moment, 0.4, SIZE, Orbit()))
    (here, north, east), _ = camera.project(moment.position + np.array([[0, 0, 0], [1.0, 0, 0], [0, 1.0, 0]]))
    assert north[1] < here[1] and north[0] == pytest.approx(here[0])
    assert east[0] > here[0] and east[1] == pytest.approx(here[1])


def test_chase_looks_where_the_nose_points(run):
    track = Track(run)
    moment = track.at(5.0)
    camera = CAMERAS["chase"](Shot(track, moment, 0.4, SIZE, Orbit()))
    assert camera.axes[2] @ (moment.rotation @ [1.0, 0, 0]) > 0.8
    assert camera.position[2] < moment.position[2]


def test_an_unknown_camera_names_the_known():
    with pytest.raises(InputError, match="chase, fixed, onboard, top"):
        check_camera("drone")


def drawn(run, thrust_N, duty, distance=1.5):
    track, model = Track(run), make_model(run.view)
    moment = replace(track.at(0.0), thrust_N=np.array(thrust_N), duty=np.array(duty), motor=np.array(duty),
                     rotation=np.eye(3), position=np.zeros(3))  # fmt: skip
    axes = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]])
    camera = Camera(np.array([-distance, 0.0, 0.0]), axes, 600.0, SIZE)
    posed = pose(model, moment, camera, 1.0)
    canvas = new_canvas(SIZE)
    canvas.fill((220, 216, 200))
    draw_craft(canvas, model, posed, moment)
    return posed, np.frombuffer(canvas.pixels(), np.uint8).reshape(SIZE[1], SIZE[0], 3).astype(int)


def alarm_pixels(picture):
    return int((np.abs(picture - ALARM).sum(axis=2) < 40).sum())


def test_column_length_is_the_share_of_the_greatest_thrust(run):
    posed, _ = drawn(run, [2.0, 4.0, 6.0, 8.0], [0.4] * 4)  # greatest thrust 8 N
    foot, head, limit = (posed.columns[:, k] for k in range(3))
    share = np.linalg.norm(head - foot, axis=1) / np.linalg.norm(limit - foot, axis=1)
    assert share == pytest.approx([0.25, 0.5, 0.75, 1.0], abs=1e-9)


def test_saturation_shows_at_a_glance(run):
    calm, full = drawn(run, [5.0] * 4, [0.97] * 4)[1], drawn(run, [5.0] * 4, [0.97, 0.99, 0.97, 0.97])[1]
    assert alarm_pixels(calm) == 0
    assert alarm_pixels(full) > 400


def test_a_far_craft_is_enlarged_and_says_so(run):
    near, far = drawn(run, [4.0] * 4, [0.5] * 4)[0], drawn(run, [4.0] * 4, [0.5] * 4, distance=200.0)[0]
    assert near.enlarged == 1.0 and far.enlarged > 10.0
    width = np.ptp(far.discs[..., 0])
    assert 40.0 < width < 80.0


def test_a_payload_is_drawn_while_it_hangs():
    view = {
        "loads": [
            {"name": "brick", "size_m": [0.1, 0.1, 0.1], "at_m": [0, 0, 0.1], "from_s": 2.0, "to_s": 5.0}
        ]
    }
    assert [len(hanging(view, t)) for t in (1.99, 2.0, 4.99, 5.0)] == [0, 1, 1, 0]
    (part,) = hanging(view, 3.0)
    bare, loaded = make_model({}), make_model({"parts": [part]})
    assert len(loaded.faces) == len(bare.faces) + 6
    assert loaded.vertices[:, 2].max() == pytest.approx(0.15)
    view["loads"][0]["to_s"] = None
    assert hanging(view, 99.0)
