"""Options of `quadsim sweep`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Flight = Annotated[
    str, typer.Argument(help="Path of a flight file, or the name of a shipped flight.", metavar="FLIGHT")
]
Vary = Annotated[
    list[str] | None,
    typer.Option(
        help="A key of the craft or the flight: KEY=LOW:HIGH:COUNT or KEY=A,B,C; keys that go together K1/K2=A1/A2,B1/B2; with "
        "--scatter also KEY=VALUE~SIGMA (normal) and KEY=LOW..HIGH (even). May be repeated: every combination is flown.",
        metavar="KEY=...",
    ),
]
Scatter = Annotated[
    int,
    typer.Option(
        min=0,
        help="Draw so many times all numbers that carry an uncertainty, and the seed.",
        metavar="N",
        show_default=False,
    ),
]
Seeds = Annotated[int, typer.Option(min=1, help="Fly each combination with so many seeds.", metavar="N")]
FirstSeed = Annotated[
    int | None,
    typer.Option(min=0, help="The first seed, and that of the draws; the flight's.", show_default=False),
]
Crafts = Annotated[
    str,
    typer.Option(help="Crafts instead of the flight's, paths or names.", metavar="A,B", show_default=False),
]
Laws = Annotated[
    str,
    typer.Option(
        help="Control laws: own (the craft's), stock ones, FILE.py:FUNCTION for slot rate.",
        metavar="A,B",
        show_default=False,
    ),
]
Metrics = Annotated[
    str,
    typer.Option(help="Metrics to show; those that the flight expects.", metavar="A,B", show_default=False),
]
Jobs = Annotated[
    int | None,
    typer.Option(min=1, max=256, help="Processes that fly; one a core.", metavar="N", show_default=False),
]
Fresh = Annotated[bool, typer.Option("--fresh", help="Fly again what is kept from before.")]
CaseNumber = Annotated[
    int | None,
    typer.Option("--case", help="Say how to fly this flight again, besides the worst.", metavar="NUMBER"),
]
Out = Annotated[Path | None, typer.Option(help="Every flight as a row of a CSV file.", metavar="FILE.csv")]
Plot = Annotated[bool, typer.Option("--plot", help="Draw it into FLIGHT_sweep.png, or --picture.")]
Picture = Annotated[
    Path | None, typer.Option(help="Picture to draw: .png, .pdf or .svg.", metavar="FILE", show_default=False)
]
