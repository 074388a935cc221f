"""`quadsim hover`: minutes of hover to a stated end, with a payload if one is given."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from quadsim.cli.confirming import Confirmed, confirm
from quadsim.cli.options import (
    ElevationM,
    Json,
    PackTemperatureC,
    PressureHPa,
    Samples,
    Seed,
    TemperatureC,
    site_of,
)
from quadsim.cli.out import print_json, say, tell
from quadsim.cli.places import picture_place
from quadsim.cli.progress import FlightProgress

if TYPE_CHECKING:
    from collections.abc import Iterator

    from quadsim.config import Craft
    from quadsim.contest.hover_flight import FlownHover
    from quadsim.contest.hover_prediction import HoverPrediction
    from quadsim.environment.atmosphere import Site

PayloadG = Annotated[
    float, typer.Option("--payload-g", min=0.0, max=20000.0, help="Fixed payload below the frame [g].")
]
UsedPct = Annotated[
    float | None,
    typer.Option(
        "--used-pct",
        min=5.0,
        max=100.0,
        help="Capacity that may be used [%]; what the craft's reserve leaves, 80.",
        show_default=False,
    ),
]
CellV = Annotated[
    float | None,
    typer.Option(
        "--cell-V",
        min=2.5,
        max=4.0,
        help="Loaded voltage of a cell that ends it [V]; 3.5.",
        show_default=False,
    ),
]


def command(
    craft: Annotated[
        str, typer.Argument(help="Path of a craft file, or the name of a shipped craft.", metavar="CRAFT")
    ],
    payload_g: PayloadG = 0.0,
    used_pct: UsedPct = None,
    cell_V: CellV = None,
    temperature_C: TemperatureC = None,
    pressure_hPa: PressureHPa = None,
    elevation_m: ElevationM = None,
    pack_temperature_C: PackTemperatureC = None,
    samples: Samples = 500,
    seed: Seed = 1,
    flown: Annotated[
        bool, typer.Option("--flown", help="Fly it too: from a full battery down to the cut-off.")
    ] = False,
    plot: Annotated[
        bool, typer.Option("--plot", help="Draw voltage and throttle until the battery is down.")
    ] = False,
    out: Annotated[
        Path | None,
        typer.Option(help="Picture to draw: .png, .pdf or .svg [default: CRAFT_hover.png].", metavar="FILE"),
    ] = None,
    json_: Json = False,
) -> None:
    """Minutes of hover to 80 % of the capacity or 3.5 V per cell loaded, whichever comes first; then to the cut-off.

    Exit status: 0 predicted, 1 the flight disagrees with the prediction (--flown), 2 bad input, or it cannot hover,
    130 Ctrl-C before all was flown: the prediction is printed, and what was flown.
    """
    from quadsim.cli.contest_text import print_end
    from quadsim.config import load_craft
    from quadsim.contest.hover_prediction import predict_hover, stated_end

    picture = picture_place(craft, out, "_hover") if plot or out else None
    checked = load_craft(craft)
    site = site_of(temperature_C, pressure_hPa, elevation_m, pack_temperature_C)
    tell(f"drawing {samples} craft from what is not known ...")
    end = stated_end(checked, used_pct, cell_V)
    found = predict_hover(checked, site, payload_g / 1000.0, end, samples=samples, seed=seed)
    if not json_:
        _show(checked.name, found)
    done: Confirmed[FlownHover] = _fly(checked, site, found) if flown else Confirmed()
    if picture:
        from quadsim.report.hover_sheet import draw_hover

        draw_hover(checked.name, found, done.flights, picture)
    if json_:
        print_json(_document(found, done) | ({"figure": picture} if picture else {}))
    else:
        _show_flown(done.flights)
        print_end(picture)
    raise typer.Exit(done.status(lambda one: one.agrees))


def _fly(craft: Craft, site: Site, found: HoverPrediction) -> Confirmed[FlownHover]:
    progress = FlightProgress("running the battery down")

    def flown() -> Iterator[FlownHover]:
        from quadsim.contest.hover_flight import fly_hover

        yield fly_hover(craft, site, found, progress)

    return confirm(progress, 1, flown)


def _document(found: HoverPrediction, done: Confirmed[FlownHover]) -> dict[str, Any]:
    from quadsim.cli.contest_text import chances, sensitivities_document, spread_document

    document = {
        "hover_time_min": found.at_end.minutes,
        **spread_document(found.spread, "min"),
        "chances": [{"time_min": one, "success_pct": chance} for one, chance in chances(found.spread)],
        "limited_by": found.at_end.limited_by,
        "sensitivities": sensitivities_document(found.sensitivities, "min"),
        "cut_off_time_min": found.at_cut_off.minutes,
        "cut_off_by": _last(found),
        "payload_g": 1e3 * found.payload,
        "end": {"used_pct": 100.0 * (1.0 - found.end.reserve), "cell_V": found.end.cell_V},
        "hover_power_W": found.power,
        "ideal_power_W": found.ideal_power,
        "mean_current_A": found.at_end.mean_current_A,
    }
    flown = done.document(_flown_document)
    return document | flown | ({"flown": flown["flown"][0]} if done.flights else {})


def _flown_document(flight: FlownHover) -> dict[str, Any]:
    values = {name: one for name, one in vars(flight).items() if name != "log"}  # that is for pictures
    return values | {"agrees": flight.agrees}


def _last(found: HoverPrediction) -> str:
    return "empty battery" if found.at_cut_off.limited_by == "reserve" else found.at_cut_off.limited_by


def _show(craft: str, found: HoverPrediction) -> None:
    from quadsim.cli.contest_text import chance_words, print_sensitivities, print_spread, range_words

    load = f" with {1e3 * found.payload:.0f} g" if found.payload else ""
    say()
    say(f"{craft} hovers {found.at_end.minutes:.1f} min{load}", "title")
    say(f"  {range_words(found.spread.interval, 1.0, 1, 'min')}")
    say(f"  {chance_words(found.spread, 'min', 1)}")
    used = (
        f"{100.0 * (1.0 - found.end.reserve):.0f} % of the capacity or {found.end.cell_V:g} V per cell loaded"
    )
    say(f"  ended by {found.at_end.limited_by}; the rule: {used}, whichever comes first")
    say(f"  flown on, {found.at_cut_off.minutes:.1f} min to the {_last(found)}")
    share = 100.0 * found.ideal_power / found.power
    say(
        f"  {found.power:.0f} W at the start; momentum theory's least is {found.ideal_power:.0f} W, {share:.0f} % of it",
        "soft",
    )
    say()
    print_spread(found.spread, "min", 1.0, 2)
    say()
    print_sensitivities(found.sensitivities, "min", 1.0, 3)


def _show_flown(flights: list[FlownHover]) -> None:
    for flight in flights:
        say()
        say(f"  flown: {flight.words}", "" if flight.agrees else "bad")
        say(
            f"    {flight.power_W:.0f} W over the first minute, height up to {flight.height_error_m:.1f} m off",
            "soft",
        )
