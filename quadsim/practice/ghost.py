"""Another lap to fly against: the best run so far, or a planned line."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from quadsim.config.course import Course
from quadsim.config.trajectory import Trajectory
from quadsim.errors import InputError
from quadsim.practice.lap_book import Best
from quadsim.practice.lap_watch import LapWatch

STEP_S = 0.005
"""Interval at which a planned line is looked at for gates [s]."""


@dataclass(frozen=True)
class Ghost:
    """A lap as a clock and a place over it."""

    name: str
    splits_s: tuple[float, ...]
    """One per gate in flying order, and the lap time last."""
    place_at: Callable[[float], np.ndarray]
    """Place, north-east-down from the start [m], at a time on the lap's clock [s]."""

    @property
    def time_s(self) -> float:
        """Lap time [s]."""
        return self.splits_s[-1]

    def difference_s(self, index: int, split_s: float) -> float | None:
        """How much later a lap is at a gate [s]."""
        return split_s - self.splits_s[index] if index < len(self.splits_s) else None


def best_ghost(best: Best) -> Ghost:
    """The best run."""
    return Ghost("best", best.lap.splits_s, best.place_at)


def line_ghost(line: Trajectory, course: Course, source: str = "line") -> Ghost:
    """A planned line on a course, both in the flight's axes.

    Raises
    ------
    InputError
        when the line does not fly a lap of the course.
    """
    times = np.arange(line.begin_s, line.end_s + STEP_S, STEP_S)
    places, velocities, _ = line.at(times)
    places = places * np.array([1.0, 1.0, -1.0])
    watch = LapWatch(course)
    for k in range(1, len(times)):
        watch.see(
            float(times[k - 1] - line.begin_s), places[k - 1], float(times[k] - line.begin_s), places[k], velocities[k]
        )
        if watch.laps:
            break
    if not watch.laps:
        raise InputError(
            f"{source} does not fly a lap of {course.name}: it does not come to {watch.gate.name} as the {watch.next + 1}. gate"
        )
    lap = watch.laps[0]

    def place_at(clock_s: float) -> np.ndarray:
        place = line.at(np.array([line.begin_s + lap.start_s + clock_s]))[0][0]
        return place * np.array([1.0, 1.0, -1.0])

    return Ghost("planned", lap.splits_s, place_at)
