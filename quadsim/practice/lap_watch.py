"""The lap clock: which gate is next, passages with their direction, misses, splits and laps."""

from __future__ import annotations

import copy
from dataclasses import dataclass, field

import numpy as np

from quadsim.config.course import Course, Gate
from quadsim.planning.crossing import Crossing, crossing
from quadsim.practice.course_frame import openings

MISS_REACH = 2.5
"""A crossing of the next gate's plane counts as a miss within this many half widths or heights of its centre; farther out the
craft is only on its way. Assumed."""
REPEAT_S = 0.5
"""The same remark is not made again within this time [s]; assumed."""


@dataclass(frozen=True)
class Passage:
    """A gate flown through as it should be. `side_m` right and `up_m` up from its centre, seen in the direction of flight."""

    index: int
    """Place in the flying order."""
    name: str
    t_s: float
    split_s: float
    """Since the lap's clock started."""
    speed_m_s: float
    side_m: float
    up_m: float


@dataclass(frozen=True)
class Miss:
    """A gate not flown through as it should be, and how: beside, above, below, the wrong way, or out of order."""

    index: int
    name: str
    t_s: float
    how: str


@dataclass(frozen=True)
class Lap:
    """One lap as timed. `splits_s` has one time per gate since the clock started, in flying order, and the lap time last."""

    number: int
    start_s: float
    splits_s: tuple[float, ...]
    speeds_m_s: tuple[float, ...]
    misses: int

    @property
    def time_s(self) -> float:
        """Lap time [s]."""
        return self.splits_s[-1]


@dataclass
class _Running:
    """The lap in progress."""

    start_s: float | None
    splits: list[float] = field(default_factory=list)
    speeds: list[float] = field(default_factory=list)
    misses: int = 0


class LapWatch:
    """Sees where the craft's middle goes, and times it.

    A closed course: the clock starts and stops at the first gate. An open one: from the start signal (time 0) to the last gate.
    A missed gate stays the next one; the lap goes on until it is flown through.
    """

    def __init__(self, course: Course) -> None:
        self.course = course
        self._openings = openings(course)
        self.reset()

    def reset(self) -> None:
        """Before the start signal."""
        self.next = 0
        self.laps: list[Lap] = []
        self.passages: list[Passage] = []
        self.misses: list[Miss] = []
        self._running = _Running(None if self.course.closed else 0.0)

    def copy(self) -> LapWatch:
        """The clock as it stands, to come back to."""
        other = copy.copy(self)
        other.laps, other.passages, other.misses = list(self.laps), list(self.passages), list(self.misses)
        other._running = copy.deepcopy(self._running)
        return other

    @property
    def gate(self) -> Gate:
        """The next gate."""
        return self.course.gates[self.next]

    @property
    def finished(self) -> bool:
        """True when all laps are flown."""
        return len(self.laps) >= (max(self.course.laps, 1) if self.course.closed else 1)

    @property
    def splits_s(self) -> tuple[float, ...]:
        """Splits of the lap in progress so far."""
        return tuple(self._running.splits)

    @property
    def lap_misses(self) -> int:
        """Misses in the lap in progress."""
        return self._running.misses

    def clock_s(self, t_s: float) -> float | None:
        """Time on the clock; None before it has started. It stands at the last lap's time once all are flown."""
        if self.finished:
            return self.laps[-1].time_s
        return None if self._running.start_s is None else t_s - self._running.start_s

    def see(
        self, t0: float, before: np.ndarray, t1: float, after: np.ndarray, velocity: np.ndarray
    ) -> list[Passage | Miss]:
        """Take in the way from `before` to `after` [m, north-east-down], flown between t0 and t1 [s]; what happened on it."""
        if self.finished:
            return []
        found: list[Passage | Miss] = []
        for index in self._candidates():
            gate = self.course.gates[index]
            seen = crossing(gate, before, after)
            if seen is None:
                continue
            t = t0 + seen.fraction * (t1 - t0)
            if index == self.next and seen.inside and seen.ahead:
                found.append(self._pass(t, seen, float(np.linalg.norm(velocity))))
                break  # what comes next is looked for in the next piece of the way
            how = self._how(index, gate, seen, t)
            if how and not self._said(index, how, t):
                miss = Miss(index, gate.name, t, how)
                self.misses.append(miss)
                self._running.misses += self._running.start_s is not None
                found.append(miss)
        return found

    def _candidates(self) -> list[int]:
        """The next gate first, then the others, each opening once."""
        mine = self._openings[self.next]
        return [self.next, *(first for first in sorted(set(self._openings)) if first != mine)]

    def _how(self, index: int, gate: Gate, seen: Crossing, t: float) -> str:
        """What was wrong with a crossing; empty when it is no concern of the lap."""
        last = self.passages[-1] if self.passages else None
        same = last is not None and self._openings[last.index] == self._openings[index]
        if index != self.next:
            return "out of order" if seen.inside and not same else ""
        if (
            seen.inside
        ):  # one opening flown both ways: a sample in its plane belongs to another side for each way
            just = same and last is not None and t - last.t_s < REPEAT_S
            return "" if just else "the wrong way"
        aside, high = abs(seen.side) / (gate.width / 2.0), abs(seen.up) / (gate.height / 2.0)
        if not seen.ahead or max(aside, high) > MISS_REACH:
            return ""
        if aside >= high:
            return "right of it" if seen.side > 0.0 else "left of it"
        return "above it" if seen.up > 0.0 else "below it"

    def _said(self, index: int, how: str, t: float) -> bool:
        last = self.misses[-1] if self.misses else None
        return last is not None and (last.index, last.how) == (index, how) and t - last.t_s < REPEAT_S

    def _pass(self, t: float, seen: Crossing, speed: float) -> Passage:
        """The next gate was flown through."""
        index, gate, running = self.next, self.gate, self._running
        count = len(self.course.gates)
        if self.course.closed and index == 0:
            if running.start_s is not None:
                self._close(t)
            self._running = running = _Running(t)
        assert running.start_s is not None
        split = t - running.start_s
        running.splits.append(split)
        running.speeds.append(speed)
        passage = Passage(index, gate.name, t, split, speed, seen.side, seen.up)
        self.passages.append(passage)
        if not self.course.closed and index == count - 1:
            self._close(t)
        else:
            self.next = (index + 1) % count
        return passage

    def _close(self, t: float) -> None:
        running = self._running
        assert running.start_s is not None
        splits = tuple(running.splits)
        if self.course.closed:
            splits = (*splits, t - running.start_s)
        number = len(self.laps) + 1
        self.laps.append(Lap(number, running.start_s, splits, tuple(running.speeds), running.misses))
