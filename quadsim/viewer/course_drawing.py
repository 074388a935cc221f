"""A course in the scene: gates with their direction, posts, no-fly boxes, the edge of the flying space, the ghost.

A gate says by its form which way it is flown: chevrons lie in it, and from behind its opening is crossed out.
The next gate stands in the colour of what is wanted and is thicker; gates behind are pale.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from quadsim.config.course import Course
from quadsim.viewer import palette
from quadsim.viewer.canvas import Canvas
from quadsim.viewer.course_model import CourseModel, GateModel
from quadsim.viewer.fonts import STRONG, VALUE
from quadsim.viewer.labels import LabelSpace
from quadsim.viewer.palette import Colour, mix
from quadsim.viewer.projection import NEAR, Camera, clip_half_plane, clip_to_picture

GLASS = 26
"""How solid the walls of a no-fly box are, of 255."""


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


def draw_course(
    canvas: Canvas, camera: Camera, model: CourseModel, looks: list[GateLook], labels: LabelSpace, *,
    beyond_m: float = 0.0, nearer_m: float = math.inf,
) -> None:  # fmt: skip
    """What stands on the field between two distances from the camera, from far to near; the edge is drawn with the farthest."""
    course = model.course
    if nearer_m == math.inf:
        draw_field(canvas, camera, course)
    shown = _one_each(model.openings, looks)
    jobs: list[tuple[float, int, int]] = [(_far(camera, course.gates[k].centre), 0, k) for k in shown]
    jobs += [
        (_far(camera, np.append(post.place, -post.height / 2)), 1, k) for k, post in enumerate(course.posts)
    ]
    jobs += [(_far(camera, (box.low + box.high) / 2), 2, k) for k, box in enumerate(course.boxes)]
    for far, kind, k in sorted(jobs, reverse=True):
        if not beyond_m <= far < nearer_m:
            continue
        if kind == 0:
            draw_gate(canvas, camera, model.gates[k], looks[k])
        elif kind == 1:
            _draw_post(canvas, camera, course.posts[k].place, course.posts[k].height, course.posts[k].radius)
        else:
            _draw_box(canvas, camera, course.boxes[k].low, course.boxes[k].high)
    if nearer_m < math.inf:
        return
    for k in sorted(shown, key=lambda n: (not looks[n].marked, _far(camera, course.gates[n].centre))):
        _label(canvas, camera, model.gates[k].above, looks[k], labels)


def _one_each(same: tuple[int, ...], looks: list[GateLook]) -> list[int]:
    """An opening that is flown several times is drawn once: as the next gate if it is that one, else as its first."""
    chosen = {first: first for first in same}
    for k, look in enumerate(looks):
        if look.marked:
            chosen[same[k]] = k
    return list(chosen.values())


def _far(camera: Camera, place: np.ndarray) -> float:
    return float(np.linalg.norm(place - camera.position))


def draw_gate(canvas: Canvas, camera: Camera, model: GateModel, look: GateLook) -> None:
    """Chevrons on the ground that point the way it is flown, then the frame; from behind the opening is crossed."""
    gate = model.gate
    seen = camera.to_camera(np.concatenate([model.above[None], model.bars[0]]))
    pixels = camera.to_pixels(seen)
    if (seen[:, 2] <= NEAR).all():
        return
    if (seen[:, 2] > NEAR).all():
        size = float(np.ptp(pixels[1:, 0]) + np.ptp(pixels[1:, 1]))
        margin = 6.0 * size + 60.0
        low, high = pixels.min(axis=0), pixels.max(axis=0)
        if (high < -margin).any() or (low > np.asarray(canvas.size) + margin).any():
            return
    ahead = float((camera.position - gate.centre) @ gate.forward) < 0.0
    colour = look.colour if ahead else look.far
    arrow = look.colour if look.marked else mix(look.colour, palette.GROUND_NEAR, 0.45)
    _patches(canvas, camera, model.chevrons, arrow, soft=look.marked)
    if not ahead:
        _lines(canvas, camera, model.cross[:, 0], model.cross[:, 1], mix(colour, palette.GROUND_FAR, 0.35))
    _patches(canvas, camera, model.thick if look.marked else model.bars, colour)


def _patches(canvas: Canvas, camera: Camera, shapes: np.ndarray, colour: Colour, soft: bool = True) -> None:
    """Flat polygons (n, corners, 3) of one colour."""
    seen = camera.to_camera(shapes)
    if (seen[..., 2] > NEAR).all():
        for pixels in camera.to_pixels(seen).tolist():
            canvas.polygon(colour, pixels)
            if soft:
                canvas.path(colour, [*pixels, pixels[0]], smooth=True)
        return
    for shape in shapes:
        _patch(canvas, camera, shape, colour)


def _patch(canvas: Canvas, camera: Camera, corners: np.ndarray, colour: Colour) -> None:
    """A flat polygon, cut at the camera's near plane."""
    pixels = _cut(camera, corners)
    if pixels:
        canvas.polygon(colour, pixels)
        if len(pixels) <= 8:
            canvas.path(colour, [*pixels, pixels[0]], smooth=True)


def _cut(camera: Camera, corners: np.ndarray) -> list[tuple[float, float]]:
    """Pixels of a polygon in front of the near plane; empty when nothing is."""
    seen = camera.to_camera(corners)
    if (seen[:, 2] > NEAR).all():
        return [tuple(p) for p in camera.to_pixels(seen).tolist()]
    if (seen[:, 2] <= NEAR).all():
        return []
    kept = []
    for k in range(len(seen)):
        a, b = seen[k - 1], seen[k]
        if (a[2] > NEAR) != (b[2] > NEAR):
            kept.append(a + (NEAR - a[2]) / (b[2] - a[2]) * (b - a))
        if b[2] > NEAR:
            kept.append(b)
    return [tuple(p) for p in camera.to_pixels(np.array(kept)).tolist()]


def _label(canvas: Canvas, camera: Camera, above: np.ndarray, look: GateLook, labels: LabelSpace) -> None:
    """The number above the frame."""
    pixels, depth = camera.project(above)
    if depth > 0.3:
        ink = palette.INK if look.marked else palette.INK_SOFT
        style = VALUE if look.marked else STRONG
        labels.write(
            canvas,
            (float(pixels[0]), float(pixels[1])),
            look.label,
            style,
            ink,
            anchor="sc",
            plate=look.marked,
        )


def _draw_post(canvas: Canvas, camera: Camera, place: np.ndarray, height: float, radius: float) -> None:
    """A post as a flat strip that faces the camera."""
    sight = np.asarray(place) - camera.position[:2]
    aside = np.array([-sight[1], sight[0], 0.0]) / max(float(np.hypot(*sight)), 1e-6) * radius
    foot = np.array([place[0], place[1], 0.0])
    top = foot - np.array([0.0, 0.0, height])
    _patch(canvas, camera, np.array([foot - aside, foot + aside, top + aside, top - aside]), palette.POST)
    cap = top + np.array([0.0, 0.0, min(0.4, height / 4)])
    _patch(canvas, camera, np.array([cap - aside, cap + aside, top + aside, top - aside]), palette.INK)


def _draw_box(canvas: Canvas, camera: Camera, low: np.ndarray, high: np.ndarray) -> None:
    """A no-fly box: clear walls with a crossed top."""
    x, y, z = (np.array([low[k], high[k]]) for k in range(3))
    corners = np.array([[x[a], y[b], z[c]] for c in (0, 1) for a, b in ((0, 0), (1, 0), (1, 1), (0, 1))])
    for k in range(4):
        wall = corners[[k, (k + 1) % 4, 4 + (k + 1) % 4, 4 + k]]
        pixels = clip_to_canvas(_cut(camera, wall), canvas.size)
        if len(pixels) >= 3:
            canvas.glass(palette.ALARM, GLASS, pixels)
    pairs = [(k, (k + 1) % 4) for k in range(4)] + [(k, k + 4) for k in range(4)] + [(0, 2), (1, 3)]
    a, b = corners[[p[0] for p in pairs]], corners[[p[1] for p in pairs]]
    _lines(canvas, camera, a, b, mix(palette.ALARM, palette.GROUND_FAR, 0.35))


def clip_to_canvas(pixels: list[tuple[float, float]], size: tuple[int, int]) -> list[tuple[float, float]]:
    """A convex polygon's part on the canvas."""
    w, h = size
    for a, b, c in ((1.0, 0.0, 0.0), (-1.0, 0.0, float(w)), (0.0, 1.0, 0.0), (0.0, -1.0, float(h))):
        if len(pixels) < 3:
            return []
        pixels = clip_half_plane(pixels, a, b, c)
    return pixels


def draw_field(canvas: Canvas, camera: Camera, course: Course) -> None:
    """The edge of the flying space on the ground, and its corners upwards."""
    low, high = course.field.low, course.field.high
    ring = np.array(
        [[low[0], low[1], 0.0], [high[0], low[1], 0.0], [high[0], high[1], 0.0], [low[0], high[1], 0.0]]
    )
    cuts = np.linspace(0.0, 1.0, 9)
    a = np.concatenate([ring[k] + cuts[:-1, None] * (ring[(k + 1) % 4] - ring[k]) for k in range(4)])
    b = np.concatenate([ring[k] + cuts[1:, None] * (ring[(k + 1) % 4] - ring[k]) for k in range(4)])
    _lines(canvas, camera, a, b, palette.EDGE, 2)
    mast = ring.copy()
    mast[:, 2] = max(float(low[2]), -3.0)
    _lines(canvas, camera, ring, mast, palette.EDGE)


def _lines(
    canvas: Canvas, camera: Camera, a: np.ndarray, b: np.ndarray, colour: Colour, width: int = 1
) -> None:
    p, q, seen = camera.segments(a, b)
    p, q, inside = clip_to_picture(p, q, canvas.size)
    for k in np.flatnonzero(seen & inside).tolist():
        canvas.smooth_line(colour, p[k].tolist(), q[k].tolist())
        if width > 1:
            canvas.smooth_line(colour, (p[k] + [0.0, 1.0]).tolist(), (q[k] + [0.0, 1.0]).tolist())


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
