"""What the user's own practice runs say of a lap that `quadsim lap` only estimates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from quadsim.config.course import Course
    from quadsim.practice.lap_book import LapLine

LAST = 10
"""Laps of which the median counts: the pilot as he flies now."""
FEWEST = 3
"""Laps without a miss below which the estimate stands."""


@dataclass(frozen=True)
class Practised:
    """Laps without a miss and without aids: how many, the best and the median of the LAST ones [s]."""

    laps: int
    best: float
    median: float

    @property
    def enough(self) -> bool:
        return self.laps >= FEWEST

    def document(self, estimate: float) -> dict[str, Any]:
        """As JSON, beside an estimate [s]; ratio : what the estimate is multiplied by."""
        return {
            "practised_laps": self.laps,
            "practised_best_s": self.best,
            "practised_median_s": self.median,
            "practised_over_estimate": self.median / estimate,
        }


def practised(lines: Sequence[LapLine]) -> Practised | None:
    """Of the laps in a book; None without a clean one."""
    clean = [one.time_s for one in lines if one.misses == 0 and not one.aids]
    if not clean:
        return None
    return Practised(len(clean), min(clean), float(np.median(clean[-LAST:])))


def practised_on(course: Course, craft: str) -> Practised | None:
    """Of the user's laps on a course with a craft."""
    from quadsim.practice.lap_book import LapBook

    return practised(LapBook(course, craft).laps())
