"""One flight of many: when Ctrl-C ends it, all end, for half a flight says nothing about the craft."""

from __future__ import annotations

from quadsim.simulation.carried import Status
from quadsim.simulation.fly import finish
from quadsim.simulation.run import Run
from quadsim.simulation.session import Session, fly_through


def fly_whole(session: Session) -> Run:
    """A session flown to its end.

    Raises
    ------
    KeyboardInterrupt
        that `fly_through` took for the end of this one flight.
    """
    wall_s = fly_through(session)
    if int(session.carried.status) == Status.STOPPED:
        raise KeyboardInterrupt
    return finish(session, wall_s)
