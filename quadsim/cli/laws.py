"""`quadsim laws`: control laws compared on the same flights of a craft, the stock ones and your own."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from quadsim.cli.options import Json
from quadsim.cli.out import print_json, say, status_of, tell
from quadsim.cli.places import picture_place

if TYPE_CHECKING:
    from quadsim.analysis.law_comparison import Law, LawCost, LawFlight
    from quadsim.config import Craft
    from quadsim.config.flight_schema import FlightFile
    from quadsim.simulation.session import Session


def command(
    craft: Annotated[
        str, typer.Argument(help="Path of a craft file, or the name of a shipped craft.", metavar="CRAFT")
    ],
    own: Annotated[
        list[str] | None,
        typer.Option(
            "--with", help="A law of your own besides; may be repeated.", metavar="FILE.py:FUNCTION"
        ),
    ] = None,
    slot: Annotated[
        str, typer.Option(help="Slot of your laws: attitude, rate, or another.", metavar="SLOT")
    ] = "rate",
    law: Annotated[
        list[str] | None, typer.Option(help="Only this stock law; may be repeated.", metavar="NAME")
    ] = None,
    flight: Annotated[
        list[str] | None,
        typer.Option(
            help="A flight (path or name) instead of the four that are flown; may be repeated.",
            metavar="FLIGHT",
        ),
    ] = None,
    seed: Annotated[int | None, typer.Option(min=0, help="Seed instead of the flights'.")] = None,
    plot: Annotated[bool, typer.Option("--plot", help="Draw errors over time and the figures.")] = False,
    out: Annotated[
        Path | None,
        typer.Option(help="Picture to draw: .png, .pdf or .svg [default: CRAFT_laws.png].", metavar="FILE"),
    ] = None,
    json_: Json = False,
) -> None:
    """Fly the same flights with one control law after the other and compare error, effort, noise and cost.

    A gust, a stick doublet, a load picked up and dropped, a lost rotor. Ctrl-C keeps what has been flown.

    Exit status: 0 everything was flown, 2 bad input, 130 stopped.
    """
    from quadsim.analysis.law_flights import law_flights
    from quadsim.cli.kernels import prepare_kernels
    from quadsim.config import load_craft

    picture = picture_place(craft, out, "_laws") if plot or out else None
    checked = load_craft(craft)
    flights = law_flights(checked, flight or ())
    prepare_kernels()
    laws = _laws(law or [], own or [], slot)
    costs, flown = _fly(checked, laws, flights, seed)
    stopped = len(flown) < len(laws) * len(flights)
    if picture:
        from quadsim.report.law_sheet import draw_laws

        draw_laws(checked.name, costs, flown, picture)
    if json_:
        print_json(_document(checked, costs, flown, stopped) | ({"figure": picture} if picture else {}))
    else:
        from quadsim.cli.laws_text import print_laws

        print_laws(checked.name, costs, flown)
        if picture:
            say(f"drawn in {picture}")
    if stopped:
        tell(f"quadsim: stopped; {len(flown)} of {len(laws) * len(flights)} flights were flown")
    raise typer.Exit(status_of(True, stopped))


def _laws(names: list[str], own: list[str], slot: str) -> list[Law]:
    """The stock laws asked for, then the user's."""
    from quadsim.analysis.law_comparison import chosen_laws, own_law

    laws = chosen_laws(names)
    for spec in own:
        laws.append(own_law(spec, slot, [one.name for one in laws]))
    return laws


def _fly(
    craft: Craft, laws: list[Law], flights: list[FlightFile], seed: int | None
) -> tuple[list[LawCost], list[LawFlight]]:
    """What was flown; a flight that Ctrl-C ends does not count, and without any whole one KeyboardInterrupt goes on."""
    from quadsim.analysis.law_comparison import LawCost, compare
    from quadsim.cli.progress import FlightsProgress

    costs: list[LawCost] = []
    flown: list[LawFlight] = []
    with FlightsProgress(len(laws) * len(flights)) as progress:

        def look(law: Law, session: Session) -> None:
            progress(f"{session.flight.name} with {law.name}", session)

        try:
            for one in compare(craft, laws, flights, seed=seed, progress=look):
                if isinstance(one, LawCost):
                    costs.append(one)
                else:
                    flown.append(one)
                    progress.done = len(flown)
        except KeyboardInterrupt:
            if not flown:
                raise
    return costs, flown


def _document(craft: Craft, costs: list[LawCost], flown: list[LawFlight], stopped: bool) -> dict[str, Any]:
    """What `--json` prints."""
    return {
        "craft": craft.name,
        "stopped": stopped,
        "laws": [
            {
                "law": cost.law, "blocks": cost.blocks, "cost_ns_per_step": cost.total_ns,
                "block_ns_per_step": cost.ns_per_step, "notes": cost.notes,
            }
            for cost in costs
        ],
        "flights": [
            {
                "flight": one.flight, "title": one.title, "law": one.law, "status": one.status,
                "status_text": one.status_text, "metrics": one.figures,
            }
            for one in flown
        ],
    }  # fmt: skip
