"""`quadsim dash`: top level speed, what bites first, and the straight it takes."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

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
from quadsim.cli.progress import FlightsProgress

if TYPE_CHECKING:
    from collections.abc import Iterator

    from quadsim.config import Craft
    from quadsim.contest.dash_flown import FlownDash
    from quadsim.contest.dash_prediction import DashPrediction
    from quadsim.environment.atmosphere import Site

CourseM = Annotated[
    float, typer.Option("--course-m", min=5.0, max=5000.0, help="Length of the timed straight [m].")
]
WindMS = Annotated[
    float,
    typer.Option(
        "--wind-m-s", min=0.0, max=20.0, help="Wind along the straight; it is flown both ways [m/s]."
    ),
]
MeanOf = Annotated[
    Literal["speeds", "times"],
    typer.Option("--mean-of", help="What the timing rule takes the mean of: speeds, or times."),
]
Start = Annotated[
    Literal["flying", "standing"],
    typer.Option("--start", help="flying through the first gate, or standing on it."),
]
TiltDeg = Annotated[
    float | None,
    typer.Option(
        "--tilt-deg", min=5.0, max=88.0, help="Greatest tilt [deg]; the craft's own.", show_default=False
    ),
]
ReservePct = Annotated[
    float,
    typer.Option("--reserve-pct", min=0.0, max=50.0, help="Motor command kept for attitude, of full [%]."),
]
CellV = Annotated[
    float, typer.Option("--cell-V", min=2.5, max=4.0, help="Least loaded voltage of a cell [V].")
]


def command(
    craft: Annotated[
        str, typer.Argument(help="Path of a craft file, or the name of a shipped craft.", metavar="CRAFT")
    ],
    course_m: CourseM = 100.0,
    wind_m_s: WindMS = 0.0,
    mean_of: MeanOf = "speeds",
    start: Start = "flying",
    tilt_deg: TiltDeg = None,
    reserve_pct: ReservePct = 5.0,
    cell_V: CellV = 3.3,
    temperature_C: TemperatureC = None,
    pressure_hPa: PressureHPa = None,
    elevation_m: ElevationM = None,
    pack_temperature_C: PackTemperatureC = None,
    samples: Samples = 500,
    seed: Seed = 1,
    flown: Annotated[
        bool,
        typer.Option(
            "--flown",
            help="Fly it too: both ways for the score, then 0.97 and 1.05 of the top speed in still air.",
        ),
    ] = False,
    plot: Annotated[
        bool, typer.Option("--plot", help="Draw the limits over airspeed and the run over the straight.")
    ] = False,
    out: Annotated[
        Path | None,
        typer.Option(help="Picture to draw: .png, .pdf or .svg [default: CRAFT_dash.png].", metavar="FILE"),
    ] = None,
    json_: Json = False,
) -> None:
    """Top level speed with height held, all limits with the speed at which each bites, run-up, braking and runs per pack.

    Exit status: 0 predicted, 1 a flight disagrees with the prediction (--flown), 2 bad input, or it cannot fly level,
    130 Ctrl-C before all was flown: the prediction is printed, and what was flown.
    """
    from quadsim.cli.contest_text import print_end
    from quadsim.cli.flown_text import print_flown_dash
    from quadsim.config import load_craft
    from quadsim.contest.dash_prediction import predict_dash
    from quadsim.contest.rules import DashRule

    picture = picture_place(craft, out, "_dash") if plot or out else None
    checked = load_craft(craft)
    site = site_of(temperature_C, pressure_hPa, elevation_m, pack_temperature_C)
    kept = reserve_pct / 100.0
    rule = DashRule(course_m, wind_m_s, mean_of, start, moment_reserve=kept, tilt_deg=tilt_deg, cell_V=cell_V)
    tell(f"drawing {samples} craft from what is not known ...")
    found = predict_dash(checked, site, rule, samples=samples, seed=seed)
    if not json_:
        _show(checked.name, found)
    done: Confirmed[FlownDash] = _fly(checked, site, found) if flown else Confirmed()
    if picture:
        from quadsim.contest.dash_curve import dash_curve
        from quadsim.report.dash_sheet import draw_dash

        draw_dash(checked.name, found, dash_curve(checked, site, found), done.flights, picture)
    if json_:
        print_json(_document(found, done) | ({"figure": picture} if picture else {}))
    else:
        print_flown_dash(done.flights)
        print_end(picture)
    raise typer.Exit(done.status(lambda one: one.agrees))


def _fly(craft: Craft, site: Site, found: DashPrediction) -> Confirmed[FlownDash]:
    from quadsim.contest.rules import FLIGHTS

    progress = FlightsProgress(FLIGHTS)

    def flown() -> Iterator[FlownDash]:
        from quadsim.contest.dash_flight import fly_dash

        return fly_dash(craft, site, found, progress)

    return confirm(progress, FLIGHTS, flown)


def _document(found: DashPrediction, done: Confirmed[FlownDash]) -> dict[str, Any]:
    from quadsim.cli.contest_text import chances, limits_document, sensitivities_document, spread_document
    from quadsim.cli.flown_text import flown_dash_document

    run = found.course
    document = {
        "top_speed_m_s": found.speed,
        **spread_document(found.spread, "m_s"),
        "chances": [{"speed_m_s": one, "success_pct": chance} for one, chance in chances(found.spread)],
        "limited_by": found.limited_by,
        "tilt_deg": math.degrees(found.tilt),
        "limits": limits_document(found.limits, "speed_m_s"),
        "sensitivities": sensitivities_document(found.sensitivities, "m_s"),
        "scored_speed_m_s": run.scored_speed,
        "with_wind_m_s": run.with_wind,
        "against_wind_m_s": run.against_wind,
        "run_up_m": run.run_up_m,
        "run_up_s": run.run_up_s,
        "braking_m": run.braking_m,
        "field_m": run.field_m,
        "runs_per_pack": run.runs_per_pack,
        "rule": vars(found.rule),
    }
    return document | done.document(flown_dash_document)


def _show(craft: str, found: DashPrediction) -> None:
    from quadsim.cli.contest_text import (
        chance_words,
        print_limits,
        print_sensitivities,
        print_spread,
        range_words,
    )
    from quadsim.contest.dash import WORDS

    run, rule = found.course, found.rule
    say()
    say(f"{craft} flies {found.speed:.1f} m/s level ({3.6 * found.speed:.0f} km/h)", "title")
    say(f"  {range_words(found.spread.interval, 1.0, 1, 'm/s')}")
    say(f"  {chance_words(found.spread, 'm/s', 1)}")
    say(f"  limited by: {WORDS[found.limited_by]}; nose {math.degrees(found.tilt):.0f} deg down")
    both = f"{run.with_wind:.1f} and {run.against_wind:.1f} m/s over ground in {rule.wind_m_s:g} m/s of wind"
    say(
        f"  scored: {run.scored_speed:.1f} m/s, mean of {rule.mean_of}, {rule.start} start over {rule.course_m:g} m; {both}"
    )
    say(
        f"  run-up {run.run_up_m:.0f} m in {run.run_up_s:.1f} s, braking {run.braking_m:.0f} m, field {run.field_m:.0f} m"
    )
    say(f"  {run.runs_per_pack} runs from a full battery, {rule.between_s:g} s of hover between two")
    say()
    print_limits(found.limits, WORDS, "m/s", 1.0, 1)
    say()
    print_spread(found.spread, "m/s", 1.0, 2)
    say()
    print_sensitivities(found.sensitivities, "m/s", 1.0, 3)
