"""A flight taken back to a moment that was marked: so that many short flights can share one start."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from quadsim.simulation.run import Event
from quadsim.simulation.schedule import Due
from quadsim.simulation.session import Session

_RECORDS = ("motion", "held", "carried", "clock", "signals", "sensors", "wind")
_ARRAYS = ("gains", "memory", "commands", "gusts")


@dataclass(frozen=True)
class Mark:
    """A moment of a flight: copies of all that the flight loop reads or writes but the log, which is written over.

    The record of the plant is never changed by the loop, and so is kept itself. Payloads that are hooked on or let go after the
    mark are not followed: a flight that does either cannot be taken back over it.
    """

    records: dict[str, Any]
    arrays: dict[str, np.ndarray]
    plant: Any
    rows: int
    due: tuple[Due, ...]
    events: tuple[Event, ...]


def mark(session: Session, *, commands: bool = True) -> Mark:
    """The present moment of a flight; without `commands` the table of what is asked for stays as it is, which is much quicker."""
    return Mark(
        records={name: getattr(session, name).copy() for name in _RECORDS},
        arrays={name: np.array(getattr(session, name)) for name in _ARRAYS if commands or name != "commands"},
        plant=session.plant,
        rows=session.rows,
        due=tuple(session.due),
        events=tuple(session.events),
    )


def rewind(session: Session, to: Mark) -> None:
    """Take a flight back to a moment that was marked in it; it flies on from there with the very same bits."""
    for name, kept in to.records.items():
        np.asarray(getattr(session, name))[...] = kept  # an array over the record's own memory
    for name, kept in to.arrays.items():
        getattr(session, name)[...] = kept
    session.plant, session.rows = to.plant, to.rows
    session.due, session.events = list(to.due), list(to.events)
