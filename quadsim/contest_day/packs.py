"""Which measured pack for which event: the best one where the points feel it most."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.config import Craft
from quadsim.config.contest_schema import Contest
from quadsim.contest_day.today import WORN, Pack, Today, at_room, file_mohm

Array = NDArray[np.float64]
EVENTS = ("slalom", "lift", "dash")


@dataclass(frozen=True)
class PackRow:
    """A pack as measured. room_mohm : brought to 20 deg C; of_file : over the craft file's
    payload [kg], speed [m/s] and lap [s] of the craft with it; use : events, empty for a spare
    """

    pack: Pack
    room_mohm: float
    of_file: float
    payload: float
    speed: float
    lap_s: float
    use: tuple[str, ...]

    @property
    def worn(self) -> bool:
        """True when it is to be retired."""
        return self.of_file >= WORN


def points_of(found: dict[str, Array], contest: Contest) -> dict[str, Array]:
    """Points of results by the contest's references."""
    return {
        "slalom": contest.slalom.points * contest.slalom.reference_s / found["slalom"],
        "lift": contest.lift.points * found["lift"] * 1000.0 / contest.lift.reference_g,
        "dash": contest.dash.points * found["dash"] / contest.dash.reference_m_s,
    }


def pack_rows(craft: Craft, contest: Contest, today: Today, found: dict[str, Array]) -> list[PackRow]:
    """Packs of today, the best first, each with its events.

    craft : as in its file; found : what it does with each of the packs, the best first, by event
    """
    room = [at_room(craft, one.cell_mohm, today.measured_at_C) for one in today.ranked]
    of_file = [one / file_mohm(craft) for one in room]
    use = shared_out(points_of(found, contest), [one < WORN for one in of_file])
    columns = (found[event].tolist() for event in ("lift", "dash", "slalom"))
    return [PackRow(*row) for row in zip(today.ranked, room, of_file, *columns, use, strict=True)]


def shared_out(points: dict[str, Array], fit: list[bool]) -> list[tuple[str, ...]]:
    """Events of each pack, the best pack first: the event that would lose most by the last fit pack gets the first one, and so on
    around; a worn pack gets none."""
    usable = [k for k, one in enumerate(fit) if one]
    given: list[list[str]] = [[] for _ in fit]
    if usable:
        loss = {event: float(points[event][usable[0]] - points[event][usable[-1]]) for event in EVENTS}
        for turn, event in enumerate(sorted(EVENTS, key=lambda one: -loss[one])):
            given[usable[turn % len(usable)]].append(event)
    return [tuple(one) for one in given]
