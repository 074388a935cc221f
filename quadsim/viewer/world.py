"""Sky, ground and its grid: what the craft flies over."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

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
SEAM_PX = 2.0
"""How far a band is painted into the next one [px]."""
FINE_LINES, MAIN_EVERY, MAIN_REACH = 10, 5, 40
"""Fine grid lines to each side, how many make a main line, and how far main lines reach (in fine spacings)."""


SLOPES_LIST = [*SLOPES.tolist(), math.inf]
_GROUND = np.array(GROUND, float)
UNSEEN, FAINT = 4.0, 14.0
"""A line that differs by less than this from the ground is not drawn, or has hard edges [of 255]; taste, no source."""


def draw_backdrop(canvas: Canvas, camera: Camera) -> None:
    """Sky and ground in bands that grow paler towards the horizon (aerial perspective)."""
    w, h = canvas.size
    corners = [(0.0, 0.0), (float(w), 0.0), (float(w), float(h)), (0.0, float(h))]
    n = camera.axes[:, 2].tolist()  # the world's down direction in camera axes: ground is where n . ray > 0
    cx, cy = camera.centre
    a, b, c = n[0], n[1], n[2] * camera.focal_px - n[0] * cx - n[1] * cy
    _bands(canvas, camera.focal_px, (-a, -b, -c), SKY)
    _bands(canvas, camera.focal_px, (a, b, c), GROUND)
    _horizon(canvas, corners, a, b, c)


def _bands(
    canvas: Canvas, focal_px: float, away: tuple[float, float, float], colours: list[palette.Colour]
) -> None:
    """Strips from the horizon to one side of it; a u + b v + c grows that way. Each reaches a little below the next one."""
    w, h = canvas.size
    u, v, half = w / 2.0, h / 2.0, math.hypot(w, h) / 2.0 + SEAM_PX
    a, b, c = away
    steep = max(math.hypot(a, b), 1e-12)
    across, along = (a / steep, b / steep), (-b / steep * half, a / steep * half)
    here = (a * u + b * v + c) / steep
    for k, colour in enumerate(colours):
        low = max(SLOPES_LIST[k] * focal_px / steep - here, -half)
        high = min(SLOPES_LIST[k + 1] * focal_px / steep - here + SEAM_PX, half)
        if high <= -half or low >= half:
            continue
        ends = [(u + d * across[0], v + d * across[1]) for d in (low, high)]
        (u0, v0), (u1, v1) = ends
        du, dv = along
        canvas.polygon(
            colour, [(u0 - du, v0 - dv), (u0 + du, v0 + dv), (u1 + du, v1 + dv), (u1 - du, v1 - dv)]
        )


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
    grid = _grid(float(middle[0]), float(middle[1]), step)
    p, q, shown = camera.segments(grid.starts, grid.ends)
    p, q, inside = clip_to_picture(p, q, canvas.size)
    chosen = np.flatnonzero(shown & inside)
    p, q, share = p[chosen], q[chosen], grid.shares[chosen, None]
    ground = _GROUND[np.maximum(_ground_band(camera, p), _ground_band(camera, q))]
    tones = np.round(grid.colours[chosen] + (ground - grid.colours[chosen]) * share).astype(int)
    canvas.smooth_lines(tones.tolist(), p, q, grid.faint[chosen].tolist())
    _metres(canvas, camera, middle, step, labels)


@dataclass(frozen=True)
class _Grid:
    """Pieces of the lines of a grid, world [m]; each fades into the ground by its share."""

    starts: np.ndarray
    ends: np.ndarray
    colours: np.ndarray
    shares: np.ndarray
    faint: np.ndarray
    """Which of them stand out so little that their edges may be hard."""


@lru_cache(maxsize=16)
def _grid(north: float, east: float, step: float) -> _Grid:
    """The grid around a crossing of its fine lines, counted in `step`; a flight stays at one for many frames."""
    middle = np.array([north, east])
    fine = _lines(middle, step, FINE_LINES + MAIN_EVERY, 1, palette.GRID_FINE, FINE_LINES * step)
    main = _lines(middle, step, MAIN_REACH, MAIN_EVERY, palette.GRID_MAIN, MAIN_REACH * step)
    return _Grid(*(np.concatenate(pair) for pair in zip(fine, main, strict=True)))


def _lines(
    middle: np.ndarray, step: float, reach: int, every: int, colour: palette.Colour, fade: float
) -> tuple[np.ndarray, ...]:
    """Grid lines in pieces that fade with their distance from the middle: the fields of a `_Grid`."""
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
    a, b = np.concatenate(starts) * step, np.concatenate(ends) * step
    tones = np.where(np.concatenate(takeoff)[:, None], palette.GRID_ORIGIN, colour).astype(float)
    shares = (np.linalg.norm((a + b)[:, :2] / 2.0 - middle * step, axis=1) / fade) ** 1.5
    contrast = np.abs(tones - _GROUND[-1]).max(axis=1)
    contrast *= 1.0 - shares
    seen = contrast > UNSEEN
    return a[seen], b[seen], tones[seen], shares[seen], contrast[seen] < FAINT


def _ground_band(camera: Camera, pixels: np.ndarray) -> np.ndarray:
    """Which step of GROUND is painted at some pixels (n, 2); a line must not be lighter than what it lies on."""
    n = camera.axes[:, 2]
    slope = ((pixels - np.asarray(camera.centre)) @ n[:2]) / camera.focal_px + n[2]
    return np.clip(np.searchsorted(SLOPES, slope, side="right") - 1, 0, BANDS - 1)


def _metres(canvas: Canvas, camera: Camera, middle: np.ndarray, step: float, labels: LabelSpace) -> None:
    """How far north and east of the take-off point the main lines are."""
    main = MAIN_EVERY * step
    nearest = np.round(middle / MAIN_EVERY) * main
    places, words = np.zeros((2, 7, 3)), []
    for axis, (plus, minus) in ((0, "NS"), (1, "EW")):
        along = nearest[axis] + main * np.arange(-3, 4)
        places[axis, :, axis] = along
        places[axis, :, 1 - axis] = nearest[1 - axis] + 0.5 * step  # beside the crossing, and on the line
        words += [_metre_words(metres, plus, minus) for metres in along.tolist()]
    pixels, depth = camera.project(places.reshape(-1, 3))
    for said, (x, y), away in zip(words, pixels.tolist(), depth.tolist(), strict=True):
        if away > 0.05:
            labels.write(canvas, (x + 3.0, y), said, SMALL, palette.INK_SOFT, anchor="sw")


def _metre_words(metres: float, plus: str, minus: str) -> str:
    return "0 m" if abs(metres) < 1e-9 else f"{abs(metres):g} m {plus if metres > 0 else minus}"
