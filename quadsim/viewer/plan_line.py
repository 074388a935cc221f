"""The line of flight on the map: a smooth curve through the gates along their headings, to guide the eye.

It knows nothing of a craft; the line that one can fly is planned elsewhere.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.planning.course_plan import CoursePlan

POINTS = 25
"""Of one leg."""
PULL = 0.9
"""Length of the tangents, of the distance between two gates: rounder above, straighter below."""


@dataclass(frozen=True)
class Leg:
    """From one gate to the next: points (n, 3) forward, right, up [m]; length of the curve and of the straight way [m]."""

    points: NDArray[np.float64]
    length_m: float
    straight_m: float


def legs_of(plan: CoursePlan) -> list[Leg]:
    """The legs in flying order; an open course begins at its start, a closed one ends with the way back to the first gate."""
    nodes = [
        ((gate.forward_m, gate.right_m, gate.height_m), math.radians(gate.heading_deg)) for gate in plan.flown
    ]
    if not nodes:
        return []
    if plan.closed:
        nodes = [*nodes, nodes[0]] if len(nodes) > 1 else []
    else:
        start = plan.start
        place = (start.forward_m, start.right_m, start.height_m)
        nodes = [(place, math.radians(start.heading_deg)), *nodes]
    return [_leg(*here, *there) for here, there in itertools.pairwise(nodes)]


def _leg(
    a: tuple[float, float, float], heading_a: float, b: tuple[float, float, float], heading_b: float
) -> Leg:
    """A cubic with given ends and tangents (Hermite's form)."""
    here, there = np.array(a), np.array(b)
    straight = float(np.linalg.norm(there - here))
    pull = PULL * straight
    leave = pull * np.array([math.cos(heading_a), math.sin(heading_a), 0.0])
    reach = pull * np.array([math.cos(heading_b), math.sin(heading_b), 0.0])
    t = np.linspace(0.0, 1.0, POINTS)[:, None]
    points = (
        (2 * t**3 - 3 * t**2 + 1) * here + (t**3 - 2 * t**2 + t) * leave
        + (3 * t**2 - 2 * t**3) * there + (t**3 - t**2) * reach
    )  # fmt: skip
    length = float(np.sum(np.linalg.norm(np.diff(points, axis=0), axis=1)))
    return Leg(points, length, straight)
