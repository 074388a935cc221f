"""`quadsim fly`: a flight without a window, judged and kept."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from quadsim.cli.options import ElevationM, Json, PackTemperatureC, PressureHPa, TemperatureC
from quadsim.cli.out import print_json, status_of, tell

if TYPE_CHECKING:
    from quadsim.simulation.run import Run

RUNS = Path("quadsim-runs")
SPEC = "BLOCK"


def _slot(name: str) -> Any:
    return typer.Option(
        f"--{name}", metavar=SPEC, help=f"Fly this {name} block: a stock name, or FILE.py:FUNCTION."
    )


def command(
    flight: Annotated[
        str, typer.Argument(help="Path of a flight file, or the name of a shipped flight.", metavar="FLIGHT")
    ],
    craft: Annotated[
        str | None,
        typer.Option(help="Craft to fly instead of the flight's: a path or a name.", metavar="CRAFT"),
    ] = None,
    seed: Annotated[int | None, typer.Option(min=0, help="Seed instead of the flight's.")] = None,
    out: Annotated[
        Path | None, typer.Option(help="Run file to write [default: quadsim-runs/FLIGHT.h5].", metavar="FILE")
    ] = None,
    save: Annotated[bool, typer.Option("--save/--no-save", help="Keep the run in a file.")] = True,
    estimate: Annotated[str | None, _slot("estimate")] = None,
    guide: Annotated[str | None, _slot("guide")] = None,
    attitude: Annotated[str | None, _slot("attitude")] = None,
    rate: Annotated[str | None, _slot("rate")] = None,
    allocate: Annotated[str | None, _slot("allocate")] = None,
    temperature_C: TemperatureC = None,
    pressure_hPa: PressureHPa = None,
    elevation_m: ElevationM = None,
    pack_temperature_C: PackTemperatureC = None,
    json_: Json = False,
) -> None:
    """Fly a flight, judge it by what it expects, and keep it in a run file.

    Ctrl-C ends the flight early; what was flown is judged and kept all the same.

    Exit status: 0 it passed, 1 it did not, 2 bad input, 130 stopped by Ctrl-C.
    """
    named = {"estimate": estimate, "guide": guide, "attitude": attitude, "rate": rate, "allocate": allocate}
    blocks = {slot: spec for slot, spec in named.items() if spec is not None}
    air = {
        "temperature_C": temperature_C,
        "pressure_hPa": pressure_hPa,
        "elevation_m": elevation_m,
        "pack_temperature_C": pack_temperature_C,
    }
    stated = {name: value for name, value in air.items() if value is not None}
    run, warnings, unsaved = _fly(flight, craft, seed, blocks, stated, out, save)
    if json_:
        print_json(run_document(run, warnings))
    else:
        from quadsim.cli.flight_text import print_flight

        print_flight(run, saved=save)
    if unsaved:
        tell(f"quadsim: {unsaved}")
    raise typer.Exit(status_of(run.passed and not unsaved, run.status == "stopped"))


def _fly(
    flight: str,
    craft: str | None,
    seed: int | None,
    blocks: dict[str, str],
    air: dict[str, float],
    out: Path | None,
    save: bool,
) -> tuple[Run, list[str], str]:
    """The run, the warnings about its blocks, and why it could not be saved where it should be (empty if it was)."""
    from quadsim.cli.kernels import blocks_loading, prepare_kernels
    from quadsim.cli.places import writable_run
    from quadsim.cli.progress import FlightProgress
    from quadsim.config import load_craft
    from quadsim.config.flight_loader import load_flight

    plan = load_flight(flight)
    chosen = load_craft(craft) if craft is not None else None
    site = plan.site.but(air) if air else None
    place = writable_run(out or RUNS / f"{plan.name}.h5") if save else None
    prepare_kernels()
    from quadsim.simulation.fly import finish, start
    from quadsim.simulation.session import fly_through

    with blocks_loading():
        session = start(plan, craft=chosen, seed=seed, blocks=blocks, site=site)
    for warning in session.warnings:
        tell(f"slow: {warning}")
    with FlightProgress(plan.title) as progress:
        wall_s = fly_through(session, progress)
    run, told = finish(session, wall_s), list(session.warnings)
    del session  # its table of commands: 21 MB of ten minutes, while the run is being written
    return run, told, _keep(run, place) if place else ""


def _keep(run: Run, place: Path) -> str:
    """Save a run; where that fails, in the system's folder for temporary files. Returns what went wrong."""
    import tempfile

    from quadsim.errors import FlightError
    from quadsim.simulation.run import save_run

    try:
        save_run(run, place)
    except FlightError as error:
        spare = Path(tempfile.gettempdir()) / "quadsim-runs" / place.name
        try:
            save_run(run, spare)
        except FlightError:
            return str(error)
        return f"{error}. The run was kept in {spare} instead"
    return ""


def run_document(run: Run, warnings: list[str]) -> dict[str, Any]:
    """What `--json` prints of a flight."""
    duration_s = flown_s(run)
    return {
        "flight": run.flight,
        "craft": run.craft,
        "title": run.meta["title"],
        "status": run.status,
        "status_text": run.status_text,
        "duration_s": duration_s,
        "steps": run.meta["steps"],
        "wall_s": run.meta["wall_s"],
        "real_time_factor": duration_s / run.meta["wall_s"],
        "physics_rate_Hz": run.meta["physics_rate_Hz"],
        "stepper": run.meta["stepper"],
        "seed": run.meta["seed"],
        "site": run.meta["site"],
        "blocks": run.meta["blocks"],
        "metrics": run.metrics,
        "expectations": [vars(verdict) for verdict in run.expectations],
        "passed": run.passed,
        "events": [vars(event) for event in run.events],
        "warnings": warnings,
        "run_file": run.path,
    }


def flown_s(run: Run) -> float:
    """Time flown [s]: the last tick, which the log also holds."""
    return float(run.t_s[-1]) if len(run) else 0.0
