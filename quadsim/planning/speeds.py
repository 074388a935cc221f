"""How fast a planned line is, where it is fastest, and how hard the thrust works along it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.planning.limits import Limits
from quadsim.planning.line import Line

Array = NDArray[np.float64]

STEP_S = 0.02
"""Between samples; a craft of these limits changes its speed by less than 1 m/s meanwhile."""
START, REST = "the start", "the end of the run-out"


@dataclass(frozen=True)
class Speeds:
    """Samples of a line from the start to rest behind the last gate.

    times : [s]; places : (n, 3) [m]; speeds : over ground in still air [m/s]
    between : what the fastest place lies between, by name
    """

    times: Array
    places: Array
    speeds: Array
    between: tuple[str, str]

    @property
    def top(self) -> float:
        """The greatest of them [m/s]."""
        return float(np.max(self.speeds))

    @property
    def fastest(self) -> Array:
        """Where that is (3,), north-east-down [m]."""
        return np.asarray(self.places[int(np.argmax(self.speeds))])


def speeds_along(line: Line) -> Speeds:
    """The speeds of a line."""
    end = float(line.spline.knots[-1])
    times = np.linspace(0.0, end, int(end / STEP_S) + 2)
    speeds = np.linalg.norm(line.spline.at(times, 1), axis=1)
    behind = int(np.searchsorted(line.times, times[int(np.argmax(speeds))]))
    names = [START, *(f"gate {gate.name}" for gate in line.gates), REST]
    return Speeds(times, line.spline.at(times), speeds, (names[behind], names[behind + 1]))


def loads_along(line: Line, limits: Limits, first: float, last: float) -> Array:
    """Thrust over weight (n,) at times from `first` to `last` [s]."""
    times = np.linspace(first, last, max(int((last - first) / STEP_S), 2))
    force = limits.force(line.spline.at(times, 1), line.spline.at(times, 2))
    return np.asarray(np.linalg.norm(force, axis=1) / limits.gravity)


def steady_load(loads: Array) -> float:
    """The constant thrust over weight that takes the mean power: power goes with T^1.5 (momentum theory in hover,
    J. G. Leishman, Principles of Helicopter Aerodynamics, ch. 2; from memory)."""
    return float(np.mean(loads**1.5) ** (2.0 / 3.0))
