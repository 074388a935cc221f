"""What is asked of a sweep, and what can be seen to be wrong with it before anything is built."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from quadsim.config import Craft
from quadsim.config.flight_schema import FlightFile
from quadsim.config.metric_names import METRIC_NAMES
from quadsim.errors import InputError, Problem
from quadsim.sweep.axes import Axis, Drawn, read_vary
from quadsim.sweep.base import Asked
from quadsim.sweep.cases import check_count
from quadsim.sweep.keys import OPTION
from quadsim.sweep.laws import OWN_LAW

ORDINARY = ("max_tilt_deg", "max_battery_A", "min_cell_V", "used_mAh")
"""Metrics that are shown of a flight that expects nothing, when none is asked for."""


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


def varied_keys(wanted: Wanted, craft: Craft, flight: FlightFile) -> list[Axis | Drawn]:
    """The keys of --vary: each once, drawn ones only in a scatter, gains only of the law they are for.

    Raises
    ------
    InputError
        that lists what is wrong.
    """
    varied = [read_vary(text, craft, flight) for text in wanted.vary]
    problems = [*_twice(varied), *_gains_of_another(wanted, varied)]
    if not wanted.scatter:
        remedy = "Add --scatter 200, or state values"
        problems += [
            Problem(f"{OPTION} {one.key.name}", "is drawn at random", "needs --scatter N", remedy)
            for one in varied
            if isinstance(one, Drawn)
        ]
    if problems:
        raise InputError(problems)
    return varied


def names_of(varied: Sequence[Axis | Drawn]) -> list[str]:
    """Names of all keys that are varied."""
    return [key.name for one in varied for key in (one.keys if isinstance(one, Axis) else (one.key,))]


def _twice(varied: Sequence[Axis | Drawn]) -> Iterator[Problem]:
    names = names_of(varied)
    for name in dict.fromkeys(names):
        if names.count(name) > 1:
            yield Problem(f"{OPTION} {name}", "is varied twice", "each key once")


def _gains_of_another(wanted: Wanted, varied: Sequence[Axis | Drawn]) -> Iterator[Problem]:
    """A craft's gains are for its own blocks: another law flies with its defaults."""
    others = [name for name in wanted.laws if name != OWN_LAW]
    for name in names_of(varied) if others else ():
        if name.startswith("gains."):
            given, remedy = (
                f"with --law {','.join(others)}",
                "State the law in the craft's [controllers], leave --law out",
            )
            yield Problem(f"{OPTION} {name}", given, "another law does not read the craft's gains", remedy)


def check_size(wanted: Wanted, cells: int, crafts: int) -> None:
    """Refuse a sweep of one flight, one that would never end, and options that do not go together; raises InputError."""
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
    if wanted.scatter == 1:
        raise InputError(
            [Problem("--scatter", "is 1", "at least 2 draws", "One flight as it is: quadsim fly")]
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


def shown_figures(metrics: Sequence[str], flight: FlightFile) -> list[Asked]:
    """The figures that are shown: those asked for, else those expected, else ORDINARY; InputError for an unknown name."""
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
