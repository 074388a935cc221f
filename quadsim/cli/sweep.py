"""`quadsim sweep`: a flight over and over with something varied, on all cores, and what matters."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from quadsim.cli.options import Json
from quadsim.cli.out import INTERRUPTED, counted, print_json, say, tell

if TYPE_CHECKING:
    from quadsim.sweep.outcome import Outcome
    from quadsim.sweep.sweep import Sweep


def command(
    flight: Annotated[
        str, typer.Argument(help="Path of a flight file, or the name of a shipped flight.", metavar="FLIGHT")
    ],
    vary: Annotated[
        list[str] | None,
        typer.Option(
            help="A key of the craft or the flight: KEY=LOW:HIGH:COUNT, KEY=A,B,C; with --scatter also KEY=VALUE~SIGMA "
            "(normal) and KEY=LOW..HIGH (even). May be repeated: every combination is flown.",
            metavar="KEY=...",
        ),
    ] = None,
    scatter: Annotated[
        int,
        typer.Option(
            min=0, help="Draw so many times all numbers that carry an uncertainty, and the seed.", metavar="N"
        ),
    ] = 0,
    seeds: Annotated[
        int, typer.Option(min=1, help="Fly each combination with so many seeds.", metavar="N")
    ] = 1,
    seed: Annotated[
        int | None, typer.Option(min=0, help="The first seed, and that of the draws [default: the flight's].")
    ] = None,
    craft: Annotated[
        str,
        typer.Option(
            help="Crafts instead of the flight's, paths or names.", metavar="A,B", show_default=False
        ),
    ] = "",
    law: Annotated[
        str,
        typer.Option(
            help="Control laws: own (the craft's), stock ones, FILE.py:FUNCTION.",
            metavar="A,B",
            show_default=False,
        ),
    ] = "",
    metrics: Annotated[
        str,
        typer.Option(help="Metrics to show; what the flight expects.", metavar="A,B", show_default=False),
    ] = "",
    jobs: Annotated[
        int | None,
        typer.Option(min=1, max=256, help="Processes that fly [default: one a core].", metavar="N"),
    ] = None,
    fresh: Annotated[bool, typer.Option("--fresh", help="Fly again what is kept from before.")] = False,
    case: Annotated[
        int | None,
        typer.Option("--case", help="Say how to fly this flight again, besides the worst.", metavar="NUMBER"),
    ] = None,
    out: Annotated[
        Path | None, typer.Option(help="Every flight as a row of a CSV file.", metavar="FILE.csv")
    ] = None,
    plot: Annotated[bool, typer.Option("--plot", help="Draw it: FLIGHT_sweep.png, or --picture.")] = False,
    picture: Annotated[
        Path | None,
        typer.Option(help="Picture to draw: .png, .pdf or .svg.", metavar="FILE", show_default=False),
    ] = None,
    json_: Json = False,
) -> None:
    """Fly a flight again and again with keys of its files varied, and say what passes, how surely, and what matters most.

    Flights are kept: the same command goes on after Ctrl-C, and a wider one flies only what is new.

    Exit status: 0 all was flown, 2 bad input, 130 stopped.
    """
    from quadsim.cli.kernels import prepare_kernels
    from quadsim.cli.places import picture_place, writable
    from quadsim.sweep.sweep import Wanted, of_number, prepare

    drawn_in = picture_place(flight, picture, "_sweep") if plot or picture else None
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
    """Print, and write what is asked for."""
    from quadsim.sweep.again import command as again
    from quadsim.sweep.again import write_files

    worst = outcome.worst
    numbers = dict.fromkeys(([worst.flown.number] if worst else []) + ([case] if case else []))
    commands = {}
    for number in numbers:
        write_files(outcome.sweep, outcome.case(number))
        commands[number] = again(outcome.sweep, outcome.case(number))
    written = {}
    if table:
        from quadsim.sweep.csv_table import write_csv

        write_csv(outcome, table)
        written["table"] = table
    if picture:
        from quadsim.report.sweep_sheet import draw_sweep

        draw_sweep(outcome, picture)
        written["figure"] = picture
    if json_:
        from quadsim.cli.sweep_document import document

        print_json(document(outcome, commands) | written)
        return
    from quadsim.cli.sweep_text import print_sweep

    print_sweep(outcome, commands)
    for what, place in written.items():
        say(f"{'every flight' if what == 'table' else 'drawn'} in {place}")
