"""Sky, ground and its grid: what the craft flies over."""

from __future__ import annotations

import math

import numpy as np

from quadsim.viewer import palette
from quadsim.viewer.canvas import Canvas
from quadsim.viewer.fonts import SMALL
from quadsim.viewer.labels import LabelSpace
from quadsim.viewer.projection import Camera, clip_half_plane, clip_to_picture

BANDS = 13
"""Steps of the sky from the horizon up and of the ground from the horizon down."""
SLOPES = 0.36 * (np.arange(BANDS) / (BANDS - 1)) ** 1.8
"""Slope of the line of sight at which each step begins; denser at the horizon, where distance grows fastest."""
SKY = [palette.mix(palette.SKY_LOW, palette.SKY_HIGH, k / (BANDS - 1)) for k in range(BANDS)]
GROUND = [palette.mix(palette.GROUND_FAR, palette.GROUND_NEAR, k / (BANDS - 1)) for k in range(BANDS)]
FINE_LINES, MAIN_EVERY, MAIN_REACH = 10, 5, 40
"""Fine grid lines to each side, how many make a main line, and how far main lines reach (in fine spacings)."""


def draw_backdrop(canvas: Canvas, camera: Camera) -> None:
    """Sky and ground in bands that grow paler towards the horizon (aerial perspective)."""
    w, h = canvas.size
    canvas.fill(SKY[0])
    corners = [(0.0, 0.0), (float(w), 0.0), (float(w), float(h)), (0.0, float(h))]
    n = camera.axes[:, 2]  # the world's down direction in camera axes: ground is where n . ray > 0
    cx, cy = camera.centre
    a, b, c = n[0], n[1], n[2] * camera.focal_px - n[0] * cx - n[1] * cy
    for colour, slope in zip(SKY[1:], SLOPES[1:], strict=True):
        canvas.polygon(colour, clip_half_plane(corners, -a, -b, -c - slope * camera.focal_px))
    for colour, slope in zip(GROUND, SLOPES, strict=True):
        canvas.polygon(colour, clip_half_plane(corners, a, b, c - slope * camera.focal_px))
    _horizon(canvas, corners, a, b, c)


def _horizon(canvas: Canvas, corners: list[tuple[float, float]], a: float, b: float, c: float) -> None:
    ends = [
        p for p in clip_half_plane(corners, a, b, c) if abs(a * p[0] + b * p[1] + c) < 1e-6 * (abs(c) + 1.0)
    ]
    if len(ends) == 2:
        canvas.smooth_line(palette.HORIZON, ends[0], ends[1])


def spacing_m(distance_m: float) -> float:
    """Spacing of the fine grid for a camera `distance_m` away: 1, 2 or 5 times a power of ten."""
    wish = max(distance_m, 0.5) / 10.0
    power = 10.0 ** math.floor(math.log10(wish))
    return next((power * step for step in (1.0, 2.0, 5.0) if power * step >= wish), power * 10.0)


def grid_spacing(camera: Camera, focus: np.ndarray) -> float:
    """Spacing of the fine grid [m] for what is looked at."""
    ground = np.array([focus[0], focus[1], 0.0])
    return spacing_m(float(np.linalg.norm(camera.position - ground)))


def draw_grid(canvas: Canvas, camera: Camera, focus: np.ndarray, labels: LabelSpace) -> None:
    """Grid on the ground around the point below `focus`; the take-off lines are darker, main lines carry metres."""
    step = grid_spacing(camera, focus)
    middle = np.round(np.asarray(focus[:2]) / step)
    fine = FINE_LINES + MAIN_EVERY
    _lines(canvas, camera, middle, step, fine, 1, palette.GRID_FINE, FINE_LINES * step)
    _lines(canvas, camera, middle, step, MAIN_REACH, MAIN_EVERY, palette.GRID_MAIN, MAIN_REACH * step)
    _metres(canvas, camera, middle, step, labels)


def _lines(
    canvas: Canvas, camera: Camera, middle: np.ndarray, step: float, reach: int, every: int,
    colour: palette.Colour, fade: float,
) -> None:  # fmt: skip
    """Grid lines in pieces that fade with their distance from the middle."""
    cuts = np.array([-1.0, -0.6, -0.3, -0.12, 0.12, 0.3, 0.6, 1.0]) * reach
    starts, ends, takeoff = [], [], []
    for axis in (0, 1):
        first = math.ceil((middle[axis] - reach) / every) * every
        lines = np.arange(first, middle[axis] + reach + 1, every)
        if every == 1:
            lines = lines[lines % MAIN_EVERY != 0]
        a = np.zeros((len(lines), len(cuts) - 1, 3))
        a[..., axis] = lines[:, None]
        b = a.copy()
        a[..., 1 - axis], b[..., 1 - axis] = middle[1 - axis] + cuts[:-1], middle[1 - axis] + cuts[1:]
        starts.append(a.reshape(-1, 3))
        ends.append(b.reshape(-1, 3))
        takeoff.append(np.repeat((lines == 0) & (every > 1), len(cuts) - 1))
    a, b, strong = np.concatenate(starts) * step, np.concatenate(ends) * step, np.concatenate(takeoff)
    far = np.linalg.norm((a + b)[:, :2] / 2.0 - middle * step, axis=1) / fade
    p, q, shown = camera.segments(a, b)
    p, q, inside = clip_to_picture(p, q, canvas.size)
    chosen = np.flatnonzero(shown & inside & (far < 1.0))
    band = np.maximum(_ground_band(camera, p[chosen]), _ground_band(camera, q[chosen]))
    tones = [palette.mix(palette.GRID_ORIGIN if strong[k] else colour, GROUND[n], share) for k, n, share in
             zip(chosen.tolist(), band.tolist(), (far[chosen] ** 1.5).tolist(), strict=True)]  # fmt: skip
    for tone, start, end in zip(tones, p[chosen].tolist(), q[chosen].tolist(), strict=True):
        canvas.smooth_line(tone, start, end)


def _ground_band(camera: Camera, pixels: np.ndarray) -> np.ndarray:
    """Which step of GROUND is painted at some pixels (n, 2); a line must not be lighter than what it lies on."""
    n = camera.axes[:, 2]
    slope = ((pixels - np.asarray(camera.centre)) @ n[:2]) / camera.focal_px + n[2]
    return np.clip(np.searchsorted(SLOPES, slope, side="right") - 1, 0, BANDS - 1)


def _metres(canvas: Canvas, camera: Camera, middle: np.ndarray, step: float, labels: LabelSpace) -> None:
    """How far north and east of the take-off point the main lines are."""
    main = MAIN_EVERY * step
    nearest = np.round(middle / MAIN_EVERY) * main
    for axis, (plus, minus) in ((0, "NS"), (1, "EW")):
        for n in range(-3, 4):
            place = np.array([nearest[0], nearest[1], 0.0])
            place[axis] += n * main
            metres = place[axis]
            words = "0 m" if abs(metres) < 1e-9 else f"{abs(metres):g} m {plus if metres > 0 else minus}"
            place[1 - axis] += 0.5 * step  # beside the crossing, and on the line, not across it
            pixels, depth = camera.project(place)
            if depth > 0.05:
                labels.write(
                    canvas, (pixels[0] + 3.0, pixels[1]), words, SMALL, palette.INK_SOFT, anchor="sw"
                )
