"""The slalom of a contest as a course that can be planned and flown: each gate upright, square to the middle between its legs."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from quadsim.config.contest_schema import Contest
from quadsim.config.course import Course, Field, Gate, Start

Array = NDArray[np.float64]

CLEARANCE_M = 0.1
"""From the craft's outline to a frame: the contest has no word on it; assumed."""
START_M = 8.0
"""Start place before the first gate, on the ground [m]; assumed."""
AROUND_M, OVER_M = 40.0, 25.0
"""Free field around and over the gates [m]: wide enough to hinder no line; assumed."""


def slalom_course(contest: Contest) -> Course:
    """The closed course of a contest's slalom, its own or made of its gates, with the contest's laps."""
    slalom = contest.slalom
    if slalom.laid is not None:
        return replace(slalom.laid, laps=slalom.laps)
    centres, opening = slalom.centres, slalom.opening
    headings = between_legs(centres)
    gates = tuple(
        Gate(f"gate {k + 1}", centre, heading, opening, opening)
        for k, (centre, heading) in enumerate(zip(centres, headings.tolist(), strict=True))
    )
    ground = centres[0] * np.array([1.0, 1.0, 0.0])
    start = Start(ground - START_M * gates[0].forward, gates[0].heading)
    low, high = centres.min(axis=0) - AROUND_M, centres.max(axis=0) + AROUND_M
    low[2], high[2] = centres[:, 2].min() - OVER_M, 0.0
    return Course(
        f"slalom of {contest.name}",
        "",
        gates,
        start,
        True,
        slalom.laps,
        (),
        (),
        Field(low, high),
        CLEARANCE_M,
    )


def between_legs(centres: Array) -> Array:
    """Headings (n,) of gates at centres (n, 3): the middle between the level legs from the last and to the next gate [rad].

    A gate from which the way leads straight back is flown across that way.
    """
    legs = (np.roll(centres, -1, axis=0) - centres)[:, :2]
    ahead = legs / np.maximum(np.linalg.norm(legs, axis=1, keepdims=True), 1e-9)
    middle = ahead + np.roll(ahead, 1, axis=0)
    back = np.linalg.norm(middle, axis=1) < math.sin(math.radians(1.0))
    middle[back] = np.column_stack([-ahead[:, 1], ahead[:, 0]])[back]
    return np.asarray(np.arctan2(middle[:, 1], middle[:, 0]))
