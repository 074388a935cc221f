"""Camera mathematics against closed forms."""

import math

import numpy as np
import pytest

from quadsim.viewer.projection import Camera, clip_half_plane, clip_to_picture, focal, look_at

NORTH = Camera(
    np.zeros(3), look_at(np.zeros(3), np.array([1.0, 0, 0]), np.array([0, 0, -1.0])), 500.0, (800, 600)
)


def test_looking_north_east_is_right_and_down_is_down():
    # u = cx + f y/x, v = cy + f z/x for a camera looking north (pinhole, by hand).
    pixels, depth = NORTH.project(np.array([10.0, 2.0, 1.0]))
    assert pixels == pytest.approx([400 + 500 * 0.2, 300 + 500 * 0.1])
    assert depth == pytest.approx(10.0)


def test_focal_length_shows_the_angle_asked_for():
    camera = Camera(np.zeros(3), NORTH.axes, focal((800, 600), 50.0), (800, 600))
    edge, _ = camera.project(np.array([1.0, 0.0, math.tan(math.radians(25.0))]))
    assert edge[1] == pytest.approx(600.0)


def test_axes_are_a_rotation():
    axes = look_at(np.array([3.0, -2, -5]), np.array([-1.0, 4, 0]), np.array([0, 0, -1.0]))
    assert axes @ axes.T == pytest.approx(np.eye(3))
    assert np.linalg.det(axes) == pytest.approx(1.0)


def test_segment_through_the_camera_plane_is_cut_on_the_ray():
    # Half in front of the camera: the visible end stays, the cut end lies on the same line far out to the right.
    p, q, shown = NORTH.segments(np.array([[10.0, 1.0, 0.0]]), np.array([[-10.0, 1.0, 0.0]]))
    assert shown[0] and p[0] == pytest.approx([450.0, 300.0])
    assert q[0][0] > 10_000 and q[0][1] == pytest.approx(300.0)
    assert not NORTH.segments(np.array([[-1.0, 0, 0]]), np.array([[-2.0, 0, 0]]))[2][0]


def test_line_is_cut_at_the_picture_edges():
    p, q, inside = clip_to_picture(
        np.array([[-100.0, 50.0], [10.0, 10.0], [-5.0, 700.0], [5.0, -9.0]]),
        np.array([[900.0, 50.0], [20.0, 20.0], [900.0, 700.0], [5.0, 609.0]]),
        (800, 600),
    )
    assert inside.tolist() == [True, True, False, True]
    assert (p[0], q[0]) == (pytest.approx([0, 50]), pytest.approx([800, 50]))
    assert (p[1], q[1]) == (pytest.approx([10, 10]), pytest.approx([20, 20]))
    assert (p[3], q[3]) == (pytest.approx([5, 0]), pytest.approx([5, 600]))


def test_half_plane_takes_half_a_square():
    square = [(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0)]
    kept = clip_half_plane(square, 1.0, 1.0, -2.0)  # u + v >= 2: the triangle of area 2
    area = 0.5 * abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(kept, kept[1:] + kept[:1], strict=True)))
    assert area == pytest.approx(2.0)
    assert clip_half_plane(square, 1.0, 0.0, -9.0) == []
