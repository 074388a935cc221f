"""`quadsim measure`: bench tables turned into keys of the craft file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from quadsim.cli.measure_options import (
    CURRENTS,
    STANDS,
    Apply,
    Cells,
    CraftName,
    CurrentAt,
    KindName,
    LengthMm,
    MeasuredOn,
    MeterPct,
    Out,
    Picture,
    Plot,
    ScaleG,
    TablePath,
    TimingS,
    WindingC,
)
from quadsim.cli.options import ElevationM, Json, PackTemperatureC, PressureHPa, TemperatureC, site_of
from quadsim.cli.out import print_json, say, tell
from quadsim.cli.places import picture_place, writable
from quadsim.errors import InputError, Problem

if TYPE_CHECKING:
    from quadsim.config.craft_schema import Craft
    from quadsim.environment.atmosphere import Site
    from quadsim.measure.effect import Change
    from quadsim.measure.result import Result


def command(
    kind: KindName,
    table: TablePath,
    craft: CraftName = None,
    apply: Apply = None,
    out: Out = None,
    plot: Plot = False,
    picture: Picture = None,
    temperature_C: TemperatureC = None,
    pressure_hPa: PressureHPa = None,
    elevation_m: ElevationM = None,
    pack_temperature_C: PackTemperatureC = None,
    measured_on: MeasuredOn = STANDS[0],
    current_at: CurrentAt = CURRENTS[0],
    cells: Cells = None,
    winding_C: WindingC = 50.0,
    meter_pct: MeterPct = 1.0,
    timing_s: TimingS = 0.2,
    length_mm: LengthMm = 1.0,
    scale_g: ScaleG = 1.0,
    json_: Json = False,
) -> None:
    """Turn what you measured at home into keys of the craft file, each with its uncertainty, and say what the craft file had.

    thrust: stand. motor: without propeller. pack: load steps or a discharge. swing: two or three lines. still: inertial sensor at
    rest. spin: steps of throttle. scales: under the feet. Columns of each: scenarios/bench/README.md.

    Caution: propellers on a bench cut as in flight, and packs burn: fixed stand, guard, distance, nobody else near.

    Exit status: 0 done, 2 bad input, or a table that cannot tell what it is asked.
    """
    _check_choices(kind, measured_on, current_at)
    places = _places(out, apply, craft)
    if plot or picture:
        places["plot"] = picture_place(str(table), picture, "_measured", "--picture")
    site = site_of(temperature_C, pressure_hPa, elevation_m, pack_temperature_C)
    air_stated = not (temperature_C is None and elevation_m is None)
    pack_stated = not (temperature_C is None and pack_temperature_C is None)
    from quadsim.config import load_craft
    from quadsim.measure.kinds import measure
    from quadsim.measure.result import Setup

    loaded = None if craft is None else load_craft(craft)
    setup = Setup(
        loaded,
        site,
        air_stated,
        pack_stated,
        measured_on,
        current_at,
        cells,
        winding_C,
        meter_pct,
        timing_s,
        length_mm,
        scale_g,
    )
    result = measure(kind, table, setup)
    files = _write(result, loaded, places)
    changed = _changes(result, loaded, site)
    from quadsim.cli.measure_text import print_result, result_document

    if json_:
        print_json(result_document(result, changed) | {"files": files})
        return
    print_result(result, loaded, changed)
    for file in files:
        say(f"written to {file}")


def _check_choices(kind: str, measured_on: str, current_at: str) -> None:
    """The three words, or one refusal of all that are wrong."""
    import difflib

    from quadsim.measure.kinds import KINDS

    problems = []
    for where, given, known in (
        ("KIND", kind, tuple(KINDS)),
        ("--measured-on", measured_on, STANDS),
        ("--current-at", current_at, CURRENTS),
    ):
        if given not in known:
            near = difflib.get_close_matches(given, known, 1, 0.4)
            remedy = f"Nearest: {near[0]}" if near else ""
            problems.append(Problem(where, f"is {given!r}", f"must be one of {', '.join(known)}", remedy))
    if problems:
        raise InputError(problems)


def _places(out: Path | None, apply: Path | None, craft: str | None) -> dict[str, Path]:
    """Where files of keys go, asked before the work is done."""
    if apply is not None and craft is None:
        raise InputError([Problem("--apply", "needs a craft to change", "--craft CRAFT", "Name it")])
    found = {}
    for name, place in (("out", out), ("apply", apply)):
        if place is None:
            continue
        if place.suffix != ".toml":
            raise InputError(
                [
                    Problem(
                        f"--{name}",
                        f"{place.name!r} ends in {place.suffix or 'nothing'}",
                        "must end in .toml",
                    )
                ]
            )
        found[name] = writable(place, "Name another place")
    return found


def _changes(result: Result, craft: Craft | None, site: Site) -> list[Change]:
    """What the measurement changes; nothing, and a word about it, when the craft with these keys cannot be read."""
    from quadsim.measure.effect import changes

    try:
        return [] if craft is None else changes(craft, result, site)
    except InputError as error:
        tell(f"what it changes cannot be said: {error}")
        return []


def _write(result: Result, craft: Craft | None, places: dict[str, Path]) -> list[Path]:
    """Write what was asked for."""
    if ("out" in places or "apply" in places) and not result.entries:
        given = "this table tells no key of the craft file"
        raise InputError(
            [Problem("", given, "", "See what it says without --out and --apply")], result.source
        )
    if "apply" in places:
        from quadsim.measure.craft_file import write_craft

        assert craft is not None
        write_craft(craft, result, places["apply"])
    if "out" in places:
        from quadsim.measure.craft_file import write_fragment

        write_fragment(result, places["out"])
    if "plot" in places:
        from quadsim.report.measure_sheet import draw_measurement

        draw_measurement(result, places["plot"])
    return list(places.values())
