"""What hangs on the craft in the scene: trail, shadow, drop line with its height, wind arrow."""

from __future__ import annotations

import math

import numpy as np

from quadsim.viewer import palette
from quadsim.viewer.canvas import Canvas
from quadsim.viewer.craft_model import CraftModel
from quadsim.viewer.fonts import LABEL, STRONG
from quadsim.viewer.labels import LabelSpace
from quadsim.viewer.layout import Rect
from quadsim.viewer.projection import NEAR, Camera, clip_to_picture
from quadsim.viewer.track import Moment, Track

TRAIL_S = 8.0
"""Length of the strong part of the trail [s]."""
TRAIL_POINTS, PATH_POINTS = 140, 260
CALM_M_S = 0.2
"""Wind below this is not drawn [m/s]."""


def draw_trail(canvas: Canvas, camera: Camera, track: Track, moment: Moment) -> None:
    """Where the craft has been: faint since take-off, strong over the last seconds."""
    now = track.index(moment.t_s)
    recent = track.index(moment.t_s - TRAIL_S)
    old = track["position"][np.unique(np.linspace(0, recent, PATH_POINTS).astype(int))]
    draw_thread(canvas, camera, old, [palette.TRAIL_OLD], 1)
    # Rows on a fixed grid of times: the trail must not shimmer from frame to frame.
    stride = max(1, (now - recent) // TRAIL_POINTS)
    rows = np.arange(recent - recent % stride, now + 1, stride)
    points = np.concatenate([track["position"][rows], [moment.position]])
    tones = [palette.mix(palette.TRAIL_OLD, palette.FLOWN, (k / max(len(points) - 2, 1)) ** 1.5)
             for k in range(len(points) - 1)]  # fmt: skip
    draw_thread(canvas, camera, points, tones, max(2, round(2 * canvas.scale)))


def draw_thread(
    canvas: Canvas, camera: Camera, points: np.ndarray, tones: list[palette.Colour], width: int
) -> None:
    """Line through world points; one colour for all pieces or one each."""
    if len(points) < 2:
        return
    p, q, shown = camera.segments(points[:-1], points[1:])
    p, q, inside = clip_to_picture(p, q, canvas.size)
    chosen = np.flatnonzero(shown & inside)
    p, q = p[chosen], q[chosen]
    along = q - p
    aside = 0.8 * np.stack([-along[:, 1], along[:, 0]], axis=1)
    aside /= np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-6)[:, None]
    strands = np.arange(width)[:, None]  # of one piece together: the next piece lies over all of them
    starts, ends = ((end[:, None] + strands * aside[:, None]).reshape(-1, 2) for end in (p, q))
    colours = [tones[min(k, len(tones) - 1)] for k in chosen.tolist() for _ in range(width)]
    canvas.smooth_lines(colours, starts, ends)


def draw_shadow(canvas: Canvas, camera: Camera, model: CraftModel, moment: Moment, enlarged: float) -> None:
    """Shadow straight below: rotor discs and the middle of the craft."""
    angle = 2.0 * np.pi * np.arange(14) / 14
    rim = np.stack([np.cos(angle), np.sin(angle), np.zeros(14)], axis=1)
    turn = moment.rotation.T * enlarged
    shapes = [(hub + radius * rim) @ turn for hub, radius in zip(model.hubs, model.radii_m, strict=True)]
    arm = 0.06 * model.span_m
    for k in (0, 1):
        ends = model.hubs[[k, k + 2]]
        side = np.cross(ends[1] - ends[0], [0.0, 0.0, 1.0])
        side *= arm / 2.0 / max(float(np.linalg.norm(side)), 1e-9)
        shapes.append(np.array([ends[0] - side, ends[0] + side, ends[1] + side, ends[1] - side]) @ turn)
    height = max(moment.height_m, 0.0)
    tone = palette.mix(palette.SHADOW, palette.GROUND_NEAR, min(0.55, height / 40.0))
    ground = np.concatenate(shapes) + moment.position
    ground[:, 2] = 0.0
    pixels, depth = camera.project(ground)
    first = 0
    for shape in shapes:
        last = first + len(shape)
        if depth[first:last].min() > NEAR:
            canvas.polygon(tone, pixels[first:last].tolist())
        first = last


def draw_drop_line(
    canvas: Canvas, camera: Camera, moment: Moment, labels: LabelSpace, clear_m: float
) -> None:
    """Line from the craft to the ground with a tick at every metre (or ten) and the height in words."""
    height = moment.height_m
    if height < clear_m:
        return
    ground = np.array([moment.position[0], moment.position[1], 0.0])
    p, q, shown = camera.segments(moment.position[None], ground[None])
    if not shown[0]:
        return
    canvas.smooth_line(palette.DROP_LINE, p[0].tolist(), q[0].tolist())
    step = 1.0 if height <= 15.0 else 10.0 if height <= 150.0 else 100.0
    reach = 3.0 * canvas.scale
    if np.hypot(*(q[0] - p[0])) > 30.0 * canvas.scale:
        ticks = ground - np.outer(np.arange(math.floor(height / step) + 1) * step, [0.0, 0.0, 1.0])
        pixels, depth = camera.project(ticks)
        for x, y in pixels[depth > NEAR].tolist():
            canvas.line(palette.DROP_LINE, (x - reach, y), (x + reach, y))
    w, h = canvas.size
    inside = np.clip(q[0], [0.0, 0.0], [w, h - 40.0 * canvas.scale])
    share = float(np.clip((inside[1] - p[0][1]) / max(q[0][1] - p[0][1], 1e-6), 0.0, 1.0))
    spot = p[0] + 0.62 * share * (q[0] - p[0])
    if np.hypot(*(q[0] - p[0])) > 46.0 * canvas.scale:
        words = f"{height:.1f} m"
        labels.write(
            canvas, (spot[0] + 9 * canvas.scale, spot[1]), words, LABEL, palette.INK, anchor="cw", plate=True
        )


def draw_wind(
    canvas: Canvas, camera: Camera, model: CraftModel, moment: Moment, labels: LabelSpace, enlarged: float
) -> None:
    """Arrow that blows onto the craft; it grows with the wind and says how strong it is."""
    speed = float(np.linalg.norm(moment.wind))
    if speed < CALM_M_S:
        return
    along = moment.wind / speed
    span = model.span_m * enlarged
    head = moment.position - along * 0.78 * span
    tail = head - along * span * min(1.5, 0.35 + 0.08 * speed)
    p, q, shown = camera.segments(tail[None], head[None])
    if not shown[0]:
        return
    a, b = p[0], q[0]
    length = float(np.hypot(*(b - a)))
    scale = canvas.scale
    if length < 6.0 * scale:  # blowing along the line of sight
        canvas.circle(palette.WIND, tuple(b), 6.0 * scale, round(2 * scale))
        canvas.circle(palette.WIND, tuple(b), 2.0 * scale)
    else:
        _arrow(canvas, a, b, length)
        side = round(22 * scale)
        for share in np.linspace(0.0, 1.0, 9):  # no label may lie on the arrow
            spot = a + share * (b - a)
            labels.taken.append(Rect(round(spot[0]) - side // 2, round(spot[1]) - side // 2, side, side))
    words, across = f"{speed:.1f} m/s", np.array([a[1] - b[1], b[0] - a[0]]) / max(length, 1.0)
    beyond = a - (b - a) / max(length, 1.0) * 30.0 * scale
    for spot in (
        beyond,
        (a + b) / 2 + across * 40 * scale,
        (a + b) / 2 - across * 40 * scale,
        b - across * 46 * scale,
    ):
        if labels.write(canvas, (spot[0], spot[1]), words, STRONG, palette.WIND, plate=True):
            break


def _arrow(canvas: Canvas, a: np.ndarray, b: np.ndarray, length: float) -> None:
    low, high = np.minimum(a, b) - 16 * canvas.scale, np.maximum(a, b) + 16 * canvas.scale
    low, high = np.clip(low, -4000, 9000), np.clip(high, -4000, 9000)
    area = canvas.clip(Rect(int(low[0]), int(low[1]), int(high[0] - low[0]), int(high[1] - low[1])))
    along = (b - a) / length
    across = np.array([-along[1], along[0]])
    with canvas.refined(area) as fine:
        a, b = 2 * (a - [area.x, area.y]), 2 * (b - [area.x, area.y])
        tip = min(17.0 * fine.scale, 0.6 * 2 * length)
        neck = b - along * tip
        fine.thick_line(palette.WIND, tuple(a), tuple(neck), 5.0 * fine.scale)
        fine.polygon(
            palette.WIND, [tuple(b), tuple(neck + across * tip * 0.55), tuple(neck - across * tip * 0.55)]
        )
