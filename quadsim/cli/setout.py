"""`quadsim setout`: one page to lay a course out on a real field, and how far away people stand."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from quadsim.cli.options import ElevationM, Json, PressureHPa, TemperatureC, site_of
from quadsim.cli.out import print_json, say, tell
from quadsim.errors import InputError, Problem

if TYPE_CHECKING:
    from quadsim.config.course import Course
    from quadsim.contest.people import People
    from quadsim.environment.atmosphere import Site
    from quadsim.report.setout_words import Sheet

KINDS = (".pdf", ".png", ".svg", ".html")


def command(
    course: Annotated[
        str, typer.Argument(help="Path of a course file, or the name of a shipped course.", metavar="COURSE")
    ],
    craft: Annotated[
        str | None,
        typer.Option(
            help="Craft that flies it, path or name: people stand as far away as it may come. The worst of the shipped ones.",
            show_default=False,
        ),
    ] = None,
    speed_m_s: Annotated[
        float | None,
        typer.Option(
            "--speed-m-s",
            min=1.0,
            max=120.0,
            help="Greatest speed of the lap over ground [m/s]; that of the planned line, with the wind.",
            show_default=False,
        ),
    ] = None,
    wind_m_s: Annotated[
        float, typer.Option("--wind-m-s", min=0.0, max=30.0, help="Wind that carries what falls [m/s].")
    ] = 5.0,
    plan: Annotated[
        bool,
        typer.Option(
            "--plan/--no-plan",
            help="Plan the craft's lap for its greatest speed; else its level speed and a dive count.",
        ),
    ] = True,
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
    site = site_of(temperature_C, pressure_hPa, elevation_m, None)
    os.environ.setdefault(
        "OPENBLAS_NUM_THREADS", "1"
    )  # the planner's small products: more threads cost twice the time
    sheet = _make(course, craft, site, speed_m_s, wind_m_s, plan)
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


def _make(
    course: str, craft: str | None, site: Site, speed_m_s: float | None, wind_m_s: float, planned: bool
) -> Sheet:
    from quadsim.config.course_schema import load_course
    from quadsim.planning.setout import setout
    from quadsim.report.setout_words import Sheet

    flown = load_course(course)
    if craft is None:
        return Sheet(setout(flown), _of_demo_craft(flown, site, speed_m_s, wind_m_s))
    from quadsim.config import load_craft, resolve_plant
    from quadsim.contest.people import people
    from quadsim.planning.reachable import check_reachable, outline_radius

    loaded = load_craft(craft)
    check_reachable(flown, outline_radius(resolve_plant(loaded, site)))
    if planned and speed_m_s is None:
        tell("looking for the line of the lap ... (--no-plan leaves it out)")
    return Sheet(setout(flown), people(loaded, flown, site, wind_m_s, speed_m_s=speed_m_s, planned=planned))


def _of_demo_craft(flown: Course, site: Site, speed_m_s: float | None, wind_m_s: float) -> People:
    """With no craft named: the one of the shipped craft that comes farthest, and a word about it."""
    from dataclasses import replace

    from quadsim.config import load_craft, resolve_plant
    from quadsim.config.find_data import shipped
    from quadsim.contest.people import farthest_of
    from quadsim.planning.reachable import check_reachable, outline_radius

    crafts = [load_craft(one) for one in shipped("crafts")]
    check_reachable(flown, min(outline_radius(resolve_plant(one, site)) for one in crafts))
    found = farthest_of(crafts, flown, site, wind_m_s, speed_m_s)
    assert found is not None, "the smallest one fits"
    first = f"No craft was named: {found.craft} comes farthest of the demo craft that fit through."
    note = f"{first} Yours may come farther: name it (--craft)."
    return replace(found, note=note)


def _checked(place: Path) -> Path:
    from quadsim.cli.places import writable

    if place.suffix.lower() not in KINDS:
        given = f"{place.name!r} ends in {place.suffix or 'nothing'}"
        raise InputError([Problem("--out", given, f"must end in {', '.join(KINDS)}")])
    return writable(place, "Name another file with --out")
