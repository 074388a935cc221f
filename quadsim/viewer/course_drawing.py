"""A course in the scene: gates with their direction, posts, no-fly boxes, the edge of the flying space, the ghost.

A gate says by its form which way it is flown: chevrons lie in it, and from behind its opening is crossed out.
The next gate stands in the colour of what is wanted and is thicker; gates behind are pale.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from quadsim.config.course import Course
from quadsim.viewer import palette
from quadsim.viewer.canvas import Canvas
from quadsim.viewer.course_model import PIECES, CourseModel
from quadsim.viewer.fonts import STRONG, VALUE
from quadsim.viewer.labels import LabelSpace
from quadsim.viewer.palette import Colour, mix
from quadsim.viewer.projection import NEAR, Camera, clip_half_plane, clip_to_picture

BOX_WALLS = ((0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7))
BOX_LINES = np.array([(0, 1), (1, 2), (2, 3), (3, 0), (0, 4), (1, 5), (2, 6), (3, 7), (0, 2), (1, 3)])
"""Corners of the walls of a no-fly box, and the ends of its lines."""
GLASS = 26
"""How solid the walls of a no-fly box are, of 255."""
OFF, OUTSIDE_PX = 2.0, 4.0
"""A gate that reaches beyond so many pictures is cut; and the cut lies this far outside the picture [px]."""


@dataclass(frozen=True)
class GateLook:
    """How a gate is drawn."""

    colour: Colour
    far: Colour
    label: str
    marked: bool = False


def gate_looks(course: Course, following: int, marked: bool, flown: bool) -> list[GateLook]:
    """Looks of all gates in flying order; `following` is the next one, `flown` that a lap has begun."""
    looks = []
    for k, _ in enumerate(course.gates):
        words = str(k + 1)
        if k == following and marked:
            looks.append(GateLook(palette.WANTED, mix(palette.WANTED, palette.INK, 0.35), words, True))
        elif flown and k < following:
            looks.append(GateLook(palette.DIM, mix(palette.DIM, palette.INK_SOFT, 0.3), words))
        else:
            looks.append(GateLook(palette.GATE, palette.GATE_FAR, words))
    return looks


class CourseSight:
    """A course as one camera sees it: all points of all gates are projected together, once a frame."""

    def __init__(
        self, camera: Camera, model: CourseModel, looks: list[GateLook], size: tuple[int, int]
    ) -> None:
        self.camera, self.model, self.looks = camera, model, looks
        self.shown = _one_each(model.openings, looks)
        seen = camera.to_camera(model.points)
        self._seen, self._pixels = seen, camera.to_pixels(seen)
        front, first = seen[:, 2] > NEAR, model.first
        self.whole = _flags(np.logical_and.reduceat(front, first))
        """Which gates are wholly in front of the camera."""
        low, high = np.minimum.reduceat(self._pixels, first), np.maximum.reduceat(self._pixels, first)
        beside = ((high < 0.0) | (low > np.asarray(size))).any(axis=1)
        room = OFF * np.asarray(size)
        self.near = _flags(((low < -room) | (high > room)).any(axis=1))
        """Which gates reach so far beyond the picture that their pieces are cut first."""
        self.visible = [
            some and not (whole and off)
            for some, whole, off in zip(
                _flags(np.logical_or.reduceat(front, first)), self.whole, _flags(beside), strict=True
            )
        ]
        """Which gates may be in the picture."""
        self.depth = seen[first, 2].tolist()

    def piece(self, k: int, name: str) -> np.ndarray:
        """Pixels of a piece of gate `k`, in the shape that its model has."""
        return self._piece(self._pixels, k, name)

    def seen(self, k: int, name: str) -> np.ndarray:
        """The same in camera axes [m]."""
        return self._piece(self._seen, k, name)

    def _piece(self, points: np.ndarray, k: int, name: str) -> np.ndarray:
        begin = int(self.model.first[k])
        for piece in PIECES:
            shape = getattr(self.model.gates[k], piece).shape
            count = math.prod(shape[:-1])
            if piece == name:
                return points[begin : begin + count].reshape(*shape[:-1], points.shape[1])
            begin += count
        raise KeyError(name)

    def away(self, place: np.ndarray | tuple[float, ...]) -> float:
        """Distance of a place from the camera [m]."""
        return math.dist(place, self.camera.position)


def _flags(values: ArrayLike) -> list[bool]:
    return [bool(value) for value in np.atleast_1d(values)]


def draw_course(
    canvas: Canvas,
    sight: CourseSight,
    labels: LabelSpace,
    *,
    beyond_m: float = 0.0,
    nearer_m: float = math.inf,
) -> None:
    """What stands on the field between two distances from the camera, from far to near; the edge is drawn with the farthest."""
    course, looks = sight.model.course, sight.looks
    if nearer_m == math.inf:
        draw_edge(canvas, sight)
    jobs = [(sight.away(course.gates[k].centre), 0, k) for k in sight.shown if sight.visible[k]]
    jobs += [(sight.away((*post.place, -post.height / 2)), 1, k) for k, post in enumerate(course.posts)]
    jobs += [(sight.away(corners.mean(axis=0)), 2, k) for k, corners in enumerate(sight.model.boxes)]
    for far, kind, k in sorted(jobs, reverse=True):
        if not beyond_m <= far < nearer_m:
            continue
        if kind == 0:
            draw_gate(canvas, sight, k)
        elif kind == 1:
            post = course.posts[k]
            _draw_post(canvas, sight.camera, post.place, post.height, post.radius)
        else:
            _draw_box(canvas, sight.camera, sight.model.boxes[k])
    if nearer_m < math.inf:
        return
    for k in sorted(sight.shown, key=lambda n: (not looks[n].marked, sight.away(course.gates[n].centre))):
        _label(canvas, sight, k, labels)


def _one_each(same: tuple[int, ...], looks: list[GateLook]) -> list[int]:
    """An opening that is flown several times is drawn once: as the next gate if it is that one, else as its first."""
    chosen = {first: first for first in same}
    for k, look in enumerate(looks):
        if look.marked:
            chosen[same[k]] = k
    return list(chosen.values())


def draw_gate(canvas: Canvas, sight: CourseSight, k: int) -> None:
    """Chevrons on the ground that point the way it is flown, then the frame; from behind the opening is crossed."""
    look, gate = sight.looks[k], sight.model.gates[k].gate
    ahead = float((sight.camera.position - gate.centre) @ gate.forward) < 0.0
    colour = look.colour if ahead else look.far
    arrow = look.colour if look.marked else mix(look.colour, palette.GROUND_NEAR, 0.45)
    _patches(canvas, sight, k, "chevrons", arrow, look.marked)
    if not ahead:
        _cross(canvas, sight, k, mix(colour, palette.GROUND_FAR, 0.35))
    _patches(canvas, sight, k, "thick" if look.marked else "bars", colour, True)


def _cross(canvas: Canvas, sight: CourseSight, k: int, colour: Colour) -> None:
    """The two lines across the opening of a gate."""
    if sight.whole[k] and not sight.near[k]:
        lines = sight.piece(k, "cross")
        canvas.smooth_lines((colour, colour), lines[:, 0], lines[:, 1])
        return
    world = np.asarray(sight.model.gates[k].cross)
    _lines(canvas, sight.camera, world[:, 0], world[:, 1], colour)


def _patches(canvas: Canvas, sight: CourseSight, k: int, name: str, colour: Colour, soft: bool) -> None:
    """Flat polygons of one gate, of one colour."""
    if sight.whole[k] and not sight.near[k]:
        canvas.patches(colour, sight.piece(k, name), soft)
        return
    for seen in sight.seen(k, name).tolist():
        _patch(canvas, sight.camera, seen, colour, soft)


def _patch(
    canvas: Canvas, camera: Camera, seen: list[list[float]], colour: Colour, soft: bool = True
) -> None:
    """A flat polygon in camera axes, cut at the near plane and a little outside the picture: rows far off it cost time too."""
    pixels = clip_to_canvas(_cut(camera, seen), canvas.size, OUTSIDE_PX)
    if len(pixels) >= 3:
        canvas.patches(colour, np.array([pixels]), soft)


def _cut(camera: Camera, seen: list[list[float]]) -> list[tuple[float, float]]:
    """Pixels of a polygon's part in front of the near plane; plain numbers, for a few corners numpy costs more."""
    kept, before = [], seen[-1]
    for point in seen:
        if (before[2] > NEAR) != (point[2] > NEAR):
            share = (NEAR - before[2]) / (point[2] - before[2])
            kept.append([a + share * (b - a) for a, b in zip(before, point, strict=True)])
        if point[2] > NEAR:
            kept.append(point)
        before = point
    (cx, cy), focal = camera.centre, camera.focal_px
    return [(cx + focal * x / max(z, NEAR), cy + focal * y / max(z, NEAR)) for x, y, z in kept]


def _label(canvas: Canvas, sight: CourseSight, k: int, labels: LabelSpace) -> None:
    """The number above the frame."""
    if sight.depth[k] < 0.3:
        return
    look, at = sight.looks[k], tuple(sight.piece(k, "above").tolist())
    ink = palette.INK if look.marked else palette.INK_SOFT
    style = VALUE if look.marked else STRONG
    # on a plate: a post or frame may lie behind it
    labels.write(canvas, at, look.label, style, ink, anchor="sc", plate=True)


def _draw_post(canvas: Canvas, camera: Camera, place: np.ndarray, height: float, radius: float) -> None:
    """A post as a flat strip that faces the camera."""
    sight = np.asarray(place) - camera.position[:2]
    aside = np.array([-sight[1], sight[0], 0.0]) / max(float(np.hypot(*sight)), 1e-6) * radius
    foot = np.array([place[0], place[1], 0.0])
    top = foot - np.array([0.0, 0.0, height])
    cap = top + np.array([0.0, 0.0, min(0.4, height / 4)])
    corners = [foot - aside, foot + aside, cap - aside, cap + aside, top + aside, top - aside]
    seen = camera.to_camera(np.array(corners)).tolist()
    _patch(canvas, camera, seen[:2] + seen[4:], palette.POST)
    _patch(canvas, camera, seen[2:], palette.INK)


def _draw_box(canvas: Canvas, camera: Camera, corners: np.ndarray) -> None:
    """A no-fly box: clear walls with a crossed top."""
    seen = camera.to_camera(corners).tolist()
    for wall in BOX_WALLS:
        pixels = clip_to_canvas(_cut(camera, [seen[k] for k in wall]), canvas.size)
        if len(pixels) >= 3:
            canvas.glass(palette.ALARM, GLASS, pixels)
    a, b = corners[BOX_LINES[:, 0]], corners[BOX_LINES[:, 1]]
    _lines(canvas, camera, a, b, mix(palette.ALARM, palette.GROUND_FAR, 0.35))


def clip_to_canvas(
    pixels: list[tuple[float, float]], size: tuple[int, int], outside_px: float = 0.0
) -> list[tuple[float, float]]:
    """A polygon's part on the canvas and up to `outside_px` around it."""
    w, h, o = size[0] + outside_px, size[1] + outside_px, outside_px
    for a, b, c in ((1.0, 0.0, o), (-1.0, 0.0, w), (0.0, 1.0, o), (0.0, -1.0, h)):
        if len(pixels) < 3:
            return []
        pixels = clip_half_plane(pixels, a, b, c)
    return pixels


def draw_edge(canvas: Canvas, sight: CourseSight) -> None:
    """The edge of the flying space on the ground, twice as thick as a line, and its corners upwards."""
    a, b = sight.model.edge
    _lines(canvas, sight.camera, a, b, palette.EDGE, doubled=len(a) - 4)


def _lines(
    canvas: Canvas, camera: Camera, a: np.ndarray, b: np.ndarray, colour: Colour, doubled: int = 0
) -> None:
    """Lines a-b (n, 3); the first `doubled` of them two pixels thick."""
    p, q, seen = camera.segments(a, b)
    p, q, inside = clip_to_picture(p, q, canvas.size)
    shown = seen & inside
    thick = shown & (np.arange(len(a)) < doubled)
    below = np.array([0.0, 1.0])
    starts, ends = np.concatenate([p[shown], p[thick] + below]), np.concatenate([q[shown], q[thick] + below])
    canvas.smooth_lines([colour] * len(starts), starts, ends)


def draw_ghost(
    canvas: Canvas, camera: Camera, place: np.ndarray, span_m: float, words: str, labels: LabelSpace
) -> None:
    """Another lap's craft: an open ring with a dot, never taken for the craft itself."""
    pixels, depth = camera.project(place)
    if depth < NEAR:
        return
    radius = min(max(camera.focal_px * 0.5 * span_m / float(depth), 5.0 * canvas.scale), 60.0 * canvas.scale)
    at = tuple(pixels)
    canvas.circle(palette.CARD, at, radius + 1.5, max(3, round(4 * canvas.scale)))
    canvas.circle(palette.WIND, at, radius, max(2, round(2 * canvas.scale)))
    canvas.circle(palette.WIND, at, 2.0 * canvas.scale)
    labels.write(canvas, (at[0] + radius + 6, at[1]), words, STRONG, palette.WIND, anchor="cw", plate=True)
