"""`quadsim plot`: one sheet that tells a flight."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from quadsim.cli.options import Json
from quadsim.cli.out import print_json, say


def command(
    run: Annotated[Path, typer.Argument(help="A run file that `quadsim fly` made.", metavar="RUN")],
    out: Annotated[
        Path | None,
        typer.Option(
            help="Picture to write: .png, .pdf or .svg [default: the run's name with .png].", metavar="FILE"
        ),
    ] = None,
    from_s: Annotated[float | None, typer.Option("--from-s", help="Draw from this time on [s].")] = None,
    to_s: Annotated[float | None, typer.Option("--to-s", help="Draw up to this time [s].")] = None,
    json_: Json = False,
) -> None:
    """Draw a run on one sheet: height, attitude, motors, battery and wind over time, with events and verdicts."""
    from quadsim.cli.places import writable
    from quadsim.report.flight_sheet import draw_flight
    from quadsim.report.picture import checked_suffix
    from quadsim.simulation.run import load_run

    flown = load_run(run.expanduser())
    place = writable(
        checked_suffix(out or run.expanduser().with_suffix(".png")), "Name another file with --out"
    )
    draw_flight(flown, place, from_s=from_s, to_s=to_s)
    if json_:
        print_json({"run_file": run, "figure": place})
    else:
        say(f"drawn in {place}")
