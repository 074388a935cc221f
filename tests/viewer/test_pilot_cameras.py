"""What a pilot sees: angles against closed forms."""

import math

import numpy as np
import pytest

from quadsim.config.camera_schema import PilotCamera
from quadsim.viewer.cameras import Orbit
from quadsim.viewer.pilot_cameras import PIXEL_DEG, apparent_deg, picture_camera, pilot_eye, place_camera
from quadsim.viewer.track import Track
from tests.planning.course_cases import a_course, a_gate

SIZE = (1280, 560)


@pytest.fixture
def level(run):
    """A moment of the invented flight with the craft level, nose north, at 10 m north and 2 m up."""
    import dataclasses

    return dataclasses.replace(Track(run).at(0.0), position=np.array([10.0, 0.0, -2.0]), rotation=np.eye(3))


def test_the_pilots_eye_sees_true_angles(level):
    """An object of 1 m at 20 m takes 2 atan(0.5/20) = 2.86 deg, so 134 pixels of 0.0213 deg."""
    eye = np.array([-10.0, 0.0, -2.0])
    camera = place_camera(level, eye, SIZE, Orbit())
    ends, _ = camera.project(np.array([[10.0, -0.5, -2.0], [10.0, 0.5, -2.0]]))
    wide = abs(ends[1, 0] - ends[0, 0])
    assert wide == pytest.approx(math.degrees(2.0 * math.atan(0.5 / 20.0)) / PIXEL_DEG, rel=0.01)
    assert apparent_deg(eye, level.position, 1.0) == pytest.approx(2.8642, abs=1e-3)
    craft, _ = camera.project(level.position)
    assert (
        craft[0] == pytest.approx(640.0) and 0.0 < craft[1] < 280.0
    )  # above the middle, so that the gates are seen
    near = place_camera(level, eye, SIZE, Orbit(zoom=2.0)).project(
        np.array([[10.0, -0.5, -2.0], [10.0, 0.5, -2.0]])
    )[0]
    assert abs(near[1, 0] - near[0, 0]) == pytest.approx(wide / 2.0, rel=0.01)


def test_the_eye_looks_straight_up_without_trouble(level):
    import dataclasses

    above = dataclasses.replace(level, position=np.array([-5.0, 0.0, -9.0]))
    camera = place_camera(above, np.array([-5.0, 0.0, -1.7]), SIZE, Orbit())
    assert np.allclose(camera.axes @ camera.axes.T, np.eye(3), atol=1e-9)


def test_the_pilot_stands_behind_the_start():
    eye = pilot_eye(a_course(a_gate("g", 5.0), start=(2.0, 3.0, 0.0), heading_deg=90.0))
    assert eye == pytest.approx([2.0, -2.0, -1.7])


@pytest.mark.parametrize("tilt", [0.0, 25.0, 40.0])
def test_a_tilted_camera_looks_up_by_its_tilt(level, tilt):
    """Level flight: the horizon stands tan(tilt) focal lengths below the middle."""
    video = PilotCamera(tilt_deg=tilt, view_deg=90.0, at_mm=(0.0, 0.0, 0.0))
    camera = picture_camera(level, video, 0.3, SIZE)
    far, _ = camera.project(np.array([1e6, 0.0, -2.0]))
    assert far[1] - 280.0 == pytest.approx(camera.focal_px * math.tan(math.radians(tilt)), rel=1e-4, abs=0.1)


def test_the_picture_is_as_wide_as_the_craft_says(level):
    """A 4:3 picture of this height spans `view_deg` from edge to edge."""
    camera = picture_camera(level, PilotCamera(view_deg=100.0, tilt_deg=0.0), 0.3, SIZE)
    half = 0.5 * SIZE[1] * 4.0 / 3.0
    assert math.degrees(2.0 * math.atan(half / camera.focal_px)) == pytest.approx(100.0)


def test_the_picture_turns_with_the_craft(level):
    """Rolled right by 30 deg, the horizon turns left by 30 deg in the picture."""
    import dataclasses

    c, s = math.cos(math.radians(30.0)), math.sin(math.radians(30.0))
    rolled = dataclasses.replace(level, rotation=np.array([[1.0, 0.0, 0.0], [0.0, c, -s], [0.0, s, c]]))
    camera = picture_camera(rolled, PilotCamera(tilt_deg=0.0), 0.3, SIZE)
    ends, _ = camera.project(np.array([[1e6, -1e5, -2.0], [1e6, 1e5, -2.0]]))
    slope = (ends[1, 1] - ends[0, 1]) / (ends[1, 0] - ends[0, 0])
    assert math.degrees(math.atan(slope)) == pytest.approx(-30.0, abs=0.1)
