"""`quadsim sweep`: a flight over and over with something varied, on all cores, and what matters."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from quadsim.cli import sweep_options as options
from quadsim.cli.options import Json
from quadsim.cli.out import INTERRUPTED, counted, print_json, say, tell

if TYPE_CHECKING:
    from quadsim.sweep.outcome import Outcome
    from quadsim.sweep.sweep import Sweep


def command(
    flight: options.Flight,
    vary: options.Vary = None,
    scatter: options.Scatter = 0,
    seeds: options.Seeds = 1,
    seed: options.FirstSeed = None,
    craft: options.Crafts = "",
    law: options.Laws = "",
    metrics: options.Metrics = "",
    jobs: options.Jobs = None,
    fresh: options.Fresh = False,
    case: options.CaseNumber = None,
    out: options.Out = None,
    plot: options.Plot = False,
    picture: options.Picture = None,
    json_: Json = False,
) -> None:
    """Fly a flight again and again with keys of its files varied, and say what passes, how surely, and what matters most.

    Only the named keys change: a pack of more capacity weighs the same, unless battery.mass_g is varied beside it.
    Flights are kept: the same command goes on after Ctrl-C, and a wider one flies only what is new.

    Exit status: 0 all was flown, 2 bad input, 130 stopped.
    """
    from quadsim.cli.kernels import prepare_kernels
    from quadsim.cli.places import picture_place, writable
    from quadsim.sweep.sweep import of_number, prepare
    from quadsim.sweep.wanted import Wanted

    drawn_in = picture_place(flight, picture, "_sweep", "--picture") if plot or picture else None
    table = writable(out, "Name another file with --out") if out else None
    wanted = Wanted(flight, vary or (), scatter, seeds, seed, _listed(craft), _listed(law), _listed(metrics))
    prepare_kernels()
    sweep = prepare(wanted)
    for warning in sweep.warnings:
        tell(f"quadsim: {warning}")
    asked_for = of_number(sweep, case) if case is not None else None
    outcome, stopped = _fly(sweep, jobs, fresh)
    _report(outcome, asked_for.number if asked_for else None, table, drawn_in, json_)
    if stopped:
        tell(f"quadsim: stopped; {counted(outcome.left, 'flight')} left. The same command goes on from here")
    raise typer.Exit(INTERRUPTED if stopped else 0)


def _listed(text: str) -> list[str]:
    return [one.strip() for one in text.split(",") if one.strip()]


def _fly(sweep: Sweep, jobs: int | None, fresh: bool) -> tuple[Outcome, bool]:
    """What came of it, and whether it was stopped; without any flight KeyboardInterrupt goes on."""
    from quadsim.cli.progress import CountProgress
    from quadsim.sweep.crew import jobs_here
    from quadsim.sweep.kept import KeptFlights
    from quadsim.sweep.outcome import outcome
    from quadsim.sweep.sweep import fly, known_and_missing

    kept = KeptFlights(sweep.base, anew=fresh)
    flown, missing = known_and_missing(sweep, kept)
    if flown:
        tell(
            f"quadsim: {counted(len(flown), 'flight')} of {len(sweep.cases)} known from before (--fresh flies them again)"
        )
    if kept.damaged:
        tell(f"quadsim: {counted(kept.damaged, 'line')} of {kept.file} made no sense, flown again")
    stopped, before = False, len(flown)
    with CountProgress(len(missing), "flights") as progress:
        try:
            with closing(fly(sweep, missing, kept, jobs or jobs_here())) as flights:  # type: ignore[type-var]
                for one in flights:
                    flown.append(one)
                    progress(len(flown) - before, sweep.flight.name)
        except KeyboardInterrupt:
            stopped = True
    if stopped and not flown:
        raise KeyboardInterrupt
    came = outcome(sweep, flown)
    _refuse_if_all_are(came)
    return came, stopped


def _refuse_if_all_are(outcome: Outcome) -> None:
    """When no combination could be flown, the first one's words say what to mend."""
    if outcome.judged or not outcome.refused:
        return
    from quadsim.errors import InputError, Problem

    first, count = outcome.refused[0], len(outcome.refused)
    given = f"none of {count} combinations can be flown. The first one: {first.words}"
    raise InputError([Problem("", given)])


def _report(
    outcome: Outcome, case: int | None, table: Path | None, picture: Path | None, json_: bool
) -> None:
    """Print, then write what is asked for: a folder that cannot be written costs no answer."""
    from quadsim.sweep.again import command as again

    worst = outcome.worst
    numbers = dict.fromkeys(([worst.flown.number] if worst else []) + ([case] if case else []))
    commands = {number: again(outcome.sweep, outcome.case(number)) for number in numbers}
    if json_:
        from quadsim.cli.sweep_document import document

        written = {what: place for what, place in (("table", table), ("figure", picture)) if place}
        print_json(document(outcome, commands) | written)
    else:
        from quadsim.cli.sweep_text import print_sweep

        print_sweep(outcome, commands)
    for words, place in _written(outcome, commands, table, picture):
        if not json_:
            say(f"{words} {place}")


def _written(
    outcome: Outcome, numbers: Iterable[int], table: Path | None, picture: Path | None
) -> Iterator[tuple[str, Path]]:
    """Write files of the flights that are flown again by command, the table, the picture; yields what is where."""
    from quadsim.sweep.again import write_files

    for number in numbers:
        write_files(outcome.sweep, outcome.case(number))
    if table:
        from quadsim.sweep.csv_table import write_csv

        write_csv(outcome, table)
        yield "every flight in", table
    if picture:
        from quadsim.report.sweep_sheet import draw_sweep

        draw_sweep(outcome, picture)
        yield "drawn in", picture
