"""`quadsim compare`: a flight log against the model, and what would make the model agree."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NamedTuple

import typer

from quadsim.cli.options import ElevationM, Json, PackTemperatureC, PressureHPa, TemperatureC, site_of
from quadsim.cli.out import print_json, say
from quadsim.errors import InputError, Problem

if TYPE_CHECKING:
    from quadsim.config import Craft
    from quadsim.config.flight_schema import FlightFile
    from quadsim.environment.atmosphere import Site
    from quadsim.logs.agreement import Agreement
    from quadsim.logs.alignment import Alignment
    from quadsim.logs.comparison import Comparison
    from quadsim.logs.correct import Proof
    from quadsim.logs.flight_log import FlightLog, Mask
    from quadsim.simulation.run import Run

Columns = Annotated[
    Path | None,
    typer.Option(
        help="TOML file that maps another logger's columns to ours; see scenarios/logs/README.md.",
        metavar="FILE",
    ),
]
Apply = Annotated[
    Path | None,
    typer.Option(
        help="Write the craft file corrected by the log, comments kept, a sigma on each number.",
        metavar="OUT",
    ),
]
Check = Annotated[
    bool,
    typer.Option(
        "--check",
        help="Show on the rows that no fit saw whether the corrected craft is nearer; fly again, where flown.",
    ),
]
ModeName = Annotated[
    str | None,
    typer.Option(
        help="Fly the log's sticks with the craft in this response type: rate_command, attitude_command, height_hold, "
        "position_hold.",
        metavar="NAME",
    ),
]


def command(
    run: Annotated[
        str,
        typer.Argument(
            help="A run file of `quadsim fly`, or a flight or craft (file or shipped name).", metavar="RUN"
        ),
    ],
    log: Annotated[
        Path, typer.Argument(help="Flight log: a CSV file with units in its column names.", metavar="LOG")
    ],
    columns: Columns = None,
    mode: ModeName = None,
    apply: Apply = None,
    check: Check = False,
    plot: Annotated[bool, typer.Option("--plot", help="Draw log over model with residuals.")] = False,
    out: Annotated[
        Path | None,
        typer.Option(help="Picture to draw: .png, .pdf or .svg [default: LOG_compare.png].", metavar="FILE"),
    ] = None,
    temperature_C: TemperatureC = None,
    pressure_hPa: PressureHPa = None,
    elevation_m: ElevationM = None,
    pack_temperature_C: PackTemperatureC = None,
    json_: Json = False,
) -> None:
    """Compare a flight log with the model: do they agree, what would make them, and what can the log not tell?

    The model is led along the log (its attitude, rates, motor commands, voltage), so nothing drifts apart. Two thirds of the
    flight make the fit, the rest judges it.

    Exit status: 0 log and craft file agree, 1 they do not, 2 bad input.
    """
    from quadsim.cli.kernels import prepare_kernels
    from quadsim.cli.places import picture_place, writable
    from quadsim.logs.column_map import read_column_map
    from quadsim.logs.flown import check_sticks
    from quadsim.logs.read_log import read_log

    picture = picture_place(str(log), out, "_compare") if plot or out else None
    place = writable(apply, "Name another file with --apply") if apply else None
    read = read_log(log, read_column_map(columns) if columns else None)
    if mode is not None:
        check_sticks(read, mode)
    air = (temperature_C, pressure_hPa, elevation_m, pack_temperature_C)
    prepare_kernels()
    model = _model(run, air)
    if place and model.craft.path and place.resolve() == model.craft.path.resolve():
        given = f"{place} is the craft file itself"
        raise InputError([Problem("--apply", given, "another file", "Compare the two, then rename it")])
    seen = _see(model, read, mode)
    proof = _correct(seen, log.name, place, check)
    if picture:
        from quadsim.report.log_sheet import draw_comparison

        draw_comparison(seen.found, log.name, picture)
    _show(seen, proof, place, picture, json_)
    raise typer.Exit(0 if seen.found.agrees else 1)


class _Model(NamedTuple):
    """What the log is held against: a craft, its field, and the run or the flight file that there is besides."""

    craft: Craft
    site: Site
    run: Run | None = None
    flight: FlightFile | None = None
    seed: int | None = None


class _Seen(NamedTuple):
    """What there is to show."""

    model: _Model
    mode: str | None
    found: Comparison
    alignment: Alignment | None
    flown: list[Agreement]


class _Proof(NamedTuple):
    """Channels on the rows kept back, before and after; and of the flights, (before, after)."""

    channels: list[Proof]
    flown: list[tuple[Agreement, Agreement]]


def _model(name: str, air: tuple[float | None, ...]) -> _Model:
    """Find out whether a run file, a flight or a craft is meant."""
    from quadsim.cli.places import is_run
    from quadsim.config import load_craft
    from quadsim.config.find_data import shipped
    from quadsim.config.flight_loader import load_flight
    from quadsim.config.toml_reader import read_toml
    from quadsim.environment.atmosphere import Site
    from quadsim.logs.flown import craft_of, flight_of
    from quadsim.simulation.run import load_run

    if name.lower().endswith(".csv"):
        given = f"{name!r} is a log"
        raise InputError(
            [
                Problem(
                    "RUN",
                    given,
                    "must be a run, a flight or a craft",
                    "The order is: quadsim compare RUN LOG",
                )
            ]
        )
    if is_run(name):
        run = load_run(Path(name).expanduser())
        return _Model(craft_of(run), Site(**run.meta["site"]), run, flight_of(run), int(run.meta["seed"]))
    path = Path(name).expanduser()
    is_flight = name in shipped("flights") and name not in shipped("crafts")
    if path.is_file():
        is_flight = "duration_s" in read_toml(path).data
    if is_flight:
        flight = load_flight(name)
        beside = (
            flight.path.parent / flight.craft
            if flight.path and flight.craft.endswith(".toml")
            else flight.craft
        )
        return _Model(load_craft(beside), flight.site.resolved, None, flight)
    return _Model(load_craft(name), site_of(*air))


def _see(model: _Model, log: FlightLog, mode: str | None) -> _Seen:
    from quadsim.cli.progress import CountProgress
    from quadsim.logs.comparison import STAGES, compare
    from quadsim.logs.flown import beside, run_as_log

    with CountProgress(len(STAGES), "fits") as progress:
        found = compare(model.craft, log, model.site, progress)
    run = model.run if model.run is not None and mode is None else _fly(model, model.craft, found.log, mode)
    if run is None:
        return _Seen(model, mode, found, None, [])
    alignment, flown = beside(run_as_log(run), found.log)
    return _Seen(model, mode, found, alignment, flown)


def _fly(model: _Model, craft: Craft, log: FlightLog, mode: str | None) -> Run | None:
    """The flight, or the log's sticks, flown now; None when there is neither."""
    from quadsim.cli.progress import FlightProgress
    from quadsim.logs.flown import fly_sticks
    from quadsim.simulation.fly import snapshot, start
    from quadsim.simulation.session import fly_through

    if mode is not None:
        session = fly_sticks(craft, log, mode)
    elif model.flight is not None:
        session = start(model.flight, craft=craft, seed=model.seed)
    else:
        return None
    with FlightProgress(session.flight.title) as progress:
        fly_through(session, progress)
    return snapshot(session, drawn=False)


def _correct(seen: _Seen, name: str, place: Path | None, check: bool) -> _Proof | None:
    """Write the corrected craft file and look how much nearer it is."""
    if place is None and not check:
        return None
    from quadsim.logs.correct import corrected, corrected_text, prove
    from quadsim.whole_file import whole_file

    craft = corrected(seen.found, name)
    if place is not None:
        with whole_file(place) as part:
            part.write_text(corrected_text(seen.found, name), encoding="utf-8")
    return _Proof(prove(seen.found, craft), _fly_again(seen, craft) if check else [])


def _fly_again(seen: _Seen, craft: Craft) -> list[tuple[Agreement, Agreement]]:
    """The same flight or sticks with both crafts, on the rows that no fit saw; empty when nothing can be flown."""
    from quadsim.logs.flown import beside, run_as_log

    if seen.model.flight is None and seen.mode is None:
        return []
    kept: Mask = seen.found.kept
    both = []
    for one in (seen.model.craft, craft):
        run: Any = _fly(seen.model, one, seen.found.log, seen.mode)
        both.append({a.channel: a for a in beside(run_as_log(run), seen.found.log, kept)[1]})
    return [(before, both[1][name]) for name, before in both[0].items() if name in both[1]]


def _show(seen: _Seen, proof: _Proof | None, place: Path | None, picture: Path | None, json_: bool) -> None:
    from quadsim.cli.compare_text import CAUTION, comparison_document, print_comparison, print_proof

    if json_:
        document = comparison_document(seen.found, seen.alignment, seen.flown, proof)
        files = {"craft_file": place, "figure": picture}
        print_json(document | {name: path for name, path in files.items() if path})
        return
    print_comparison(seen.found, seen.alignment, seen.flown)
    if proof is not None:
        print_proof(proof)
    say()
    say(CAUTION, "soft")
    for words, path in (("corrected craft in", place), ("drawn in", picture)):
        if path:
            say(f"{words} {path}")
