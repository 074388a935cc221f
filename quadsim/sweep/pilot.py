"""Flies the cases of a sweep one after the other; what two flights in a row have in common is prepared once."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from controllers.explain import BlockError
from quadsim.config import Craft
from quadsim.config.flight_schema import FlightFile
from quadsim.errors import QuadsimError
from quadsim.simulation.carried import Status
from quadsim.simulation.fly import snapshot
from quadsim.simulation.metrics import compute
from quadsim.simulation.session import Session, fly_through
from quadsim.sweep.base import Base, same_craft, same_flight
from quadsim.sweep.cases import Case

REFUSED = "refused"
"""Status of a combination that is bad input: its words say why."""


@dataclass(frozen=True)
class Flown:
    """How one case ended, and the figures asked for by their label; one that a flight does not have is NaN."""

    number: int
    status: str
    words: str
    figures: dict[str, float]

    @property
    def refused(self) -> bool:
        """True for a combination that could not be flown."""
        return self.status == REFUSED


class Pilot:
    """Flies cases. `prepared` keeps the last craft, flight file and records: neighbours of a grid share them."""

    def __init__(self, base: Base) -> None:
        self.base = base
        self._craft: tuple[Any, Craft] | None = None
        self._flight: tuple[Any, FlightFile] | None = None
        self._records: tuple[Any, Any] | None = None

    def fly(self, case: Case) -> Flown:
        """Fly a case; bad input is an answer too.

        Raises
        ------
        KeyboardInterrupt
            after Ctrl-C: half a flight has no figures.
        """
        try:
            session = self.session(case)
        except (QuadsimError, BlockError) as error:
            return Flown(case.number, REFUSED, str(error), {})
        fly_through(session)
        if int(session.carried.status) == Status.STOPPED:
            raise KeyboardInterrupt
        run = snapshot(session, drawn=False)
        figures = {
            asked.label: math.nan
            if (value := compute(run, asked.metric, asked.from_s, asked.to_s)) is None
            else value
            for asked in self.base.asked
        }
        return Flown(case.number, run.status, run.status_text, figures)

    def session(self, case: Case) -> Session:
        """The case ready to fly."""
        craft, flight = self._craft_of(case), self._flight_of(case)
        key = (same_craft(case), repr(flight.site), repr(flight.rates_Hz))
        known = self._records[1] if self._records is not None and self._records[0] == key else None
        blocks = self.base.laws[case.cell.law]
        session = Session(craft, flight, seed=case.seed, blocks=blocks, resolved=known)
        self._records = key, session.resolved
        return session

    def _craft_of(self, case: Case) -> Craft:
        key = same_craft(case)
        if self._craft is None or self._craft[0] != key:
            self._craft = key, self.base.craft(case.cell.craft, case.changes)
        return self._craft[1]

    def _flight_of(self, case: Case) -> FlightFile:
        key = same_flight(case)
        if self._flight is None or self._flight[0] != key:
            self._flight = key, self.base.flight_file(case.changes)
        return self._flight[1]
