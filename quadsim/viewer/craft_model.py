"""Geometry of a craft for drawing: flat faces of its parts, and its rotors, in body axes (forward-right-down) [m]."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from quadsim.dynamics.state import ROTOR_NAMES
from quadsim.viewer.palette import BATTERY, HULL, PAYLOAD, Colour

ROUND = 10
"""Corners of the polygon that stands for a circle of a part."""
THINNEST_M = 0.004
"""Rods and plates are drawn at least this thick [m], or they would vanish."""
BOX_FACES = ((0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3))


@dataclass(frozen=True)
class Face:
    """One flat face: which vertices, and its colour before light."""

    corners: tuple[int, ...]
    colour: Colour


@dataclass(frozen=True)
class CraftModel:
    """What is drawn of a craft. vertices (n, 3), normals (faces, 3) outward, hubs (4, 3), all body axes [m]."""

    vertices: np.ndarray
    faces: tuple[Face, ...]
    normals: np.ndarray
    hubs: np.ndarray
    radii_m: np.ndarray
    spins: np.ndarray
    """+1 clockwise seen from above, shape (4,)."""
    blades: int
    max_thrust_N: float
    span_m: float
    """Greatest width, rotors included."""


def make_model(view: dict[str, Any]) -> CraftModel:
    """Model of the `view` that a run carries; a plain cross where it says nothing of the craft."""
    vertices: list[np.ndarray] = []
    faces: list[Face] = []
    normals: list[np.ndarray] = []
    for k, part in enumerate(view.get("parts", ())):
        corners, polygons = solid(part)
        first = sum(len(v) for v in vertices)
        colour = _colour(part["name"], k)
        faces += [Face(tuple(first + c for c in polygon), colour) for polygon in polygons]
        normals += [outward(corners, polygon) for polygon in polygons]
        vertices.append(corners)
    rotors = {rotor["place"]: rotor for rotor in view.get("rotors", ())} or _plain_rotors()
    hubs = np.array([rotors[place]["at_m"] for place in ROTOR_NAMES], float)
    radii = np.array([rotors[place]["radius_m"] for place in ROTOR_NAMES], float)
    points = np.concatenate(vertices) if vertices else np.zeros((0, 3))
    return CraftModel(
        vertices=points,
        faces=tuple(faces),
        normals=np.array(normals).reshape(-1, 3),
        hubs=hubs,
        radii_m=radii,
        spins=np.array([1.0 if rotors[place]["spin"] == "cw" else -1.0 for place in ROTOR_NAMES]),
        blades=int(view.get("blades", 2)),
        max_thrust_N=max(float(view.get("max_thrust_N", 0.0)), 1e-6),
        span_m=2.0 * float(np.max(np.linalg.norm(hubs[:, :2], axis=1) + radii)),
    )


def hanging(view: dict[str, Any], t_s: float) -> list[dict[str, Any]]:
    """The payloads that are fixed to the craft at a time [s], as parts."""
    loads = (load for load in view.get("loads", ()) if load["from_s"] <= t_s and "line_m" not in load)
    return [
        {**load, "name": f"payload {load['name']}", "shape": "box"}
        for load in loads
        if load["to_s"] is None or t_s < load["to_s"]
    ]


def _plain_rotors() -> dict[str, dict[str, Any]]:
    """Rotors of a craft of which nothing is known; invented."""
    signs = {"front_right": (1, 1), "rear_right": (-1, 1), "rear_left": (-1, -1), "front_left": (1, -1)}
    return {
        place: {"at_m": [0.1 * x, 0.1 * y, -0.02], "radius_m": 0.07, "spin": "cw" if x * y < 0 else "ccw"}
        for place, (x, y) in signs.items()
    }


def _colour(name: str, k: int) -> Colour:
    if "battery" in name:
        return BATTERY
    return PAYLOAD if "payload" in name else HULL[k % len(HULL)]


def solid(part: dict[str, Any]) -> tuple[np.ndarray, list[tuple[int, ...]]]:
    """Corners (n, 3) of a part in body axes, and its faces."""
    half = np.maximum(np.asarray(part["size_m"], float), THINNEST_M) / 2.0
    if part.get("shape", "box") in ("cylinder", "tube", "rod", "disc"):
        along = {"forward": 0, "right": 1, "down": 2}[part.get("axis", "down")]
        corners, polygons = _prism(half, along)
    else:
        corners = np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)]) * half
        polygons = list(BOX_FACES)
    c, s = math.cos(part.get("yaw_rad", 0.0)), math.sin(part.get("yaw_rad", 0.0))
    turn = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
    return corners @ turn.T + np.asarray(part["at_m"], float), polygons


def _prism(half: np.ndarray, along: int) -> tuple[np.ndarray, list[tuple[int, ...]]]:
    """Round part as a prism with its axis along body axis `along`."""
    angle = 2.0 * np.pi * np.arange(ROUND) / ROUND
    across = [axis for axis in range(3) if axis != along]
    corners = np.zeros((2 * ROUND, 3))
    for end, sign in ((0, -1.0), (ROUND, 1.0)):
        corners[end : end + ROUND, across[0]] = half[across[0]] * np.cos(angle)
        corners[end : end + ROUND, across[1]] = half[across[1]] * np.sin(angle)
        corners[end : end + ROUND, along] = sign * half[along]
    sides = [(k, (k + 1) % ROUND, ROUND + (k + 1) % ROUND, ROUND + k) for k in range(ROUND)]
    return corners, [tuple(range(ROUND)), tuple(range(ROUND, 2 * ROUND)), *sides]


def outward(corners: np.ndarray, polygon: tuple[int, ...]) -> np.ndarray:
    """Unit normal of a face of a convex part, away from the middle of the part."""
    a, b, c = corners[list(polygon[:3])]
    normal = np.cross(b - a, c - a)
    normal = normal / max(float(np.linalg.norm(normal)), 1e-12)
    return normal if normal @ (a - corners.mean(axis=0)) >= 0.0 else -normal
