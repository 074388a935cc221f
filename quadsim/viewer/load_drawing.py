"""Draws a load that moves on its own: its shadow, its line (straight when taut, hanging when slack), its box."""

from __future__ import annotations

import numpy as np

from quadsim.viewer import palette
from quadsim.viewer.canvas import Canvas
from quadsim.viewer.craft_drawing import LIGHT
from quadsim.viewer.craft_model import outward, solid
from quadsim.viewer.marks import draw_thread
from quadsim.viewer.projection import NEAR, Camera
from quadsim.viewer.track import Loose, Moment

PIECES = 14
"""Straight pieces of a slack line."""
LINE_WIDTH = 2.0
"""Width of the line on the screen [px at 1280 x 720]."""


def draw_load(canvas: Canvas, camera: Camera, moment: Moment, enlarged: float) -> None:
    """Draw the load of a moment, if there is one; box and hook are enlarged as the craft is."""
    load = moment.load
    if load is None:
        return
    _shadow(canvas, camera, load, enlarged)
    if load.hook is not None:
        hook = moment.position + moment.rotation @ load.hook * enlarged
        width = max(2, round(LINE_WIDTH * canvas.scale))
        draw_thread(canvas, camera, line_points(hook, load), [palette.INK], width)
    _box(canvas, camera, load, enlarged)


def line_points(hook: np.ndarray, load: Loose) -> np.ndarray:
    """Points along the line from the hook to the load, world: a straight line, or a bow as deep as the slack lets it.

    A shallow bow over a span d that is s deep is d + 8 s^2/(3 d) long (series of the parabola's arc length).
    """
    ends = np.array([hook, load.position])
    share = np.linspace(0.0, 1.0, PIECES + 1)[:, None]
    straight = ends[0] + share * (ends[1] - ends[0])
    span = float(np.linalg.norm(ends[1] - ends[0]))
    slack = load.line_m - span
    if load.tension_N > 0.0 or slack <= 0.0:
        return straight
    along = (ends[1] - ends[0]) / max(span, 1e-9)
    across = np.array([0.0, 0.0, 1.0]) - along[2] * along
    if np.linalg.norm(across) < 0.3:  # close to upright: it has to bow to a side
        across = np.array([0.0, along[2], -along[1]])
    across /= max(float(np.linalg.norm(across)), 1e-9)
    depth = np.sqrt(3.0 / 8.0 * max(span, 0.1 * load.line_m) * slack)
    bowed = straight + 4.0 * share * (1.0 - share) * depth * across
    bowed[:, 2] = np.minimum(bowed[:, 2], 0.0)  # what is over lies on the ground
    return bowed


def _shadow(canvas: Canvas, camera: Camera, load: Loose, enlarged: float) -> None:
    half = load.size_m[:2] / 2.0 * enlarged
    corners = np.array([[1, 1], [1, -1], [-1, -1], [-1, 1]]) * half + load.position[:2]
    pixels, depth = camera.project(np.column_stack([corners, np.zeros(4)]))
    if np.min(depth) > NEAR:
        canvas.polygon(palette.SHADOW, pixels.tolist())


def _box(canvas: Canvas, camera: Camera, load: Loose, enlarged: float) -> None:
    """The box, level and square to north (the load is a point, it has no attitude), lit like the craft."""
    size = load.size_m * enlarged
    lifted = (size[2] - load.size_m[2]) / 2.0  # an enlarged box stands on the ground, too
    corners, polygons = solid({"size_m": size, "at_m": load.position - np.array([0.0, 0.0, lifted])})
    pixels, depth = camera.project(corners)
    if np.min(depth) <= NEAR:
        return
    for polygon in polygons:
        normal, chosen = outward(corners, polygon), list(polygon)
        if normal @ (corners[chosen[0]] - camera.position) < 0.0:
            colour = palette.shade(palette.PAYLOAD, 0.74 + 0.38 * float(normal @ LIGHT))
            points = pixels[chosen].tolist()
            canvas.polygon(colour, points)
            canvas.path(palette.shade(colour, 0.7), [*points, points[0]], 1, smooth=True)
