"""What is found by building flights without flying them: what is wrong with all of them, and which keys none of them feels."""

from __future__ import annotations

from collections.abc import Sequence

from controllers.explain import BlockError
from quadsim.config import Craft
from quadsim.config.flight_schema import FlightFile
from quadsim.errors import QuadsimError
from quadsim.simulation.session import Session
from quadsim.sweep.axes import Axis, Drawn
from quadsim.sweep.base import Base, Changes
from quadsim.sweep.cases import Case, Cell
from quadsim.sweep.draws import felt, merit_of, records, uncertain_keys
from quadsim.sweep.pilot import Pilot
from quadsim.sweep.wanted import Wanted, names_of


def tried(base: Base) -> tuple[str, ...]:
    """Build every craft with every law once, as the files are, and fly a tick, which loads the kernels; returns warnings.

    Raises
    ------
    InputError, BlockError
        for what is wrong with every flight.
    """
    warnings: list[str] = []
    pilot = Pilot(base)
    for craft in base.crafts:
        for law in base.laws:
            session = pilot.session(Case(0, Cell(0, craft, law, ()), 0, 0, ()))
            session.advance(1)
            warnings += session.warnings
    return tuple(dict.fromkeys(warnings))


def drawn_keys(
    wanted: Wanted, varied: Sequence[Axis | Drawn], craft: Craft, flight: FlightFile, base: Base
) -> tuple[tuple[Drawn, ...], tuple[Drawn, ...]]:  # fmt: skip
    """What a scatter draws, and what it leaves out because no flight feels it."""
    if not wanted.scatter:
        return (), ()
    own = [one for one in varied if isinstance(one, Drawn)]
    taken = names_of(varied)
    files = [one for one in uncertain_keys(craft, flight) if one.key.name not in taken]
    pilot = Pilot(base)
    used, unfelt = felt(files, lambda one, value: _built(pilot, () if one is None else ((one.key, value),)))
    return (*own, *used), tuple(unfelt)


def idle(axes: Sequence[Axis], base: Base) -> list[str]:
    """Keys of the craft whose values make no difference to a flight, such as a price, or a share that a bench replaces."""
    pilot, found = Pilot(base), []
    for axis in axes:
        if axis.key.file != "craft" or axis.beside or len(axis.values) < 2:
            continue
        try:
            first, *others = (records(_built(pilot, axis.changes(value))) for value in axis.values[:3])
        except (QuadsimError, BlockError):
            continue  # a combination that cannot be is said when it is its turn
        if all(one == first for one in others):
            found.append(axis.key.name)
    return found


def own_merit(base: Base) -> float:
    """Figure of merit of the first craft's rotor [-]."""
    return merit_of(_built(Pilot(base), ()).plant)


def _built(pilot: Pilot, changes: Changes) -> Session:
    """A flight of the first craft with the first law."""
    cell = Cell(0, next(iter(pilot.base.crafts)), next(iter(pilot.base.laws)), ())
    return pilot.session(Case(0, cell, 0, 0, changes))
