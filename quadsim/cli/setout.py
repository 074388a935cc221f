"""`quadsim setout`: one page to lay a course out on a real field, and how far away people stand."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from quadsim.cli.options import ElevationM, Json, PressureHPa, TemperatureC, site_of
from quadsim.cli.out import print_json, say
from quadsim.errors import InputError, Problem

if TYPE_CHECKING:
    from quadsim.config import Craft
    from quadsim.environment.atmosphere import Site

KINDS = (".pdf", ".png", ".svg", ".html")


def command(
    course: Annotated[
        str, typer.Argument(help="Path of a course file, or the name of a shipped course.", metavar="COURSE")
    ],
    craft: Annotated[
        str,
        typer.Option(help="Craft that flies it: path or name; people stand as far away as it may come."),
    ] = "siskin",
    speed_m_s: Annotated[
        float | None,
        typer.Option(
            "--speed-m-s",
            min=1.0,
            max=120.0,
            help="Greatest speed of the lap [m/s]; the craft's top level speed.",
            show_default=False,
        ),
    ] = None,
    wind_m_s: Annotated[
        float, typer.Option("--wind-m-s", min=0.0, max=30.0, help="Wind that carries what falls [m/s].")
    ] = 5.0,
    temperature_C: TemperatureC = None,
    pressure_hPa: PressureHPa = None,
    elevation_m: ElevationM = None,
    out: Annotated[
        list[Path] | None,
        typer.Option(
            help="Write the sheet: .pdf, .png, .svg or .html, one A4 page. May be repeated.", metavar="FILE"
        ),
    ] = None,
    json_: Json = False,
) -> None:
    """Lay a course out with tape and pegs: base line, offsets, diagonals, heights, material; how far away people stand.

    Exit status: 0 done, 2 bad input, or the craft does not fit through the course.
    """
    places = [_checked(place) for place in out or []]
    from quadsim.config import load_craft, resolve_plant
    from quadsim.config.course_schema import load_course

    loaded, flown = load_craft(craft), load_course(course)
    site = site_of(temperature_C, pressure_hPa, elevation_m, None)
    from quadsim.analysis.throw import worst_throw
    from quadsim.planning.reachable import check_reachable, outline_radius
    from quadsim.planning.setout import setout
    from quadsim.report.setout_words import Sheet

    check_reachable(flown, outline_radius(resolve_plant(loaded, site)))
    speed, where = (speed_m_s, "as given") if speed_m_s is not None else _top_speed(loaded, site)
    throw = worst_throw(loaded, site, -float(flown.field.low[2]), speed, wind_m_s)
    sheet = Sheet(setout(flown), throw, loaded.name, where)
    for place in places:
        from quadsim.report.setout_sheet import write_sheet

        write_sheet(sheet, place)
    from quadsim.cli.setout_text import print_sheet, sheet_document

    if json_:
        print_json(sheet_document(sheet) | {"files": places})
        return
    print_sheet(sheet)
    for place in places:
        say(f"written to {place}")


def _top_speed(craft: Craft, site: Site) -> tuple[float, str]:
    """The speed that no level stretch of a lap can pass, and where it is from; a dive may, and then --speed-m-s says so."""
    from quadsim.config import resolve_plant
    from quadsim.contest.crowd import crowd_of
    from quadsim.contest.dash import speed_limits
    from quadsim.contest.dash_prediction import dash_of
    from quadsim.contest.lift import ratings
    from quadsim.contest.rules import DashRule

    plant = resolve_plant(craft, site)
    limits = speed_limits(crowd_of([plant]), dash_of(craft, DashRule()), ratings(craft, plant))
    return min(limits.values()), "its top level speed"


def _checked(place: Path) -> Path:
    from quadsim.cli.places import writable

    if place.suffix.lower() not in KINDS:
        given = f"{place.name!r} ends in {place.suffix or 'nothing'}"
        raise InputError([Problem("--out", given, f"must end in {', '.join(KINDS)}")])
    return writable(place, "Name another file with --out")
