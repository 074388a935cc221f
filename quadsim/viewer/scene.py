"""The scene: world, craft and marks through one camera, and the words that lie over it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from quadsim.viewer.cameras import CAMERAS, WORDS, Orbit, Shot
from quadsim.viewer.canvas import Canvas
from quadsim.viewer.cards import caption, name_plate
from quadsim.viewer.course_drawing import CourseSight, GateLook, draw_course
from quadsim.viewer.course_model import CourseModel
from quadsim.viewer.craft_drawing import Posed, draw_craft, pose
from quadsim.viewer.craft_model import CraftModel
from quadsim.viewer.labels import LabelSpace
from quadsim.viewer.layout import Layout, Rect
from quadsim.viewer.load_drawing import draw_load
from quadsim.viewer.marks import draw_drop_line, draw_shadow, draw_trail, draw_wind
from quadsim.viewer.track import Moment, Track
from quadsim.viewer.world import MAIN_EVERY, draw_backdrop, draw_grid, grid_spacing

CAPTION_S = 3.0
"""How long an event is spelled out over the scene [s]."""
NEAR_COLUMNS = 0.4
"""Height of the thrust columns seen from on board, share of the usual one: they must not hide the horizon."""


@dataclass(frozen=True)
class Standing:
    """The course that stands on the field, and how its gates look now."""

    model: CourseModel
    looks: list[GateLook]


@dataclass(frozen=True)
class Caption:
    """Words over the scene: what has just happened."""

    words: str
    alarm: bool = False


def draw_scene(
    canvas: Canvas, layout: Layout, track: Track, moment: Moment, model: CraftModel, camera_name: str, orbit: Orbit,
    said: Caption | None, verdict_shown: bool, standing: Standing | None = None,
) -> None:  # fmt: skip
    """Draw the scene on the whole frame's canvas."""
    area = layout.panels["scene"]
    part = canvas.part(area)
    camera = CAMERAS[camera_name](Shot(track, moment, model.span_m, part.size, orbit))
    if verdict_shown:  # the craft moves out from under the card
        card = layout.insets["verdict"]
        camera = replace(camera, aside_px=(card.right - area.x) / 2.0)
    posed = pose(model, moment, camera, canvas.scale, NEAR_COLUMNS if camera_name == "onboard" else 1.0)
    labels = LabelSpace([*_taken(layout, said is not None, verdict_shown), *_outline(posed)])
    draw_backdrop(part, camera)
    draw_grid(part, camera, moment.position, labels)
    draw_shadow(part, camera, model, moment, posed.enlarged)
    draw_trail(part, camera, track, moment)
    if camera_name != "onboard":
        draw_wind(part, camera, model, moment, labels, posed.enlarged)
        draw_drop_line(part, camera, moment, labels, 0.5 * model.span_m)
    away = float(np.linalg.norm(moment.position - camera.position))
    sight = CourseSight(camera, standing.model, standing.looks, part.size) if standing else None
    if sight:
        draw_course(part, sight, labels, beyond_m=away)
    draw_load(part, camera, moment, posed.enlarged)
    draw_craft(part, model, posed, moment)
    if sight:
        draw_course(part, sight, labels, nearer_m=away)
    _camera_line(canvas, layout, camera_name, grid_spacing(camera, moment.position), posed.enlarged)
    if said:
        caption(canvas, layout.insets["caption"], said.words, said.alarm)


def _taken(layout: Layout, caption: bool, verdict: bool) -> list[Rect]:
    """Insets in scene pixels, so that no label gets below them."""
    area = layout.panels["scene"]
    names = ["camera"] + ["caption"] * caption + ["verdict"] * verdict
    rects = [layout.insets[name] for name in names]
    return [Rect(r.x - area.x, r.y - area.y, r.w, r.h) for r in rects]


def _outline(posed: Posed) -> list[Rect]:
    """Box around the rotors and their columns: no label across the craft itself."""
    if not posed.visible.any():
        return []
    shown = posed.visible
    points = np.concatenate([posed.discs[shown].reshape(-1, 2), posed.columns[shown].reshape(-1, 2)])
    low, high = np.clip(points.min(axis=0), -1e4, 1e4), np.clip(points.max(axis=0), -1e4, 1e4)
    return [Rect(int(low[0]), int(low[1]), int(high[0] - low[0]), int(high[1] - low[1]))]


def _camera_line(canvas: Canvas, layout: Layout, name: str, step: float, enlarged: float) -> None:
    """Which camera this is and what the grid measures."""
    box = layout.insets["camera"]
    words = f"{WORDS[name]}    grid {step:g} m, main lines {step * MAIN_EVERY:g} m"
    if enlarged > 1.05:
        words += f"    craft drawn {enlarged:.1f} times its size"
    name_plate(canvas, box, words)
