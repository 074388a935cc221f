"""`quadsim lift`: the greatest payload, what bites first, and which weights to attempt."""

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
from quadsim.cli.progress import FlightsProgress

if TYPE_CHECKING:
    from collections.abc import Iterator

    from quadsim.config import Craft
    from quadsim.contest.lift_flight import FlownLift
    from quadsim.contest.lift_prediction import LiftPrediction
    from quadsim.environment.atmosphere import Site

TimeS = Annotated[float, typer.Option("--time-s", min=1.0, max=3600.0, help="How long it is held [s].")]
ReservePct = Annotated[
    float,
    typer.Option("--reserve-pct", min=0.0, max=50.0, help="Motor command kept for attitude, of full [%]."),
]
ClimbMS = Annotated[
    float, typer.Option("--climb-m-s", min=0.0, max=20.0, help="Climb rate that must be left [m/s].")
]
GustMS = Annotated[
    float, typer.Option("--gust-m-s", min=0.0, max=20.0, help="Wind in which the place must be held [m/s].")
]
CellV = Annotated[
    float, typer.Option("--cell-V", min=2.5, max=4.0, help="Least loaded voltage of a cell [V].")
]
StepG = Annotated[
    float, typer.Option("--step-g", min=1.0, max=5000.0, help="Steps of the contest's weights [g].")
]


def command(
    craft: Annotated[
        str, typer.Argument(help="Path of a craft file, or the name of a shipped craft.", metavar="CRAFT")
    ],
    time_s: TimeS = 60.0,
    reserve_pct: ReservePct = 10.0,
    climb_m_s: ClimbMS = 1.0,
    gust_m_s: GustMS = 5.0,
    cell_V: CellV = 3.3,
    step_g: StepG = 50.0,
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
            help="Fly it too: the rated payload in the gust, and 0.97 and 1.05 of the failure payload.",
        ),
    ] = False,
    plot: Annotated[
        bool, typer.Option("--plot", help="Draw throttle, reserve, time and chance over payload.")
    ] = False,
    out: Annotated[
        Path | None,
        typer.Option(help="Picture to draw: .png, .pdf or .svg [default: CRAFT_lift.png].", metavar="FILE"),
    ] = None,
    json_: Json = False,
) -> None:
    """Greatest payload with reserve, all limits with the payload at which each bites, and an attempt ladder.

    Exit status: 0 predicted, 1 a flight disagrees with the prediction (--flown), 2 bad input, or it does not lift itself,
    130 Ctrl-C before all was flown: the prediction is printed, and what was flown.
    """
    from quadsim.cli.contest_text import print_end
    from quadsim.config import load_craft
    from quadsim.contest.lift_prediction import predict_lift
    from quadsim.contest.rules import LiftRule

    picture = picture_place(craft, out, "_lift") if plot or out else None
    checked = load_craft(craft)
    site = site_of(temperature_C, pressure_hPa, elevation_m, pack_temperature_C)
    rule = LiftRule(time_s, reserve_pct / 100.0, climb_m_s, gust_m_s, cell_V)
    tell(f"drawing {samples} craft from what is not known ...")
    found = predict_lift(checked, site, rule, step_g=step_g, samples=samples, seed=seed)
    if not json_:
        _show(checked.name, found)
    done: Confirmed[FlownLift] = _fly(checked, site, found) if flown else Confirmed()
    if picture:
        from quadsim.report.lift_sheet import draw_lift

        draw_lift(checked.name, found, done.flights, picture)
    if json_:
        print_json(_document(found, done) | ({"figure": picture} if picture else {}))
    else:
        _show_flown(done.flights)
        print_end(picture)
    raise typer.Exit(done.status(lambda one: one.agrees))


def _fly(craft: Craft, site: Site, found: LiftPrediction) -> Confirmed[FlownLift]:
    from quadsim.contest.rules import FLIGHTS

    progress = FlightsProgress(FLIGHTS)

    def flown() -> Iterator[FlownLift]:
        from quadsim.contest.lift_flight import fly_lift

        return fly_lift(craft, site, found, progress)

    return confirm(progress, FLIGHTS, flown)


def _document(found: LiftPrediction, done: Confirmed[FlownLift]) -> dict[str, Any]:
    from quadsim.cli.contest_text import limits_document, sensitivities_document, spread_document

    document = {
        "max_payload_g": 1e3 * found.payload,
        **spread_document(found.spread, "g", 1e3),
        "limited_by": found.limited_by,
        "limits": limits_document(found.limits, "payload_g", 1e3),
        "sensitivities": sensitivities_document(found.sensitivities, "g", 1e3),
        "failure_payload_g": 1e3 * found.failure,
        "failure_mode": found.failure_mode,
        "time_to_failure_s": found.time_to_failure,
        "time_to_failure_at": "1.05 x failure_payload_g",
        "attempts": [
            {"payload_g": 1e3 * one, "success_pct": 100.0 * chance} for one, chance in found.attempts
        ],
        "rule": vars(found.rule),
    }
    return document | done.document(lambda one: vars(one) | {"agrees": one.agrees})


def _show(craft: str, found: LiftPrediction) -> None:
    from quadsim.cli.contest_text import print_limits, print_sensitivities, print_spread, range_words
    from quadsim.cli.table import Cell, Column, table
    from quadsim.contest.lift import HARD, WORDS

    rule = found.rule
    say()
    say(f"{craft} lifts {1e3 * found.payload:.0f} g with reserve", "title")
    say(
        f"  {range_words(found.spread.interval, 1e3, 0, 'g')}; {1e3 * found.spread.at_least:.0f} g or more with 95 %"
    )
    say(f"  limited by: {WORDS[found.limited_by]}")
    asked = f"  held {rule.time_s:g} s far from the ground, {100 * rule.moment_reserve:g} % command kept for attitude, "
    say(
        asked + f"{rule.climb_m_s:g} m/s of climb, gust {rule.gust_m_s:g} m/s, {rule.cell_V:g} V per cell",
        "soft",
    )
    failing = f"  fails at {1e3 * found.failure:.0f} g in still air: {HARD[found.failure_mode]}; "
    say(failing + f"5 % more lasts {found.time_to_failure:.0f} s")
    say()
    print_limits(found.limits, WORDS, "g", 1e3, 0)
    say()
    say("  attempts in that gust, the model's own error included", "soft")
    rows: list[list[str | Cell]] = [
        [f"{1e3 * one:.0f}", f"{100.0 * chance:.0f} %"] for one, chance in found.attempts
    ]
    say(table([Column("payload", "g"), Column("holds")], rows))
    say()
    print_spread(found.spread, "g", 1e3, 0)
    say()
    print_sensitivities(found.sensitivities, "g", 1e3, 1)


def _show_flown(flights: list[FlownLift]) -> None:
    if flights:
        say()
    for one in flights:
        say(f"  flown with {one.payload_g:.0f} g: {one.words}", "" if one.agrees else "bad")
