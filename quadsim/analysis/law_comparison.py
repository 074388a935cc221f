"""Control laws compared: the same flights, the same craft, one law after the other, and the figures that tell them apart."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

import numpy as np

from controllers.check import cost_ns, written_signals
from controllers.contract import SLOTS
from controllers.registry import DEFAULTS, STOCK, load_block
from quadsim.config import Craft
from quadsim.config.flight_schema import FlightFile
from quadsim.errors import InputError, Problem
from quadsim.simulation.carried import Status
from quadsim.simulation.control_metrics import tilt_errors
from quadsim.simulation.fly import finish, start
from quadsim.simulation.session import Session, fly_through
from quadsim.units import DEG

STANDARD = "cascaded"
"""Name of the law that flies by default: attitude to rates to angular acceleration, each in its slot."""
PASS_THROUGH = "hold"
"""Name of the blocks that stand in a slot which another law makes idle."""
SHOWN_ROWS = 1500
"""Rows of a flight that are kept for drawing, about."""
TIMINGS = 3
"""How often a block is timed; the least counts, since whatever else the machine does only adds."""


@dataclass(frozen=True)
class Law:
    """A control law: the blocks in which it differs from the default ones."""

    name: str
    blocks: dict[str, str] = field(default_factory=dict)
    note: str = ""


@dataclass(frozen=True)
class LawFlight:
    """One flight with one law. `figures` are metrics of the run; `tilt_error_deg` runs over `t_s`."""

    flight: str
    title: str
    law: str
    status: str
    status_text: str
    figures: dict[str, float]
    t_s: np.ndarray
    tilt_error_deg: np.ndarray


@dataclass(frozen=True)
class LawCost:
    """What a law costs: time of each of its blocks [ns] per step of the physics, and what there is to say about it."""

    law: str
    blocks: dict[str, str]
    ns_per_step: dict[str, float]
    notes: tuple[str, ...]

    @property
    def total_ns(self) -> float:
        """The whole chain [ns] per step of the physics."""
        return sum(self.ns_per_step.values())


def stock_laws() -> list[Law]:
    """The default law, then every stock law that stands in its place: the blocks for slot `rate`."""
    others = [name for slot, name in STOCK if slot == "rate" and name not in (DEFAULTS["rate"], PASS_THROUGH)]
    return [Law(STANDARD, {slot: DEFAULTS[slot] for slot in ("attitude", "rate")})] + [
        Law(name, {"attitude": DEFAULTS["attitude"], "rate": name}) for name in others
    ]


def chosen_laws(names: Sequence[str]) -> list[Law]:
    """The stock laws with these names; all of them when none is named.

    Raises
    ------
    InputError
        for a name that is none of theirs.
    """
    known = {law.name: law for law in stock_laws()}
    unknown = [name for name in names if name not in known]
    if unknown:
        raise InputError(
            [Problem("--law", f"is {name!r}", f"must be one of {', '.join(known)}") for name in unknown]
        )
    return [known[name] for name in dict.fromkeys(names)] if names else list(known.values())


def own_law(spec: str, slot: str, taken: Sequence[str] = ()) -> Law:
    """A law from the user's file, in its slot among the default blocks.

    One for slot `attitude` that asks for angular acceleration by itself is followed by the rate block `hold`.

    Raises
    ------
    BlockError
        when the file, the function or the slot is not what it should be.
    """
    block = load_block(spec, slot).block
    blocks = {"attitude": DEFAULTS["attitude"], "rate": DEFAULTS["rate"], slot: spec}
    note = ""
    if slot == "attitude" and "angular_acceleration_wanted" in written_signals(block):
        blocks["rate"] = PASS_THROUGH
        note = f"asks for angular acceleration by itself: the rate block is {PASS_THROUGH}"
    name = block.name if block.name not in taken else Path(spec).name
    return Law(name, blocks, note)


def law_cost(session: Session, law: Law, known: dict[Callable, float]) -> LawCost:
    """Cost of a session's chain, each block timed alone in a loop and counted as often as it runs.

    Blocks that laws share are timed once, into `known`: laws then differ by their own blocks and not by the moment.
    """
    spent: dict[str, float] = {}
    for slot, block, every in zip(SLOTS, session.blocks, session.rates.every, strict=True):
        if block.function not in known:
            known[block.function] = min(cost_ns(block) for _ in range(TIMINGS))
        spent[slot] = known[block.function] / int(every)
    notes = ([law.note] if law.note else []) + session.warnings
    names = {slot: block.name for slot, block in zip(SLOTS, session.blocks, strict=True)}
    return LawCost(law.name, names, spent, tuple(notes))


def compare(
    craft: Craft,
    laws: Sequence[Law],
    flights: Sequence[FlightFile],
    *,
    seed: int | None = None,
    progress: Callable[[Law, Session], None] | None = None,
) -> Iterator[LawFlight | LawCost]:
    """Fly every flight with every law; yields a law's cost before its first flight, then each flight as it ends.

    A flight stopped by Ctrl-C is not yielded: KeyboardInterrupt ends the comparison, what was yielded before is whole.
    """
    known: dict[Callable, float] = {}
    for number, flight in enumerate(flights):
        for law in laws:
            session = start(flight, craft=craft, seed=seed, blocks=law.blocks)
            if number == 0:
                yield law_cost(session, law, known)
            watched = None if progress is None else partial(progress, law)
            wall_s = fly_through(session, watched)
            if int(session.carried.status) == Status.STOPPED:
                raise KeyboardInterrupt
            yield _judged(session, wall_s, law)


def _judged(session: Session, wall_s: float, law: Law) -> LawFlight:
    run = finish(session, wall_s)
    every = max(1, len(run) // SHOWN_ROWS)
    rows = np.zeros(len(run), bool)
    rows[::every] = True
    return LawFlight(
        run.flight,
        run.meta["title"],
        law.name,
        run.status,
        run.status_text,
        run.metrics,
        run.t_s[rows],
        tilt_errors(run, rows) / DEG,
    )
