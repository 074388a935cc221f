"""Another lap to fly against: the best run so far, or a planned line."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from quadsim.config.course import Course
from quadsim.config.trajectory import read_table
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


def read_line(path: Path, course: Course, shift: np.ndarray) -> Ghost:
    """A planned line from a CSV file (t_s, north_m, east_m, height_m) in the axes of the course's file.

    course, shift : in the flight's axes, and where its start lies in the file's (north, east) [m]
    """
    table, _ = read_table(path)
    places = table[:, 1:4] * np.array([1.0, 1.0, -1.0])
    places[:, :2] -= shift
    return line_ghost(table[:, 0], places, course, str(path))


def line_ghost(times: np.ndarray, places: np.ndarray, course: Course, source: str = "the line") -> Ghost:
    """A planned line: times (n,) [s] and places (n, 3), north-east-down [m], in the flight's axes; time 0 is the start signal.

    Raises
    ------
    InputError
        when the line does not fly a lap of the course.
    """
    even = np.arange(times[0], times[-1] + STEP_S, STEP_S)
    path = np.stack([np.interp(even, times, places[:, k]) for k in range(3)], axis=1)
    velocity = np.gradient(path, STEP_S, axis=0)
    watch = LapWatch(course)
    for k in range(1, len(even)):
        watch.see(float(even[k - 1]), path[k - 1], float(even[k]), path[k], velocity[k])
        if watch.laps:
            break
    if not watch.laps:
        text = f"{source} does not fly a lap of {course.name}: it does not pass gate {watch.next + 1}, {watch.gate.name}"
        raise InputError(text)
    lap = watch.laps[0]

    def place_at(clock_s: float) -> np.ndarray:
        return np.array([np.interp(lap.start_s + clock_s, times, places[:, k]) for k in range(3)])

    return Ghost("planned", lap.splits_s, place_at)
