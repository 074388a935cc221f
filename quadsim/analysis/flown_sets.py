"""Each set of a ladder flown through a gust in the full simulation: a margin on paper is not a flight."""

from __future__ import annotations

from dataclasses import dataclass

from quadsim.analysis.gains_ladder import Rung
from quadsim.config import Craft
from quadsim.simulation.fly import finish, start
from quadsim.simulation.session import fly_through

FLIGHT = "gust"
"""The shipped flight that every set flies."""
MOST_TILT_DEG, MOST_HEIGHT_ERROR_M = 30.0, 3.0
"""Beyond these it was no longer in hand; assumed."""


@dataclass(frozen=True)
class FlownSet:
    """How a set flew: status in a word and a sentence, greatest tilt and height error."""

    share: float
    status: str
    status_text: str
    max_tilt_deg: float
    height_error_m: float

    @property
    def ok(self) -> bool:
        """True when it flew to the end and stayed in hand."""
        within = self.max_tilt_deg <= MOST_TILT_DEG and self.height_error_m <= MOST_HEIGHT_ERROR_M
        return self.status == "done" and within


def fly_set(craft: Craft, rung: Rung) -> FlownSet:
    """Fly one set."""
    session = start(FLIGHT, craft=craft)
    session.gains[:] = rung.gains
    run = finish(session, fly_through(session))
    return FlownSet(
        rung.share, run.status, run.status_text, run.metrics["max_tilt_deg"], run.metrics["height_error_m"]
    )
