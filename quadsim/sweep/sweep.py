"""A sweep from the command's words to its flights: read, checked, put in order, flown, kept."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from quadsim.config import Craft, load_craft
from quadsim.config.flight_loader import load_flight
from quadsim.config.flight_schema import FlightFile
from quadsim.config.metric_names import METRIC_NAMES
from quadsim.errors import InputError, Problem
from quadsim.simulation.fly import craft_beside
from quadsim.simulation.session import Session
from quadsim.sweep.axes import Axis, Drawn, read_vary
from quadsim.sweep.base import Asked, Base, data_of
from quadsim.sweep.cases import Case, Cell, all_cases, check_count, combinations, grid
from quadsim.sweep.crew import fly_cases
from quadsim.sweep.draws import felt, uncertain_keys, values
from quadsim.sweep.kept import KeptFlights
from quadsim.sweep.laws import read_laws
from quadsim.sweep.pilot import Flown, Pilot

ORDINARY = ("max_tilt_deg", "max_battery_A", "min_cell_V", "used_mAh")
"""Metrics that are shown of a flight that expects nothing, when none is asked for."""
ALWAYS = "end_s"
"""Asked for in any case: how early a flight ended says how bad it was."""


@dataclass(frozen=True)
class Wanted:
    """What is asked for, as on the command line. seed None : the flight's"""

    flight: str
    vary: Sequence[str] = ()
    scatter: int = 0
    seeds: int = 1
    seed: int | None = None
    crafts: Sequence[str] = ()
    laws: Sequence[str] = ()
    metrics: Sequence[str] = ()


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
    varied = _varied(wanted, first, flight)
    axes = tuple(one for one in varied if isinstance(one, Axis))
    laws = read_laws(wanted.laws)
    _check_size(wanted, combinations(axes, len(names), len(laws)), len(names))
    shown = _shown(wanted.metrics, flight)
    asked = dict.fromkeys([*shown, *map(Asked.by, flight.expect), Asked(ALWAYS)])
    data = {name: data_of(craft.source_text) for name, craft in crafts.items()}
    assert flight.path is not None
    base = Base(data, data_of(flight.source_text), flight.path, laws, tuple(asked))
    warnings = _tried(base)
    drawn, unfelt = _drawn(wanted, varied, first, flight, base)
    cells = grid(names, list(laws), axes)
    seed = flight.seed if wanted.seed is None else wanted.seed
    draws = values(drawn, max(wanted.scatter, 1), seed) if wanted.scatter else np.empty((1, 0))
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


def _varied(wanted: Wanted, craft: Craft, flight: FlightFile) -> list[Axis | Drawn]:
    """The keys of --vary; each once, and drawn ones only in a scatter."""
    varied = [read_vary(text, craft, flight) for text in wanted.vary]
    names = [one.key.name for one in varied]
    problems = [
        Problem(f"--vary {name}", "is varied twice", "each key once")
        for name in {n for n in names if names.count(n) > 1}
    ]
    if not wanted.scatter:
        problems += [
            Problem(
                f"--vary {one.key.name}",
                "is drawn at random",
                "needs --scatter N",
                "Add --scatter 200, or state values",
            )
            for one in varied
            if isinstance(one, Drawn)
        ]
    if problems:
        raise InputError(problems)
    return varied


def _check_size(wanted: Wanted, cells: int, crafts: int) -> None:
    if wanted.scatter and crafts > 1:
        raise InputError(
            [
                Problem(
                    "--scatter",
                    f"with {crafts} crafts",
                    "one craft at a time",
                    "Each has uncertainties of its own",
                )
            ]
        )
    if wanted.scatter and wanted.seeds > 1:
        given = f"with --seeds {wanted.seeds}"
        raise InputError(
            [Problem("--scatter", given, "draws a seed for each flight anyway", "Leave --seeds out")]
        )
    check_count(cells, wanted.scatter or wanted.seeds)
    if cells * (wanted.scatter or wanted.seeds) == 1:
        remedy = "Add --vary KEY=A,B,C, --scatter N, --seeds N, --craft A,B or --law A,B; one flight is quadsim fly"
        raise InputError([Problem("", "nothing is varied", "", remedy)])


def _shown(metrics: Sequence[str], flight: FlightFile) -> list[Asked]:
    """The figures that are shown: those asked for, else those expected, else ORDINARY."""
    problems = []
    for name in metrics:
        if name not in METRIC_NAMES:
            near = difflib.get_close_matches(name, METRIC_NAMES, 3, 0.4)
            remedy = f"Nearest: {', '.join(near)}" if near else "All metrics: scenarios/flights/README.md"
            problems.append(Problem("--metrics", f"is {name!r}", "must be the name of a metric", remedy))
    if problems:
        raise InputError(problems)
    expected = list(dict.fromkeys(map(Asked.by, flight.expect)))
    return [Asked(name) for name in dict.fromkeys(metrics)] or expected or [Asked(name) for name in ORDINARY]


def _tried(base: Base) -> tuple[str, ...]:
    """Build every craft with every law once, as the files are, so that what is wrong with all flights is said before any."""
    warnings: list[str] = []
    pilot = Pilot(base)
    for craft in base.crafts:
        for law in base.laws:
            session = pilot.session(Case(0, Cell(0, craft, law, ()), 0, 0, ()))
            session.advance(1)
            warnings += session.warnings
    return tuple(dict.fromkeys(warnings))


def _drawn(
    wanted: Wanted, varied: Sequence[Axis | Drawn], craft: Craft, flight: FlightFile, base: Base
) -> tuple[tuple[Drawn, ...], tuple[Drawn, ...]]:  # fmt: skip
    """What a scatter draws, and what it leaves out because no flight feels it."""
    if not wanted.scatter:
        return (), ()
    own = [one for one in varied if isinstance(one, Drawn)]
    taken = {one.key.name for one in varied}
    files = [one for one in uncertain_keys(craft, flight) if one.key.name not in taken]
    pilot = Pilot(base)
    cell = Cell(0, next(iter(base.crafts)), next(iter(base.laws)), ())

    def session(one: Drawn | None, value: float | None) -> Session:
        return pilot.session(Case(0, cell, 0, 0, () if one is None else ((one.key, value),)))

    used, unfelt = felt(files, session)
    return (*own, *used), tuple(unfelt)


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
