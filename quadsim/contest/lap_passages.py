"""How a flown lap went through its gates: when, how far from the line, how near to the frames."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.planning.crossing import crossing
from quadsim.planning.space import depths

Array = NDArray[np.float64]

EARLY_S = 1.0
"""How long before its planned time a passage is looked for [s]; assumed."""


@dataclass(frozen=True)
class Passage:
    """One gate, planned and flown: times since the start signal [s], NaN where it was missed; off : distance from the planned
    point in the gate's plane [m]; room : from the craft's outline to the frame [m], below zero where it struck."""

    gate: str
    planned_s: float
    flown_s: float
    off_m: float
    room_m: float

    @property
    def passed(self) -> bool:
        return bool(np.isfinite(self.flown_s)) and self.room_m > 0.0


def judge(
    gates: Sequence[Any], planned: Array, points: Array, times: Array, places: Array, radius: float
) -> list[Passage]:
    """Every passage in its order; planned : times (G,) [s]; points : planned places (G, 3); times, places : as flown.

    A gate counts when its plane is crossed ahead inside the opening, after the gate before it.
    """
    found, since = [], 0
    for k, gate in enumerate(gates):
        first = max(since, int(np.searchsorted(times, planned[k] - EARLY_S)))
        late = planned[k + 1] + EARLY_S if k + 1 < len(gates) else np.inf
        row, share, hit = _passed(gate, places, first, int(np.searchsorted(times, late)))
        if row is None:
            found.append(Passage(gate.name, float(planned[k]), np.nan, np.nan, np.nan))
            continue
        at = places[row] + share * (places[row + 1] - places[row])
        flown = float(times[row] + share * (times[row + 1] - times[row]))
        room = _frame_distance(gate, places[max(row - 60, 0) : row + 60]) - radius
        found.append(
            Passage(
                gate.name,
                float(planned[k]),
                flown if hit else np.nan,
                float(np.linalg.norm(at - points[k])),
                room if hit else min(room, -1e-3),
            )
        )
        since = row
    return found


def _passed(gate: Any, places: Array, first: int, last: int) -> tuple[int | None, float, bool]:
    """Row before the crossing, share of the way to the next and whether it was inside: the first inside one, else the first."""
    ahead = (places[first : last + 1] - gate.centre) @ gate.forward
    outside: tuple[int | None, float, bool] = (None, 0.0, False)
    for row in (first + np.flatnonzero((ahead[:-1] < 0.0) & (ahead[1:] >= 0.0))).tolist():
        one = crossing(gate, places[row], places[row + 1])
        if one is None or not one.ahead:
            continue
        if one.inside:
            return row, one.fraction, True
        if outside[0] is None:
            outside = row, one.fraction, False
    return outside


def _frame_distance(gate: Any, places: Array) -> float:
    """Least distance from places (n, 3) to the inner edge of a gate's frame [m]."""
    off = places - gate.centre
    local = np.stack([off @ gate.forward, off @ gate.right, -off[:, 2]], axis=1)
    half = np.array([gate.width, gate.height]) / 2.0
    least = np.inf
    for k in (0, 1):  # the two upright edges, then the two level ones
        along = np.maximum(np.abs(local[:, 2 - k]) - half[1 - k], 0.0)
        across = np.abs(np.abs(local[:, 1 + k]) - half[k])
        least = min(least, float(np.min(np.sqrt(local[:, 0] ** 2 + across**2 + along**2))))
    return least


def least_room(course: Any, radius: float, places: Array) -> tuple[float, str]:
    """Least distance from the craft's outline to posts, boxes and the field's limits [m], and to which."""
    best = (np.inf, "nothing near")
    for name, depth in depths(course, radius, places):
        keep = float(course.clearance)
        room = keep - float(np.max(depth))
        if room < best[0]:
            best = (room, name)
    return best
