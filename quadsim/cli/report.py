"""`quadsim report --contest`: the sheet for the day of a contest."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from quadsim.cli.options import ElevationM, Json, PackTemperatureC, PressureHPa, Samples, Seed, TemperatureC
from quadsim.cli.out import INTERRUPTED, print_json, say, tell
from quadsim.errors import InputError, Problem

if TYPE_CHECKING:
    from quadsim.config import Craft
    from quadsim.config.contest_schema import Contest
    from quadsim.contest_day.sheet import DaySheet
    from quadsim.contest_day.today import Pack, Today
    from quadsim.environment.atmosphere import Site

GUST_FACTOR = 1.6
"""Greatest gust over the mean wind when none is given; assumed."""

Rules = Annotated[
    str, typer.Option(help="Path of a contest file, or the name of a shipped one.", metavar="CONTEST")
]
WindMS = Annotated[
    float | None,
    typer.Option("--wind-m-s", min=0.0, max=25.0, help="Mean wind [m/s]; the contest file's.", show_default=False),
]  # fmt: skip
GustMS = Annotated[
    float | None,
    typer.Option("--gust-m-s", min=0.0, max=40.0, help="Greatest gust [m/s]; 1.6 of the wind.", show_default=False),
]  # fmt: skip
Packs = Annotated[
    list[str] | None,
    typer.Option("--pack", help="A pack and its resistance per cell as measured: A=4.5 [mohm]. Repeat it.", metavar="NAME=MOHM"),
]  # fmt: skip
MeasuredAtC = Annotated[
    float | None,
    typer.Option(
        "--measured-at-C", min=-30.0, max=60.0, help="Temperature of the packs when measured [deg C]; as they fly.",
        show_default=False,
    ),
]  # fmt: skip
WeighedG = Annotated[
    float | None,
    typer.Option("--weighed-g", min=10.0, max=50000.0, help="Craft on the scales, with pack, no load [g].", show_default=False),
]  # fmt: skip
Other = Annotated[
    list[str] | None,
    typer.Option(
        "--event-craft",
        help="Another craft file for one event: lift=lifter.toml. Repeat it.",
        metavar="EVENT=CRAFT",
    ),
]
Flights = Annotated[
    int,
    typer.Option("--flights", min=0, max=200, help="Flights of the slalom's planned lap in today's wind; 0 plans it only."),
]  # fmt: skip
StepG = Annotated[
    float, typer.Option("--step-g", min=1.0, max=5000.0, help="Steps of the contest's weights [g].")
]


def command(
    craft: Annotated[
        str, typer.Argument(help="Path of a craft file, or the name of a shipped craft.", metavar="CRAFT")
    ],
    contest: Rules = "three_events",
    wind_m_s: WindMS = None,
    gust_m_s: GustMS = None,
    temperature_C: TemperatureC = None,
    pressure_hPa: PressureHPa = None,
    elevation_m: ElevationM = None,
    pack_temperature_C: PackTemperatureC = None,
    pack: Packs = None,
    measured_at_C: MeasuredAtC = None,
    weighed_g: WeighedG = None,
    event_craft: Other = None,
    flights: Flights = 0,
    step_g: StepG = 50.0,
    samples: Samples = 500,
    seed: Seed = 1,
    out: Annotated[
        Path | None,
        typer.Option(help="Write the sheet as one A4 page: .pdf, .png or .svg.", metavar="FILE"),
    ] = None,
    json_: Json = False,
) -> None:
    """Make the sheet for the day of a contest: go or no-go, weights in order, packs, checks between runs, from today's numbers.

    Give it the weather at the field, each pack's measured resistance and the weighed craft. Left out, the contest file's air and
    the craft file count. Ctrl-C keeps the events that are worked out.

    Exit status: 0 every event is go or caution, 1 one is no-go, 2 bad input, or the craft cannot fly an event, 130 stopped.
    """
    os.environ.setdefault(
        "OPENBLAS_NUM_THREADS", "1"
    )  # the planner's small products: more threads cost twice the time
    place = _page_place(out)
    from quadsim.config import load_craft
    from quadsim.config.contest_schema import load_contest
    from quadsim.contest_day import today as day

    rules, loaded = load_contest(contest), load_craft(craft)
    site = _site(rules, temperature_C, pressure_hPa, elevation_m, pack_temperature_C)
    wind = float(rules.air.wind_m_s) if wind_m_s is None else wind_m_s
    gust = GUST_FACTOR * wind if gust_m_s is None else gust_m_s
    if gust < wind:
        raise InputError(
            [
                Problem(
                    "--gust-m-s", f"is {gust:g} in {wind:g} m/s of wind", "a gust is no weaker than the wind"
                )
            ]
        )
    measured = site.pack_temperature_C if measured_at_C is None else measured_at_C
    today = day.Today(site, wind, gust, _packs(pack or []), measured, weighed_g)
    named = _pairs("--event-craft", event_craft or [])
    _known_events(named)
    others = {event: load_craft(path) for event, path in named.items()}
    own = _own_lap(rules, others.get("slalom", loaded))
    how = {"step_g": step_g, "samples": samples, "seed": seed, "flights": flights, "own_lap_s": own}
    sheet = _make(loaded, rules, today, others, how)
    _show(sheet, place, json_)
    if sheet.missing:
        tell("quadsim: stopped" + ("; the page was not written" if place else ""))
        raise typer.Exit(INTERRUPTED)
    raise typer.Exit(int("no-go" in sheet.verdicts.values()))


def _page_place(out: Path | None) -> Path | None:
    """Where the page goes, asked before the work is done."""
    if out is None:
        return None
    from quadsim.cli.places import picture_place

    return picture_place("", out)


def _site(
    rules: Contest,
    temperature: float | None,
    pressure: float | None,
    elevation: float | None,
    pack: float | None,
) -> Site:
    """Today's air; the contest file's where nothing is given."""
    from quadsim.environment.atmosphere import Site

    if elevation is None:
        temperature = float(rules.air.temperature_C) if temperature is None else temperature
        pressure = float(rules.air.pressure_hPa) if pressure is None else pressure
    return Site.stated(temperature, pressure, elevation, pack)


def _pairs(option: str, given: list[str]) -> dict[str, str]:
    """`NAME=VALUE` pairs."""
    found: dict[str, str] = {}
    for one in given:
        name, _, value = one.partition("=")
        if not name or not value or name in found:
            words = (
                f"{one!r} has no value"
                if not value
                else f"{name!r} is given twice"
                if name
                else f"{one!r} has no name"
            )
            raise InputError([Problem(option, words, "must be NAME=VALUE, each name once")])
        found[name] = value
    return found


def _packs(given: list[str]) -> tuple[Pack, ...]:
    from quadsim.contest_day.today import Pack

    packs, problems = [], []
    for name, value in _pairs("--pack", given).items():
        try:
            mohm = float(value)
        except ValueError:
            mohm = 0.0
        if not 0.1 <= mohm <= 200.0:
            problems.append(
                Problem(
                    "--pack",
                    f"{name}={value}",
                    "must be 0.1 to 200 mohm per cell",
                    "Measure it with the charger",
                )
            )
        packs.append(Pack(name, mohm))
    if problems:
        raise InputError(problems)
    return tuple(packs)


def _known_events(others: Iterable[str]) -> None:
    from quadsim.contest_day.packs import EVENTS

    strange = [
        Problem("--event-craft", f"names {one!r}", f"must be one of {', '.join(EVENTS)}")
        for one in others
        if one not in EVENTS
    ]
    if strange:
        raise InputError(strange)


def _own_lap(rules: Contest, craft: Craft) -> float | None:
    """The user's own lap of the contest's course with the craft, from practice [s]."""
    if rules.slalom.laid is None:
        return None
    from quadsim.cli.lap_practised import practised_on

    own = practised_on(rules.slalom.laid, craft.name)
    return own.median if own is not None and own.enough else None


def _make(
    craft: Craft, rules: Contest, today: Today, others: dict[str, Craft], how: dict[str, Any]
) -> DaySheet:
    """The sheet, with a bar over its parts."""
    from quadsim.cli.progress import CountProgress
    from quadsim.contest_day.sheet import STAGES, day_sheet

    with CountProgress(STAGES, "parts") as bar:
        return day_sheet(craft, rules, today, others, told=bar, **how)


def _show(sheet: DaySheet, place: Path | None, as_json: bool) -> None:
    from quadsim.cli.report_text import print_sheet, sheet_document

    if place and not sheet.missing:
        from quadsim.report.day_page import draw_day

        draw_day(sheet, place)
    if as_json:
        print_json(sheet_document(sheet) | ({"file": place} if place and not sheet.missing else {}))
        return
    print_sheet(sheet)
    if place and not sheet.missing:
        say(f"written to {place}")
