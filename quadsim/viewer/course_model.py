"""A course for drawing: flat pieces in the world, made once; every frame projects them all together."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from quadsim.config.course import Course, Gate
from quadsim.practice.course_frame import openings
from quadsim.practice.strikes import BAR_M, ON_GROUND_M

CHEVRON = ((-0.5, -1.0), (0.5, 0.0), (-0.5, 1.0), (0.1, 1.0), (1.1, 0.0), (0.1, -1.0))
"""Outline of a chevron that points ahead: ahead, right."""
CHEVRONS = (-1.5, -0.2, 1.1)
"""Where the chevrons of a gate stand on the ground, ahead of it [in their length]."""


@dataclass(frozen=True)
class GateModel:
    """Pieces of one gate, world [m]; `PIECES` names them in the order that they are projected in."""

    gate: Gate
    bars: np.ndarray
    """Shape (n, 4, 3)."""
    thick: np.ndarray
    """The bars of a gate that is marked."""
    chevrons: np.ndarray
    """Shape (3, 6, 3)."""
    cross: np.ndarray
    """Two lines across the opening, shape (2, 2, 3)."""
    above: np.ndarray


PIECES = ("above", "bars", "thick", "chevrons", "cross")
EDGE_PIECES = 8
"""Pieces of one side of the flying space's edge: the near plane of a camera cuts one, not the side."""
EDGE_MAST_M = 3.0
"""Height of the lines that stand on its corners [m]; taste, no source."""


@dataclass(frozen=True)
class CourseModel:
    """Everything of a course that is drawn."""

    course: Course
    openings: tuple[int, ...]
    gates: tuple[GateModel, ...]
    points: np.ndarray
    """All points of all gates, shape (n, 3)."""
    first: np.ndarray
    """Where each gate's begin."""
    edge: tuple[np.ndarray, np.ndarray]
    """Starts and ends of the lines at the edge of the flying space, shape (n, 3) each; the masts are the last four."""
    boxes: tuple[np.ndarray, ...]
    """Corners of each no-fly box, shape (8, 3): around its top, then around its foot."""


def make_course_model(course: Course) -> CourseModel:
    """The model of a course in the axes that it is in."""
    gates = tuple(gate_model(gate) for gate in course.gates)
    clouds = [np.concatenate([getattr(gate, name).reshape(-1, 3) for name in PIECES]) for gate in gates]
    first = np.cumsum([0] + [len(cloud) for cloud in clouds[:-1]])
    boxes = tuple(_corners(box.low, box.high) for box in course.boxes)
    return CourseModel(course, openings(course), gates, np.concatenate(clouds), first, _edge(course), boxes)


def _corners(low: np.ndarray, high: np.ndarray) -> np.ndarray:
    x, y, z = (np.array([low[k], high[k]]) for k in range(3))
    return np.array([[x[a], y[b], z[c]] for c in (0, 1) for a, b in ((0, 0), (1, 0), (1, 1), (0, 1))])


def _edge(course: Course) -> tuple[np.ndarray, np.ndarray]:
    low, high = course.field.low, course.field.high
    ring = np.array(
        [[low[0], low[1], 0.0], [high[0], low[1], 0.0], [high[0], high[1], 0.0], [low[0], high[1], 0.0]]
    )
    way = np.roll(ring, -1, axis=0) - ring
    cuts = np.linspace(0.0, 1.0, EDGE_PIECES + 1)[None, :, None]
    marks = ring[:, None] + cuts * way[:, None]
    mast = ring + np.array([0.0, 0.0, max(float(low[2]), -EDGE_MAST_M)])
    starts, ends = marks[:, :-1].reshape(-1, 3), marks[:, 1:].reshape(-1, 3)
    return np.concatenate([starts, ring]), np.concatenate([ends, mast])


def gate_model(gate: Gate) -> GateModel:
    """The model of one gate."""
    floor = max(0.0, -float(gate.centre[2]) - gate.height / 2.0)
    half_w, half_h = gate.width / 2.0, gate.height / 2.0
    cross = in_gate(gate, [(-half_w, half_h), (half_w, -half_h), (half_w, half_h), (-half_w, -half_h)])
    size = min(0.22 * gate.width, 0.5)
    foot = np.array([gate.centre[0], gate.centre[1], -(floor - BAR_M if floor > ON_GROUND_M else 0.0)])
    chevrons = np.array([
        [foot + size * ((f + 1.3 * n) * gate.forward + r * gate.right) for f, r in CHEVRON] for n in CHEVRONS
    ])  # fmt: skip
    above = gate.centre + np.array([0.0, 0.0, -half_h - 3.0 * BAR_M])
    return GateModel(
        gate,
        _bars(gate, floor, BAR_M),
        _bars(gate, floor, 1.4 * BAR_M),
        chevrons,
        cross.reshape(2, 2, 3),
        above,
    )


def _bars(gate: Gate, floor: float, bar: float) -> np.ndarray:
    half_w, half_h = gate.width / 2.0, gate.height / 2.0
    rects = [
        (-half_w - bar, half_w + bar, half_h, half_h + bar),
        (-half_w - bar, -half_w, -half_h - floor, half_h),
        (half_w, half_w + bar, -half_h - floor, half_h),
    ]
    if floor > ON_GROUND_M:
        rects.append((-half_w, half_w, -half_h - bar, -half_h))
    return np.array([in_gate(gate, [(a, c), (b, c), (b, d), (a, d)]) for a, b, c, d in rects])


def in_gate(gate: Gate, corners: list[tuple[float, float]]) -> np.ndarray:
    """Points (right, up) of a gate's plane in the world, shape (n, 3) [m]."""
    up = np.array([0.0, 0.0, -1.0])
    return np.array([gate.centre + r * gate.right + u * up for r, u in corners])
