"""`quadsim card`: one page for the field, gains in four sets with what to look for."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from quadsim.cli.options import Json
from quadsim.cli.out import print_json, say
from quadsim.errors import InputError, Problem

if TYPE_CHECKING:
    from quadsim.analysis.gains_card import GainsCard
    from quadsim.config import Craft

PICTURES = (".pdf", ".png", ".svg")
TEXTS = (".html", ".toml", ".csv")


def command(
    craft: Annotated[
        str, typer.Argument(help="Path of a craft file, or the name of a shipped craft.", metavar="CRAFT")
    ],
    out: Annotated[
        list[Path] | None,
        typer.Option(
            help="Write the card: .pdf, .png, .svg or .html, one A4 page; .toml, the gains of one set; .csv, every number. "
            "May be repeated.",
            metavar="FILE",
        ),
    ] = None,
    gains: Annotated[
        Path | None,
        typer.Option(help="A file with [gains.*] to use in place of the craft's own.", metavar="FILE"),
    ] = None,
    percent: Annotated[
        float, typer.Option(help="Set that a .toml holds: 50, 70, 85 or 100 % of the gains.")
    ] = 100.0,
    payload_g: Annotated[
        float,
        typer.Option("--payload-g", min=0.0, max=20000.0, help="Look at the sets with this payload too [g]."),
    ] = 0.0,
    json_: Json = False,
) -> None:
    """Make the gains card of a craft: four sets of gains, how near each is to oscillation, what to look for, steps in the field.

    Exit status: 0 done, 1 no set is fit to begin with or one does not fly, 2 bad input.
    """
    places = [_checked(place) for place in out or []]
    share = _share(percent)
    from quadsim.cli.kernels import prepare_kernels
    from quadsim.config import load_craft
    from quadsim.config.gains_file import craft_with_gains

    loaded = load_craft(craft)
    loaded = craft_with_gains(loaded, gains) if gains is not None else loaded
    prepare_kernels()
    card = _make(loaded, payload_g / 1000.0)
    for place in places:
        _write(card, place, share)
    from quadsim.cli.card_text import card_document, print_card

    if json_:
        print_json(card_document(card) | {"files": places})
    else:
        print_card(card)
        for place in places:
            say(f"written to {place}")
    raise typer.Exit(0 if card.sound else 1)


def _share(percent: float) -> float:
    """The share of a set of the ladder, before any work is done."""
    from quadsim.analysis.gain_sets import SHARES

    for share in SHARES:
        if abs(100.0 * share - percent) < 0.5:
            return share
    allowed = ", ".join(f"{100.0 * share:.0f}" for share in SHARES)
    raise InputError([Problem("--percent", f"is {percent:g}", f"must be one of {allowed}")])


def _make(craft: Craft, payload: float) -> GainsCard:
    """The card, with a bar over its conditions."""
    from quadsim.analysis.gains_card import gains_card
    from quadsim.analysis.gains_ladder import conditions_of
    from quadsim.cli.progress import CountProgress

    wanted = conditions_of(payload)
    with CountProgress(len(wanted), "conditions") as bar:
        return gains_card(craft, payload, lambda done, _, words: bar(done, words), wanted)


def _checked(place: Path) -> Path:
    from quadsim.cli.places import writable

    if place.suffix.lower() not in PICTURES + TEXTS:
        given = f"{place.name!r} ends in {place.suffix or 'nothing'}"
        raise InputError([Problem("--out", given, f"must end in {', '.join(PICTURES + TEXTS)}")])
    return writable(place, "Name another file with --out")


def _write(card: GainsCard, place: Path, share: float) -> None:
    from quadsim.report.gains_card_files import csv_text, toml_text, write_text

    kind = place.suffix.lower()
    if kind in PICTURES:
        from quadsim.report.gains_card import draw_card

        draw_card(card, place)
    elif kind == ".html":
        from quadsim.report.gains_card_html import card_html

        write_text(card_html(card), place)
    else:
        rung = next(one for one in card.rungs if one.share == share)
        write_text(csv_text(card) if kind == ".csv" else toml_text(card, rung), place)
