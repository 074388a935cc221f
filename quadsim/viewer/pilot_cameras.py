"""The three views of a pilot: by the picture of the craft's camera, from the pilot's place, and from behind the craft."""

from __future__ import annotations

import math

import numpy as np

from quadsim.config.camera_schema import PilotCamera
from quadsim.config.course import Course
from quadsim.units import DEG, MILLI
from quadsim.viewer.cameras import EYE_M, UP, Orbit, Shot, chase
from quadsim.viewer.projection import Camera, look_at
from quadsim.viewer.track import Moment, Track

VIEWS = {"picture": "the craft's camera", "place": "from the pilot's place", "chase": "from behind"}
"""Name -> words."""
PIXEL_DEG = 0.0213
"""Angle of one pixel of a common screen at arm's length [deg]. W3C, CSS Values and Units Level 3, sec. 5.2 (reference pixel)."""
BEHIND_START_M = 5.0
"""The pilot stands this far behind the start place [m]; assumed."""
LOWER = 0.4
"""The craft stands this far above the middle of the picture, in half heights: gates and ground are below it; taste, no source."""
PICTURE = 4.0 / 3.0
"""Width over height of the picture that a craft's `view_deg` belongs to."""


def picture_camera(moment: Moment, video: PilotCamera, span_m: float, size: tuple[int, int]) -> Camera:
    """The craft's own camera: fixed to the frame, tilted up, as high an angle as its 4:3 picture has."""
    at = np.array([0.30 * span_m, 0.0, -0.04]) if video.at_mm is None else np.array(video.at_mm) * MILLI
    tilt = video.tilt_deg * DEG
    mount = np.array(
        [[0.0, 1.0, 0.0], [math.sin(tilt), 0.0, math.cos(tilt)], [math.cos(tilt), 0.0, -math.sin(tilt)]]
    )
    focal = size[1] / 2.0 * PICTURE / math.tan(0.5 * video.view_deg * DEG)
    return Camera(moment.position + moment.rotation @ at, mount @ moment.rotation.T, focal, size)


def pilot_eye(course: Course) -> np.ndarray:
    """Where the pilot's eyes are, behind the start, in the flight's axes [m]."""
    heading = course.start.heading
    back = BEHIND_START_M * np.array([math.cos(heading), math.sin(heading)])
    return np.array([*(np.asarray(course.start.place)[:2] - back), -EYE_M])


def place_camera(moment: Moment, eye: np.ndarray, size: tuple[int, int], orbit: Orbit) -> Camera:
    """The pilot's eyes on the craft. At zoom 1 an object takes as many degrees on a common screen as it does in the field."""
    focal = 1.0 / math.tan(PIXEL_DEG * DEG) / orbit.zoom
    sight = moment.position - eye
    if float(np.hypot(sight[0], sight[1])) < 0.3:  # straight above the pilot
        sight = np.array([0.3, 0.0, sight[2]])
    level = float(np.hypot(sight[0], sight[1]))
    elevation = math.atan2(-sight[2], level) - LOWER * math.atan2(0.5 * size[1], focal)
    elevation = min(max(elevation, -1.4), 1.4)
    target = eye + np.array([sight[0], sight[1], -level * math.tan(elevation)])
    return Camera(eye, look_at(eye, target, UP), focal, size)


def chase_camera(track: Track, moment: Moment, span_m: float, size: tuple[int, int], orbit: Orbit) -> Camera:
    """Behind and above the craft, as in a replay, a little farther off so that the next gate is in the picture."""
    return chase(
        Shot(track, moment, span_m, size, Orbit(orbit.turn_deg, orbit.lift_deg - 3.0, 1.5 * orbit.zoom))
    )


def apparent_deg(eye: np.ndarray, place: np.ndarray, span_m: float) -> float:
    """Angle that the craft takes in the pilot's eye [deg]."""
    return 2.0 * math.atan(0.5 * span_m / max(float(np.linalg.norm(place - eye)), 1e-6)) / DEG
