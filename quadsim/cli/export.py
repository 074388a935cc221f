"""`quadsim export`: the columns of a run as a CSV file."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from quadsim.cli.options import Json
from quadsim.cli.out import counted, print_json, say
from quadsim.errors import InputError


def command(
    run: Annotated[Path, typer.Argument(help="A run file that `quadsim fly` made.", metavar="RUN")],
    out: Annotated[
        Path | None,
        typer.Option(
            help="CSV file to write; - prints it [default: the run's name with .csv].", metavar="FILE"
        ),
    ] = None,
    columns: Annotated[
        list[str] | None,
        typer.Option(help="Only these columns, separated by commas; see --list.", metavar="NAMES"),
    ] = None,
    list_: Annotated[
        bool, typer.Option("--list", help="List the columns with units and meaning, and write nothing.")
    ] = False,
    json_: Json = False,
) -> None:
    """Write a run as CSV: one row per time, one column per number, names with units in the header."""
    from quadsim.cli.places import writable
    from quadsim.report.csv_file import choose, csv_lines, describe, write_csv
    from quadsim.simulation.run import load_run

    flown = load_run(run.expanduser())
    chosen = choose(
        flown, [name.strip() for given in columns or [] for name in given.split(",") if name.strip()]
    )
    if list_:
        _list(describe(chosen), json_)
        return
    if out is not None and str(out) == "-":
        if json_:
            raise InputError("--json and --out - would both print; name a file")
        sys.stdout.writelines(csv_lines(chosen))
        sys.stdout.flush()
        return
    place = writable(out or run.expanduser().with_suffix(".csv"), "Name another file with --out")
    write_csv(chosen, place)
    if json_:
        print_json({"run_file": run, "csv_file": place, "rows": len(flown), "columns": describe(chosen)})
    else:
        say(f"{counted(len(flown), 'row')} of {counted(len(chosen), 'column')} in {place}")


def _list(described: list[dict[str, str]], json_: bool) -> None:
    if json_:
        print_json({"columns": described})
        return
    from quadsim.cli.table import Column, table

    heads = (
        Column("column", words=True), Column("unit", words=True), Column("frame", words=True),
        Column("meaning", words=True, style="soft"),
    )  # fmt: skip
    say(
        table(
            heads, [[one["name"], one["unit"], one["frame"], one["meaning"]] for one in described], indent=0
        )
    )
