"""Whether a flight of a sweep passed, by how much, and which one is the worst."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from quadsim.config.flight_schema import ExpectSection
from quadsim.simulation.metrics import fulfils
from quadsim.sweep.base import Asked
from quadsim.sweep.pilot import Flown


@dataclass(frozen=True)
class Judged:
    """A flown case. ended : whether it ended as it may; failed : labels of the expect lines it missed

    room : how far it stays from the bound it is nearest to, as a share of that bound; negative beyond it
    """

    flown: Flown
    ended: bool
    failed: tuple[str, ...]
    room: float

    @property
    def passed(self) -> bool:
        """True when it ended as it may and missed nothing."""
        return self.ended and not self.failed

    @property
    def badness(self) -> tuple[float, ...]:
        """Order of flights from good to bad: one that ended as it must not, the earlier the worse; then the least room."""
        if not self.ended:
            return 1.0, -self.flown.figures.get("end_s", 0.0)
        return 0.0, -self.room


def judge(flown: Flown, expect: Sequence[ExpectSection], ends: Sequence[str]) -> Judged:
    """The verdict on one flight; figures that `expect` looks at must be among those that were asked for."""
    missed, room = [], math.inf
    for line in expect:
        value = flown.figures[Asked.by(line).label]
        known = math.isfinite(value)
        if not fulfils(line, value if known else None):
            missed.append(_said(line))
        room = min(room, _room(line, value) if known else -1.0)
    return Judged(flown, flown.status in ends, tuple(missed), room)


def _said(line: ExpectSection) -> str:
    return f"{line.metric} {line.bound}"


def _room(line: ExpectSection, value: float) -> float:
    """Way from a value to the nearest bound over the size of that bound (of 1 for a bound of 0)."""
    ways = []
    if line.below is not None:
        ways.append((line.below - value) / (abs(line.below) or 1.0))
    if line.above is not None:
        ways.append((value - line.above) / (abs(line.above) or 1.0))
    return min(ways)
