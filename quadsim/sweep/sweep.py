"""A sweep from the command's words to its flights: read, checked, put in order, flown, kept."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from quadsim.config import load_craft
from quadsim.config.flight_loader import load_flight
from quadsim.config.flight_schema import FlightFile
from quadsim.errors import InputError, Problem
from quadsim.simulation.fly import craft_beside
from quadsim.sweep.axes import Axis, Drawn
from quadsim.sweep.base import Asked, Base, data_of
from quadsim.sweep.cases import Case, Cell, all_cases, combinations, grid
from quadsim.sweep.crew import fly_cases
from quadsim.sweep.draws import values
from quadsim.sweep.kept import KeptFlights
from quadsim.sweep.laws import read_laws
from quadsim.sweep.pilot import Flown
from quadsim.sweep.trials import drawn_keys, idle, own_merit, tried
from quadsim.sweep.wanted import Wanted, check_size, shown_figures, varied_keys

ALWAYS = "end_s"
"""Asked for in any case: how early a flight ended says how bad it was."""


@dataclass(frozen=True)
class Sweep:
    """Everything that is flown, in order. shown : labels of the figures that are shown; unfelt : uncertain keys that no
    record of a flight depends on; warnings : of the laws"""

    wanted: Wanted
    flight: FlightFile
    base: Base
    axes: tuple[Axis, ...]
    drawn: tuple[Drawn, ...]
    unfelt: tuple[Drawn, ...]
    cells: tuple[Cell, ...]
    cases: tuple[Case, ...]
    shown: tuple[str, ...]
    warnings: tuple[str, ...]


def prepare(wanted: Wanted) -> Sweep:
    """Read and check what is asked for; nothing is flown yet but one tick, which loads the kernels.

    Raises
    ------
    InputError
        for a file, key, value, law or metric that is wrong, before anything flies.
    """
    flight = load_flight(wanted.flight)
    names = tuple(dict.fromkeys(wanted.crafts)) or (craft_beside(flight),)
    crafts = {name: load_craft(name) for name in names}
    first = crafts[names[0]]
    varied = varied_keys(wanted, first, flight)
    axes = tuple(one for one in varied if isinstance(one, Axis))
    laws = read_laws(wanted.laws)
    check_size(wanted, combinations(axes, len(names), len(laws)), len(names))
    shown = shown_figures(wanted.metrics, flight)
    asked = dict.fromkeys([*shown, *map(Asked.by, flight.expect), Asked(ALWAYS)])
    data = {name: data_of(craft.source_text) for name, craft in crafts.items()}
    assert flight.path is not None
    base = Base(data, data_of(flight.source_text), flight.path, laws, tuple(asked))
    warnings = tried(base) + tuple(f"{name} makes no difference to any flight" for name in idle(axes, base))
    drawn, unfelt = drawn_keys(wanted, varied, first, flight, base)
    cells = grid(names, list(laws), axes)
    seed = flight.seed if wanted.seed is None else wanted.seed
    draws = values(drawn, wanted.scatter, seed, own_merit(base)) if wanted.scatter else np.empty((1, 0))
    cases = all_cases(cells, axes, drawn, draws, range(seed, seed + wanted.seeds))
    labels = tuple(one.label for one in shown)
    return Sweep(wanted, flight, base, axes, drawn, unfelt, tuple(cells), tuple(cases), labels, warnings)


def known_and_missing(sweep: Sweep, kept: KeptFlights) -> tuple[list[Flown], list[Case]]:
    """What is known of a sweep from before, and what has still to be flown."""
    looked_up = [(case, kept.look_up(case)) for case in sweep.cases]
    return [one for _, one in looked_up if one], [case for case, one in looked_up if one is None]


def fly(sweep: Sweep, missing: Sequence[Case], kept: KeptFlights, jobs: int) -> Iterator[Flown]:
    """Fly what is missing; yields each flight as it ends, in any order, once it is kept."""
    by_number = {case.number: case for case in missing}
    for flown in fly_cases(sweep.base, missing, jobs):
        kept.keep(by_number[flown.number], flown)
        yield flown


def of_number(sweep: Sweep, number: int) -> Case:
    """The flight with this number.

    Raises
    ------
    InputError
        when there is none.
    """
    if not 1 <= number <= len(sweep.cases):
        raise InputError([Problem("--case", f"is {number}", f"must be 1 to {len(sweep.cases)}")])
    return sweep.cases[number - 1]
