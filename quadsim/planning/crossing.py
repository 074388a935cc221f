"""The passage of a gate's plane between two samples of a flight."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.config.course import Gate

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Crossing:
    """fraction : of the way from the one sample to the other, 0..1; side, up : from the opening's middle, right and up [m];
    ahead : in the gate's direction; inside : strictly within the opening (an edge counts as hit)."""

    fraction: float
    side: float
    up: float
    ahead: bool
    inside: bool


def crossing(gate: Gate, before: Array, after: Array) -> Crossing | None:
    """Where the straight way from one place (3,) to another passes a gate's plane; None where it does not.

    A sample that lies in the plane belongs to the side in front of it, so that a way cut in pieces crosses as often as the whole.
    """
    there, here = float((before - gate.centre) @ gate.forward), float((after - gate.centre) @ gate.forward)
    if (there < 0.0) == (here < 0.0):
        return None
    fraction = there / (there - here)
    at = before + fraction * (after - before) - gate.centre
    side, up = float(at @ gate.right), -float(at[2])
    inside = abs(side) < gate.width / 2.0 and abs(up) < gate.height / 2.0
    return Crossing(fraction, side, up, there < 0.0, inside)
