"""Whether there is any way at all through a course for a craft of some size: free space, divided into cells and joined.

A craft is a sphere here, as for its line. Gates' frames are no obstacles: what is open beside them can be flown.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import generate_binary_structure, label

from quadsim.config.course import Course, Gate
from quadsim.errors import InputError, Problem
from quadsim.planning.space import depths

Array = NDArray[np.float64]

CELLS = 400_000
"""Cells that space is divided into at most."""
FINEST_M = 0.2
"""Edge of a cell in a small space [m]; a gap that is narrower than a cell may be missed, so a finding says how fine it looked."""
UNDER_M = 1e-6


def check_reachable(course: Course, radius: float) -> None:
    """Nothing, if a sphere of a radius [m] has a way from the start through all gates with the declared clearance.

    Raises
    ------
    InputError
        that names every gate that cannot be flown, and why.
    """
    problems = unreachable(course, radius)
    if problems:
        raise InputError(problems, course.name)


def unreachable(course: Course, radius: float) -> list[Problem]:
    """What keeps a sphere of a radius [m] from a gate: one problem a gate at most, in the order of flight."""
    keep = radius + course.clearance
    problems: dict[str, Problem] = {}
    for gate in course.gates:
        found = too_narrow(gate, radius, course.clearance) or _obstructed(course, gate, radius)
        if found is not None:
            problems.setdefault(gate.name, found)
    spaces = _Spaces(course, radius)
    home = spaces.at(_lifted(course, keep))
    if not home:
        given = f"has no room for a craft of {2.0 * radius:.2f} m with {course.clearance:g} m of clearance over it"
        return [Problem("start", given, "", "Move it away from posts, boxes and limits"), *problems.values()]
    for gate in course.gates:
        if gate.name not in problems and not spaces.at(gate.centre) & home:
            given = f"has no way to it from the start, looked for in steps of {spaces.edge:.2f} m"
            problems[gate.name] = Problem(
                f"gate {gate.name}", given, "", "Open a gap between posts and boxes"
            )
    return list(problems.values())


def too_narrow(gate: Gate, radius: float, clearance: float, margin: float = 0.0) -> Problem | None:
    """Where the opening is too small for a sphere of a radius with a clearance, and with a margin beside it [m]."""
    need = 2.0 * (radius + clearance + margin)
    kept, hint = (
        (f" + {margin:.2f} margin", "Widen it, or take a smaller craft or margin")
        if margin
        else ("", "Widen it")
    )
    for size, word in ((gate.width, "wide"), (gate.height, "high")):
        if size < need:
            allowed = (
                f"must be at least {need:.2f} m: 2 x ({radius:.2f} craft + {clearance:.2f} clearance{kept})"
            )
            return Problem(f"gate {gate.name}", f"is {size:.2f} m {word} inside", allowed, hint)
    return None


def _obstructed(course: Course, gate: Gate, radius: float) -> Problem | None:
    """What is too near to the straight way through the middle of a gate: from wholly before it to wholly behind it."""
    keep = radius + course.clearance
    way = gate.centre + np.linspace(-radius, radius, 21)[:, None] * gate.forward
    for name, free in _free_of(course, radius, way):
        if not free.all():
            where = "before" if not free[0] else "behind" if not free[-1] else "in"
            return Problem(
                f"gate {gate.name}",
                f"has {name} too near, {where} its opening",
                f"must leave {keep:.2f} m",
                "Move one of them",
            )
    return None


def _free_of(course: Course, radius: float, places: Array) -> list[tuple[str, NDArray[np.bool_]]]:
    """For each obstacle its name, and at which places (..., 3) a sphere of a radius [m] is free of it, clearance and all."""
    flat = places.reshape(-1, 3)
    return [
        (name, (depth <= UNDER_M).reshape(places.shape[:-1])) for name, depth in depths(course, radius, flat)
    ]


def _lifted(course: Course, keep: float) -> Array:
    """The start, as high over the ground as a craft with its clearance needs."""
    place = np.array(course.start.place, float)
    place[2] = min(place[2], course.field.high[2] - keep)
    return place


class _Spaces:
    """Free cells of the field, joined over faces, edges and corners into numbered spaces."""

    def __init__(self, course: Course, radius: float) -> None:
        low, high = course.field.low, course.field.high
        self.edge = max(FINEST_M, float(np.prod(high - low) / CELLS) ** (1.0 / 3.0))
        self.low = low
        counts = np.maximum(np.ceil((high - low) / self.edge).astype(int), 1)
        axes = [low[k] + self.edge * (np.arange(counts[k]) + 0.5) for k in range(3)]
        cells = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1)
        free = np.all([one for _, one in _free_of(course, radius, cells)], axis=0)
        self.number = label(free, generate_binary_structure(3, 3))[0]

    def at(self, place: Array) -> set[int]:
        """Numbers of the spaces that a cell around a place belongs to."""
        first = np.floor((place - self.low) / self.edge - 0.5).astype(int)
        last = np.array(self.number.shape) - 1
        corners = [np.clip((first[k], first[k] + 1), 0, last[k]) for k in range(3)]
        return set(np.unique(self.number[np.ix_(*corners)]).tolist()) - {0}


def outline_radius(plant: Any) -> float:
    """Radius of the upright cylinder about the centre of mass that holds all propellers of a PLANT record [m]."""
    hubs = np.asarray(plant.rotor_position)
    return float(np.max(np.linalg.norm(hubs[:, :2], axis=1))) + float(plant.rotor_radius)
