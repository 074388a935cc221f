"""What the search for a lap tells while it goes on, and what it knows when it is stopped."""

from __future__ import annotations

from collections.abc import Callable
from threading import Lock
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from quadsim.contest.lap_learning import FlownLap
    from quadsim.planning.plan import Plan

Show = Callable[[str, float, float], None]
"""Told a stage in words, how much of it is done and how much there is."""


class LapWatch:
    """Handed down through planning, learning and flights.

    plan : at the craft's limits, once it is known; tried : for each factor on its time the flights in wind so far
    """

    def __init__(self, show: Show = lambda *_: None) -> None:
        self.show = show
        self.plan: Plan | None = None
        self.tried: dict[float, list[FlownLap]] = {}
        self._stage, self._done, self._total, self._lock = "", 0.0, 0.0, Lock()

    def begin(self, stage: str, total: float) -> None:
        """A stage begins."""
        with self._lock:
            self._stage, self._done, self._total = stage, 0, total
            self.show(stage, 0, total)

    def step(self) -> None:
        """One more of the stage is done."""
        with self._lock:
            self._done += 1
            self.show(self._stage, min(self._done, self._total), self._total)
