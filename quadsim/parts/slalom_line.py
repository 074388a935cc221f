"""The line of the fast lap estimate, as places over time: the arcs and straights of `figures.course_rows`, from rest to rest.

The estimate never draws its line. To be flown it needs places, and speeds that begin and end at rest.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.config.contest_schema import Contest
from quadsim.config.trajectory import Trajectory, make_trajectory
from quadsim.parts.figures import CUT, course_rows

Array = NDArray[np.float64]

SPACING_M = 0.25
"""Way between two places at which the speed is worked out [m]."""
ROWS_S = 0.1
"""Time between two rows of the path that is flown [s]: the spline through them rounds off what bends at once."""


@dataclass(frozen=True)
class SlalomLine:
    """The line through all laps: it begins and ends in the middle of the straight before the first gate.

    places : (n, 3) forward, right, down from the take-off point [m]; radius : of the bend there [m]
    gates : (laps, gates) row of `places` nearest to each passage
    """

    places: Array
    radius: Array
    gates: NDArray[np.int64]

    @property
    def way(self) -> Array:
        """Length of the line from its beginning [m]."""
        steps = np.linalg.norm(np.diff(self.places, axis=0), axis=1)
        return np.concatenate([[0.0], np.cumsum(steps)])


def slalom_line(contest: Contest, laps: int, cut: float = CUT) -> SlalomLine:
    """The line of a contest's slalom over some laps; cut : as of `course_rows`."""
    gates = np.array(contest.slalom.gates_m, float)
    once = [_corner(gates, k, row) for k, row in enumerate(course_rows(contest, cut))]
    begin = 0.5 * (once[-1][0][-1] + once[0][0][0])
    pieces, bends, passed, count = [begin[None]], [np.array([math.inf])], [], 1
    last = begin
    for _ in range(laps):
        for arc, radius in once:
            straight = _between(last, arc[0])
            pieces += [straight, arc]
            bends += [np.full(len(straight), math.inf), np.full(len(arc), radius)]
            passed.append(count + len(straight) + len(arc) // 2)
            count, last = count + len(straight) + len(arc), arc[-1]
    home = np.vstack([_between(last, begin), begin])
    places = np.vstack([*pieces, home])
    radius_ = np.concatenate([*bends, np.full(len(home), math.inf)])
    return SlalomLine(places, radius_, np.array(passed).reshape(laps, len(gates)))


def _corner(gates: Array, k: int, row: Array) -> tuple[Array, float]:
    """Places along the arc at a gate, and its radius: it touches both legs, at R tan(turn/2) from where they meet."""
    radius, arc = float(row[0]), float(row[1])
    here = gates[k]
    before, after = here - gates[k - 1], gates[(k + 1) % len(gates)] - here
    before, after = before / np.linalg.norm(before), after / np.linalg.norm(after)
    half = 0.5 * arc / radius
    inward = after - before
    length = float(np.linalg.norm(inward))
    if length < 1e-9:
        return here[None], math.inf
    middle = here + inward / length * radius / math.cos(half)
    ahead = (before + after) / np.linalg.norm(before + after)
    angles = np.linspace(-half, half, 2 * max(math.ceil(0.5 * arc / SPACING_M), 1) + 1)[:, None]
    return middle + radius * (np.sin(angles) * ahead - np.cos(angles) * inward / length), radius


def _between(a: Array, b: Array) -> Array:
    """Places between two, without them."""
    count = max(math.ceil(float(np.linalg.norm(b - a)) / SPACING_M), 2)
    return np.asarray(a + np.linspace(0.0, 1.0, count + 1)[1:-1, None] * (b - a))


def times_along(line: SlalomLine, push: float, top: float) -> Array:
    """When a point mass passes each place [s], from rest to rest, with accelerations up to `push` [m/s2] and speeds up to `top`.

    The rule of `course_kernels.lap_time`: v^2 <= push R in a bend, v'^2 <= v^2 + 2 push ds along the way.
    """
    squared = np.minimum(np.where(np.isfinite(line.radius), push * line.radius, math.inf), top * top)
    squared[0] = squared[-1] = 0.0
    steps = np.diff(line.way)
    for k, step in enumerate(steps.tolist()):
        squared[k + 1] = min(squared[k + 1], squared[k] + 2.0 * push * step)
    for k in range(len(steps) - 1, -1, -1):
        squared[k] = min(squared[k], squared[k + 1] + 2.0 * push * float(steps[k]))
    speed = np.sqrt(squared)
    return np.concatenate([[0.0], np.cumsum(2.0 * steps / (speed[1:] + speed[:-1]))])


def flown_path(line: SlalomLine, times: Array, begin_s: float) -> Trajectory:
    """The line as a flight asks for it: north, east, height from its own beginning, which is the take-off point."""
    rows = np.linspace(0.0, times[-1], max(math.ceil(times[-1] / ROWS_S), 8) + 1)
    place = np.column_stack([np.interp(rows, times, line.places[:, k]) for k in range(3)])
    north, east = place[:, 0] - place[0, 0], place[:, 1] - place[0, 1]
    return make_trajectory(np.column_stack([rows + begin_s, north, east, -place[:, 2]]))
