"""The flights that confirm a prediction, one after the other, as `lift`, `dash` and `hover` fly them."""

from __future__ import annotations

from collections.abc import Callable

from quadsim.simulation.carried import Status
from quadsim.simulation.session import Session, fly_through

Watch = Callable[[str, Session, float], None]
"""Told between chunks of a flight: what is flown, the session, and about how long it takes [s]."""


def fly_whole(session: Session, words: str = "", watch: Watch | None = None) -> float:
    """Fly a session to its end; returns the wall time [s].

    Raises
    ------
    KeyboardInterrupt
        when Ctrl-C ends it: half an attempt proves nothing.
    """
    longest = float(session.flight.duration_s)
    wall_s = fly_through(session, None if watch is None else lambda one: watch(words, one, longest))
    if int(session.carried.status) == Status.STOPPED:
        raise KeyboardInterrupt
    return wall_s
