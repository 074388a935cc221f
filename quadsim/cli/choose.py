"""`quadsim choose`: parts of a catalogue that win a contest within a budget."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from quadsim.cli.options import Json
from quadsim.cli.out import INTERRUPTED, print_json, say, tell
from quadsim.errors import InputError, Problem

if TYPE_CHECKING:
    from quadsim.parts.confirm import Confirmation
    from quadsim.parts.search import Found, Market

STEP = 50.0
"""More or less money that the answer also looks at [EUR]."""


Budget = Annotated[
    float | None,
    typer.Option(
        min=10.0, max=1e5, help="What may be spent in all [EUR]; the contest's.", show_default=False
    ),
]
Rules = Annotated[
    str, typer.Option(help="Path of a contest file, or the name of a shipped one.", metavar="CONTEST")
]
Spares = Annotated[
    int | None,
    typer.Option(
        min=0,
        max=20,
        help="Packets of propellers beyond the first, of each kind; the contest's.",
        show_default=False,
    ),
]
Reserve = Annotated[
    float | None,
    typer.Option(
        min=0.0, max=100.0, help="Reserve for crashes, of what flies [%]; the contest's.", show_default=False
    ),
]
Have = Annotated[
    list[str] | None,
    typer.Option(help="What lies at home: battery=NAME, charger ... Repeat it for more.", metavar="WHAT"),
]
Tuned = Annotated[
    bool,
    typer.Option(
        "--tuned",
        help="Fly slalom and dash also with gains tuned for the craft, and keep the better; about twice the time. With --flown.",
    ),
]
Out = Annotated[
    Path | None,
    typer.Option(help="Folder for the winner's craft files, one for each event.", metavar="FOLDER"),
]


def command(
    catalogue: Annotated[
        str,
        typer.Argument(help="Path of a parts catalogue, or the name of a shipped one.", metavar="CATALOGUE"),
    ],
    budget: Budget = None,
    contest: Rules = "three_events",
    spares: Spares = None,
    reserve: Reserve = None,
    have: Have = None,
    flown: Annotated[
        bool,
        typer.Option(
            "--flown", help="Fly the first of the front, and the best of each event, in the whole simulation."
        ),
    ] = False,
    tuned: Tuned = False,
    out: Out = None,
    json_: Json = False,
) -> None:
    """Find the parts that win within a budget: frame, motors, ESCs, controller and receiver shared, propeller and pack per event.

    Every craft that fits is worked out by equilibrium: top speed, load, and the lap of a point mass. What comes out is a
    proposal to be confirmed by `quadsim inspect` and in flight (--flown), before money is spent. Flights are kept: stopped by
    Ctrl-C, the same command goes on where it was.

    Exit status: 0 found, 1 nothing fits within the budget, or a flight is not as estimated (--flown), 2 bad input, 130 stopped.
    """
    _check_tuned(tuned, flown)
    from quadsim.config.contest_schema import load_contest
    from quadsim.config.parts_loader import load_catalogue

    listed, rules = load_catalogue(catalogue), load_contest(contest)
    from quadsim.parts.bill import Terms, at_home

    spare = rules.budget.spare_sets if spares is None else spares
    kept_back = float(rules.budget.reserve_pct) if reserve is None else reserve
    terms = Terms(spare, kept_back / 100.0, at_home(have or [], listed))
    limit = float(rules.budget.limit) if budget is None else budget
    from quadsim.parts.search import market

    here = market(listed, rules, terms)
    found = _search(here, limit)
    confirmed = _fly(here, found, tuned) if flown and found.front else None
    from quadsim.cli.choose_text import choice_document, print_found
    from quadsim.cli.confirm_text import confirmation_document, print_confirmation

    stopped = confirmed is not None and confirmed.stopped
    files = _write(here, found, confirmed, out) if out and found.front and not stopped else []
    if json_:
        more = {"flown": confirmation_document(confirmed)} if confirmed else {}
        print_json(choice_document(here, found, STEP) | more | {"files": files})
    else:
        print_found(here, found, STEP)
        if confirmed:
            print_confirmation(confirmed)
        for file in files:
            say(f"craft file {file}; next: quadsim inspect {file}")
    if confirmed:
        _tell_of_flights(confirmed, out)
    good = found.front and (confirmed is None or confirmed.agrees)
    raise typer.Exit(INTERRUPTED if stopped else 0 if good else 1)


def _check_tuned(tuned: bool, flown: bool) -> None:
    if tuned and not flown:
        raise InputError(
            [
                Problem(
                    "--tuned",
                    "stands without --flown",
                    "only flights tell which gains are better",
                    "Add --flown",
                )
            ]
        )


def _tell_of_flights(confirmed: Confirmation, out: Path | None) -> None:
    """On stderr: what was kept from before, what is damaged, and that it was stopped."""
    for note in confirmed.notes:
        tell(f"quadsim: {note}")
    if confirmed.kept:
        tell(f"quadsim: {confirmed.kept} of {confirmed.jobs} flown events kept from before")
    if confirmed.stopped:
        unwritten = "; no craft file was written" if out else ""
        done = f"{confirmed.flown} of {confirmed.jobs} events flown and kept"
        tell(f"quadsim: stopped; {done}, the same command goes on from there{unwritten}")


def _fly(here: Market, found: Found, tuned: bool) -> Confirmation:
    from quadsim.cli.kernels import prepare_kernels
    from quadsim.cli.progress import CountProgress

    prepare_kernels()
    from quadsim.parts.confirm import confirm

    with CountProgress(100, "% flown") as progress:
        return confirm(here, found, progress, tuned)


def _search(here: Market, limit: float) -> Found:
    from quadsim.cli.progress import CountProgress
    from quadsim.parts.search import search

    with CountProgress(100, "% worked out") as progress:
        return search(here, limit, STEP, progress)


def _write(here: Market, found: Found, confirmed: Confirmation | None, folder: Path) -> list[Path]:
    """The winner's craft, one file for each event: the first by what was flown, with the gains that it was flown with."""
    from quadsim.cli.places import writable
    from quadsim.parts.build import craft_text
    from quadsim.parts.choice import EVENTS
    from quadsim.whole_file import whole_file

    first = confirmed.first[0] if confirmed else None
    choice, files = (first.ranked if first else found.front[0]).choice, []
    name = re.sub(r"\W+", "_", choice.shared.frame.name.casefold()).strip("_")
    for event in EVENTS:
        file = writable(folder / f"{name}_{event}.toml", "Name another folder with --out")
        gains = first.flown[event].gains if first else {}
        text = craft_text(choice.shared, choice.of(event), event, here.catalogue, here.contest, gains)
        with whole_file(file) as part:
            part.write_text(text, encoding="utf-8")
        files.append(file)
    return files
