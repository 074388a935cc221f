"""Draws the craft: lit faces sorted from far to near, rotor discs, and a column of thrust on every rotor.

A column stands on each hub along the rotor's axis. Its outline reaches to the greatest thrust of the rotor (a bar marks
that limit), the filled part is the thrust at this time. A rotor at full duty turns to the alarm colour, grows twice as
thick, and its limit mark becomes a solid arrow head: saturation shows by colour, by thickness and by shape.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from quadsim.viewer.canvas import Canvas
from quadsim.viewer.craft_model import CraftModel
from quadsim.viewer.layout import Rect
from quadsim.viewer.palette import ALARM, CARD, FLOWN, INK, INK_SOFT, ROTOR_REAR, Colour, mix, shade
from quadsim.viewer.projection import NEAR, Camera
from quadsim.viewer.track import Moment

CORNERS = 36
"""Corners of a rotor disc."""
COLUMN_SPANS = 0.42
"""Height of a column at greatest thrust, in spans of the craft."""
LEAST_PX = 64.0
"""The craft is drawn at least this wide, enlarged when it is farther away [px at 1280 x 720]."""
LIGHT = np.array([-0.35, -0.45, -0.82])
"""Direction to the light, world."""
FAR = 6000.0
"""Corners of the craft farther off the picture than this are drawn there [px]."""
END_ON = 0.75
"""Cosine between line of sight and rotor axis from which a column is replaced by a pie."""
FRONT = (True, False, False, True)

_ANGLES = 2.0 * np.pi * np.arange(CORNERS) / CORNERS
_CIRCLE = np.stack([np.cos(_ANGLES), np.sin(_ANGLES), np.zeros(CORNERS)], axis=1)


@dataclass(frozen=True)
class Posed:
    """A craft as the camera sees it: everything projected once. Pixels are of the scene."""

    corners: np.ndarray
    corner_depth: np.ndarray
    discs: np.ndarray
    """Rims of the rotors, shape (4, CORNERS, 2)."""
    disc_depth: np.ndarray
    columns: np.ndarray
    """Foot, thrust and limit of each column, shape (4, 3, 2)."""
    lights: np.ndarray
    facing: np.ndarray
    width_px: float
    enlarged: float
    visible: np.ndarray
    """Which rotors are wholly in front of the camera."""
    end_on: bool
    """True when the camera looks along the rotor axes, so that columns have no length to speak of."""


def pose(
    model: CraftModel, moment: Moment, camera: Camera, scale: float, column_share: float = 1.0,
    least_px: float = LEAST_PX,
) -> Posed:  # fmt: skip
    """Place the model at a moment and project it; `column_share` shortens the columns for a near camera.

    least_px : the craft is drawn at least this wide; 0 leaves it as far away as it is
    """
    depth = float(np.linalg.norm(moment.position - camera.position))
    width = camera.focal_px * model.span_m / max(depth, NEAR)
    enlarged = max(1.0, least_px * scale / max(width, 1e-9))
    turn = moment.rotation.T * enlarged

    def world(points: np.ndarray) -> np.ndarray:
        return points @ turn + moment.position

    vertices = world(model.vertices)
    pixels, depths = camera.project(vertices)
    rims = world(model.hubs[:, None, :] + model.radii_m[:, None, None] * _CIRCLE)
    discs, rim_depth = camera.project(rims)
    share = np.clip(moment.thrust_N / model.max_thrust_N, -0.3, 1.15)
    rise = np.stack([np.zeros(4), share, np.ones(4)], axis=1) * COLUMN_SPANS * column_share * model.span_m
    columns, column_depth = camera.project(world(model.hubs[:, None, :] + rise[..., None] * [0.0, 0.0, -1.0]))
    normals = model.normals @ moment.rotation.T
    first = np.array([face.corners[0] for face in model.faces], int)
    facing = (
        np.einsum("ij,ij->i", normals, vertices[first] - camera.position) < 0.0
        if len(first)
        else np.zeros(0, bool)
    )
    return Posed(
        pixels, depths, discs, rim_depth.mean(axis=1), columns, 0.74 + 0.38 * (normals @ LIGHT), facing,
        width * enlarged, enlarged, (rim_depth.min(axis=1) > NEAR) & (column_depth.min(axis=1) > NEAR),
        abs(float(camera.axes[2] @ moment.rotation[:, 2])) > END_ON,
    )  # fmt: skip


def draw_craft(canvas: Canvas, model: CraftModel, posed: Posed, moment: Moment, columns: bool = True) -> None:
    """Draw a posed craft with soft edges; `columns` of thrust stand on its rotors."""
    in_front = posed.corners[posed.corner_depth > NEAR]
    shown = [in_front, posed.discs[posed.visible].reshape(-1, 2), posed.columns[posed.visible].reshape(-1, 2)]
    points = np.concatenate([p for p in shown if len(p)] or [np.zeros((0, 2))])
    if not len(points):
        return
    low = np.clip(np.floor(points.min(axis=0)) - 10, -4000, 12000)
    high = np.clip(np.ceil(points.max(axis=0)) + 10, -4000, 12000)
    area = canvas.clip(Rect(int(low[0]), int(low[1]), int(high[0] - low[0]), int(high[1] - low[1])))
    if area.w < 2 or area.h < 2:
        return
    factor = 2 if area.w * area.h < 400_000 * canvas.scale**2 else 1
    with canvas.refined(area, factor) as fine:
        _Brush(fine, np.array([area.x, area.y]), factor, model, posed, moment).paint(columns)


class _Brush:
    """Paints on the fine canvas; `at` maps scene pixels to it."""

    def __init__(
        self, fine: Canvas, origin: np.ndarray, factor: int, model: CraftModel, posed: Posed, moment: Moment
    ):
        self.fine, self.origin, self.factor = fine, origin, factor
        self.model, self.posed, self.moment = model, posed, moment
        self.corners: list[tuple[float, float]] = []

    def at(self, pixels: np.ndarray) -> list[tuple[float, float]]:
        return (np.clip(pixels - self.origin, -FAR, FAR) * self.factor).tolist()

    def paint(self, columns: bool) -> None:
        """Faces and discs from far to near, then the columns on top."""
        posed = self.posed
        depth, facing = posed.corner_depth.tolist(), posed.facing.tolist()
        self.corners = self.at(posed.corners)
        jobs = []
        for k, face in enumerate(
            self.model.faces
        ):  # plain numbers: a numpy call per face costs more than the face
            if facing[k]:
                depths = [depth[c] for c in face.corners]
                if min(depths) > NEAR:
                    jobs.append((sum(depths) / len(depths), 0, k))
        jobs += [(float(posed.disc_depth[k]), 1, k) for k in range(4) if posed.visible[k]]
        lights, edged = posed.lights.tolist(), posed.width_px > 120 * self.fine.scale / self.factor
        run: list[tuple[Colour, Colour | None, list[tuple[float, float]]]] = []
        for _, kind, k in sorted(jobs, reverse=True):
            if kind:
                self.fine.facets(run)
                run.clear()
                self.disc(k)
            else:
                face = self.model.faces[k]
                colour = shade(face.colour, lights[k])
                run.append(
                    (colour, shade(colour, 0.84) if edged else None, [self.corners[c] for c in face.corners])
                )
        self.fine.facets(run)
        for k in sorted(range(4), key=lambda n: -posed.disc_depth[n]):
            if columns and posed.visible[k]:
                self.column(k)

    def colour(self, k: int) -> Colour:
        if self.moment.saturated[k]:
            return ALARM
        return FLOWN if FRONT[k] else ROTOR_REAR

    def disc(self, k: int) -> None:
        """Rotor disc with a dot that turns (slowed down) the way the rotor does."""
        rim = self.at(self.posed.discs[k])
        colour = self.colour(k)
        self.fine.glass(colour, 70 if self.moment.saturated[k] else 46, rim)
        self.fine.path(colour, [*rim, rim[0]], self.stroke(2.0 if FRONT[k] else 1.3))

    def stroke(self, width: float) -> int:
        near = min(1.6, max(0.8, self.posed.width_px / (200.0 * self.fine.scale / self.factor)))
        return max(1, round(width * near * self.fine.scale))

    def column(self, k: int) -> None:
        """Thrust of one rotor against its limit."""
        foot, head, limit = self.at(self.posed.columns[k])
        ax, ay = limit[0] - foot[0], limit[1] - foot[1]
        length = math.hypot(ax, ay)
        full = bool(self.moment.saturated[k])
        if self.posed.end_on or length < 3.0 * self.factor:
            self.ring(k, foot)
            return
        ax, ay = ax / length, ay / length
        width = float(self.stroke(9.0 if full else 5.0))
        self.fine.thick_line(CARD, foot, limit, self.stroke(5.0) + 1.0 * self.factor)
        self.fine.thick_line(mix(INK_SOFT, CARD, 0.55), foot, limit, self.stroke(1.0))
        self.fine.thick_line(self.colour(k), foot, head, width)

        def off(at: tuple[float, float], across: float, along: float) -> tuple[float, float]:
            return at[0] - across * ay + along * ax, at[1] + across * ax + along * ay

        if full:
            wide, tall = 1.25 * width, 1.5 * width
            self.fine.polygon(ALARM, [off(head, -wide, 0.0), off(head, wide, 0.0), off(head, 0.0, tall)])
        reach = self.stroke(6.0)
        ends = off(limit, -reach, 0.0), off(limit, reach, 0.0)
        self.fine.thick_line(ALARM if full else INK, *ends, self.stroke(2.0))

    def ring(self, k: int, foot: tuple[float, float]) -> None:
        """Seen along its axis a column has no length: a pie slice of the disc stands for it."""
        share = float(np.clip(self.moment.thrust_N[k] / self.model.max_thrust_N, 0.0, 1.0))
        rim = np.array(self.at(self.posed.discs[k]))
        radius = float(np.mean(np.hypot(*(rim - np.array(foot)).T))) * 0.72
        steps = max(2, math.ceil(share * 24))
        angles = [-math.pi / 2 + 2 * math.pi * share * n / steps for n in range(steps + 1)]
        slice_ = [(foot[0] + radius * math.cos(a), foot[1] + radius * math.sin(a)) for a in angles]
        self.fine.circle(CARD, foot, radius)
        self.fine.polygon(self.colour(k), [foot, *slice_])
        full = bool(self.moment.saturated[k])
        self.fine.circle(ALARM if full else INK_SOFT, foot, radius, self.stroke(4.0 if full else 1.0))
