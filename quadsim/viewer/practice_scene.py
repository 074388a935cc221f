"""The scene of a practice flight: the field with its course, the ghost and the craft, through one of the pilot's views."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from quadsim.config.camera_schema import PilotCamera
from quadsim.viewer import palette
from quadsim.viewer.cameras import Orbit
from quadsim.viewer.canvas import Canvas
from quadsim.viewer.course_drawing import CourseSight, draw_course, draw_ghost, gate_looks
from quadsim.viewer.course_model import CourseModel
from quadsim.viewer.craft_drawing import draw_craft, pose
from quadsim.viewer.craft_model import CraftModel
from quadsim.viewer.fonts import VALUE
from quadsim.viewer.labels import LabelSpace
from quadsim.viewer.layout import Rect
from quadsim.viewer.marks import draw_drop_line, draw_shadow, draw_thread
from quadsim.viewer.pilot_cameras import chase_camera, picture_camera, pilot_eye, place_camera
from quadsim.viewer.projection import Camera
from quadsim.viewer.track import Moment, Track
from quadsim.viewer.world import draw_backdrop, draw_grid

WAKE_S, WAKE_POINTS = 2.5, 40
"""Length of the trail behind the craft [s], shorter than in a replay, and its points; taste, no source."""


@dataclass(frozen=True)
class Stage:
    """What a practice scene shows."""

    model: CourseModel
    """Of the course in the flight's axes."""
    track: Track
    moment: Moment
    view: str
    video: PilotCamera
    orbit: Orbit
    following: int
    """Place of the next gate in the flying order; -1 when there is none."""
    marked: bool
    lap_begun: bool
    ghost: np.ndarray | None = None
    ghost_words: str = ""


def camera_of(stage: Stage, model: CraftModel, size: tuple[int, int]) -> Camera:
    """The camera of the view."""
    if stage.view == "picture":
        return picture_camera(stage.moment, stage.video, model.span_m, size)
    if stage.view == "place":
        return place_camera(stage.moment, pilot_eye(stage.model.course), size, stage.orbit)
    return chase_camera(stage.track, stage.moment, model.span_m, size, stage.orbit)


def draw_practice(canvas: Canvas, stage: Stage, model: CraftModel, taken: list[Rect]) -> Camera:
    """Draw the scene on its part of the frame; labels keep off the rectangles `taken`."""
    camera, moment = camera_of(stage, model, canvas.size), stage.moment
    labels = LabelSpace(taken)
    draw_backdrop(canvas, camera)
    draw_grid(canvas, camera, _focus(stage, camera), labels)
    looks = gate_looks(stage.model.course, stage.following, stage.marked, stage.lap_begun)
    sight = CourseSight(camera, stage.model, looks, canvas.size)
    if stage.view == "picture":
        draw_course(canvas, sight, labels)
        _ghost(canvas, camera, stage, model, labels)
        draw_pointer(canvas, camera, stage)
        return camera
    true_size = stage.view == "place"
    posed = pose(model, moment, camera, canvas.scale, least_px=0.0 if true_size else 40.0)
    draw_shadow(canvas, camera, model, moment, posed.enlarged)
    away = float(np.linalg.norm(moment.position - camera.position))
    draw_course(canvas, sight, labels, beyond_m=away)
    _ghost(canvas, camera, stage, model, labels)
    if not true_size:
        _draw_wake(canvas, camera, stage)
        draw_drop_line(canvas, camera, moment, labels, 0.5 * model.span_m)
    draw_craft(canvas, model, posed, moment, columns=not true_size)
    draw_course(canvas, sight, labels, nearer_m=away)
    draw_pointer(canvas, camera, stage)
    return camera


def draw_pointer(canvas: Canvas, camera: Camera, stage: Stage) -> None:
    """Where the next gate is while it is out of the picture: a wedge at the edge, on the side to turn to, with its number."""
    if stage.following < 0 or not stage.marked:
        return
    wide, high = canvas.size
    right, down, ahead = camera.to_camera(stage.model.course.gates[stage.following].centre[None])[0]
    if ahead > 0.1:
        x, y = camera.project(stage.model.course.gates[stage.following].centre)[0]
        if 0.0 <= x < wide and 0.0 <= y < high:
            return
    else:  # behind: to the nearer side, however the camera is tilted
        right, down = math.copysign(1.0, right), 0.0
    span = max(float(np.hypot(right, down)), 1e-6)
    across, along = right / span, down / span
    edge, size = 34.0 * canvas.scale, 15.0 * canvas.scale
    reach = min((wide / 2 - edge) / max(abs(across), 1e-6), (high / 2 - edge) / max(abs(along), 1e-6))
    at = np.array([wide / 2 + across * reach, high / 2 + along * reach])
    out, side = np.array([across, along]) * size, np.array([-along, across]) * size
    for grown, colour in (
        (1.35, palette.CARD),
        (1.0, palette.WANTED),
    ):  # with a rim: a frame may lie behind it
        tip, wings = at + (1.4 * grown + 0.1) * out, (grown * side, -grown * side)
        back = at - 0.35 * (grown - 1.0) * out
        canvas.polygon(colour, [tuple(tip), *(tuple(back + wing) for wing in wings)])
    x, y = (at - 1.5 * out).tolist()
    canvas.circle(palette.CARD, (x, y), 13.0 * canvas.scale)
    canvas.text((x, y), str(stage.following + 1), VALUE, palette.INK, anchor="cc")


def _draw_wake(canvas: Canvas, camera: Camera, stage: Stage) -> None:
    """Where the craft has been over the last seconds; rows on a fixed grid of times, so that it does not shimmer."""
    now, first = stage.track.index(stage.moment.t_s), stage.track.index(stage.moment.t_s - WAKE_S)
    stride = max(1, (now - first) // WAKE_POINTS)
    rows = np.arange(first - first % stride, now + 1, stride)
    points = np.concatenate([stage.track["position"][rows], [stage.moment.position]])
    draw_thread(canvas, camera, points, [palette.FLOWN], max(2, round(2 * canvas.scale)))


def _ghost(canvas: Canvas, camera: Camera, stage: Stage, model: CraftModel, labels: LabelSpace) -> None:
    if stage.ghost is not None:
        draw_ghost(canvas, camera, stage.ghost, model.span_m, stage.ghost_words, labels)


def _focus(stage: Stage, camera: Camera) -> np.ndarray:
    """What the grid is centred on: below the craft; a little ahead where the camera looks along the ground."""
    ahead = camera.axes[2] * np.array([1.0, 1.0, 0.0])
    return stage.moment.position + 6.0 * ahead if stage.view == "picture" else stage.moment.position
