"""One event of a choice as it was flown."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quadsim.parts.choice import Event
from quadsim.parts.gains import Gains

WITHIN = 0.10
"""By how much a flown figure may differ from its estimate [-]; what the estimates claim of themselves."""


@dataclass(frozen=True)
class Flown:
    """Figures estimated and flown (slalom s, lift kg, dash m/s); in words how it was flown.

    flown : infinite lap, or no load or speed, where it cannot be flown
    gains : that it takes by "slot.gain", for the craft's file
    choice_of_gains : in words, which gains flew better, its own or the shipped ones; empty where only one set was flown
    """

    event: Event
    estimated: float
    flown: float
    words: str
    gains: Gains
    choice_of_gains: str = ""

    @property
    def difference(self) -> float:
        """Flown over estimated, less one; infinite or -1 where it cannot be flown."""
        return self.flown / self.estimated - 1.0

    @property
    def agrees(self) -> bool:
        return abs(self.difference) <= WITHIN

    @property
    def was_flown(self) -> bool:
        return math.isfinite(self.flown) and self.flown > 0.0

    def beats(self, other: Flown) -> bool:
        """Better in the event by more than the search for it leaves open."""
        if not self.was_flown or not other.was_flown:
            return self.was_flown
        ratio = self.flown / other.flown
        return ratio < 1.0 - CLEAR if self.event == "slalom" else ratio > 1.0 + CLEAR


CLEAR = 0.005
"""Difference of two flown figures from which it counts [-]; our choice."""
