"""`quadsim lap`: the fastest line of a craft through a course, and how it is flown."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

from quadsim.cli.options import (
    ElevationM,
    Json,
    PackTemperatureC,
    PressureHPa,
    Seed,
    TemperatureC,
    site_of,
)
from quadsim.cli.out import INTERRUPTED, print_json, say, tell
from quadsim.cli.places import picture_place
from quadsim.cli.progress import StagesProgress

if TYPE_CHECKING:
    from quadsim.cli.lap_practised import Practised
    from quadsim.contest.lap import Lap
    from quadsim.contest.lap_watch import LapWatch
    from quadsim.planning.plan import Plan

ReservePct = Annotated[
    float,
    typer.Option("--reserve-pct", min=0.0, max=60.0, help="Motor command kept for attitude, of full [%]."),
]
RateDegS = Annotated[
    float,
    typer.Option("--rate-deg-s", min=60.0, max=2000.0, help="Greatest turning of the thrust [deg/s]."),
]
TiltDeg = Annotated[float, typer.Option("--tilt-deg", min=10.0, max=85.0, help="Greatest tilt [deg].")]
MarginM = Annotated[
    float,
    typer.Option(
        "--margin-m", min=0.0, max=5.0, help="Kept from the frames beside the course's clearance [m]."
    ),
]
WindMS = Annotated[
    float, typer.Option("--wind-m-s", min=0.0, max=20.0, help="Wind of the flights, from any side [m/s].")
]
Flights = Annotated[
    int, typer.Option("--flights", min=1, max=200, help="Flights in wind, by craft as they might be.")
]
Proof = Annotated[
    bool, typer.Option("--proof", help="Prove a time that no point mass passes under (10 to 60 s).")
]


def command(
    craft: Annotated[
        str, typer.Argument(help="Path of a craft file, or the name of a shipped craft.", metavar="CRAFT")
    ],
    course: Annotated[
        str, typer.Argument(help="Path of a course file, or the name of a shipped course.", metavar="COURSE")
    ],
    reserve_pct: ReservePct = 15.0,
    rate_deg_s: RateDegS = 860.0,
    tilt_deg: TiltDeg = 85.0,
    margin_m: MarginM = 0.15,
    wind_m_s: WindMS = 2.0,
    flights: Flights = 12,
    temperature_C: TemperatureC = None,
    pressure_hPa: PressureHPa = None,
    elevation_m: ElevationM = None,
    pack_temperature_C: PackTemperatureC = None,
    seed: Seed = 1,
    plot: Annotated[
        bool, typer.Option("--plot", help="Draw the line over the course, and what it asks of the craft.")
    ] = False,
    out: Annotated[
        Path | None,
        typer.Option(help="Picture to draw: .png, .pdf or .svg [default: CRAFT_COURSE.png].", metavar="FILE"),
    ] = None,
    proof: Proof = False,
    json_: Json = False,
) -> None:
    """Fastest line through a course within the craft's limits, beside a point mass; then flown with sensors, wind and scatter:
    passages planned and flown, clearance, what limits the lap. An autopilot's time; a pilot's is estimated from it.

    Exit status: 0 the line can be flown, 1 no flight held it, 2 bad input or a course that cannot be flown, 130 interrupted: what
    is known by then is printed.
    """
    from quadsim.cli.lap_practised import practised_on
    from quadsim.config import load_craft
    from quadsim.config.course_schema import load_course
    from quadsim.contest.lap import predict_lap
    from quadsim.contest.lap_limits import LapRule
    from quadsim.contest.lap_watch import LapWatch
    from quadsim.units import DEG

    picture = picture_place(craft, out, f"_{Path(course).stem}") if plot or out else None
    checked, laid = load_craft(craft), load_course(course)
    site = site_of(temperature_C, pressure_hPa, elevation_m, pack_temperature_C)
    rule = LapRule(reserve_pct / 100.0, rate_deg_s * DEG, tilt_deg * DEG, margin_m)
    watch = LapWatch()
    try:
        with StagesProgress() as watch.show:
            found = predict_lap(
                checked, site, laid, rule, wind_m_s=wind_m_s, samples=flights, seed=seed, watch=watch
            )
        bound = _proven(found.plan, rule.margin) if proof else None
    except KeyboardInterrupt:
        _stopped(checked.name, watch, json_)
    _show(found, practised_on(laid, checked.name), bound, picture, json_)
    if not found.holds:
        raise typer.Exit(1)


def _proven(plan: Plan, margin: float) -> float:
    from quadsim.planning.bound import proven

    tell("proving how fast a point mass can be at most ...")
    return proven(plan, margin)


def _show(found: Lap, own: Practised | None, bound: float | None, picture: Path | None, json_: bool) -> None:
    """The lap printed, and drawn where a picture is wanted."""
    from quadsim.cli.lap_proof import proof_document, show_proof
    from quadsim.cli.lap_text import lap_document, show_lap

    if picture:
        from quadsim.report.lap_sheet import draw_lap

        draw_lap(found, picture)
    if json_:
        drawn = {"figure": picture} if picture else {}
        print_json(lap_document(found, own) | proof_document(found.plan, bound) | drawn)
    else:
        show_lap(found, own)
        show_proof(found.plan, bound)
        if picture:
            say(f"drawn: {picture}")


def _stopped(craft: str, watch: LapWatch, json_: bool) -> NoReturn:
    """What is known when the work is interrupted."""
    from quadsim.cli.lap_text import plan_document, show_plan

    if watch.plan is None:
        raise KeyboardInterrupt
    if json_:
        print_json({"craft": craft, **plan_document(watch.plan), "stopped": True})
    else:
        show_plan(craft, watch.plan, watch.tried)
    raise typer.Exit(INTERRUPTED)
