"""Options of `quadsim measure`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

STANDS = ("free stand", "own arm")
CURRENTS = ("esc input", "motor")

KindName = Annotated[
    str,
    typer.Argument(
        help="What was measured: thrust, motor, pack, swing, still, spin or scales.", metavar="KIND"
    ),
]
TablePath = Annotated[
    Path,
    typer.Argument(
        help="CSV file, units in the column names; scenarios/bench/ has one of each.", metavar="CSV"
    ),
]
CraftName = Annotated[
    str | None,
    typer.Option(
        help="Craft file that the results are compared with, path or shipped name.", show_default=False
    ),
]
Apply = Annotated[
    Path | None,
    typer.Option(
        help="Write the craft's file with these keys replaced, comments kept.", metavar="FILE.toml", show_default=False
    ),
]  # fmt: skip
Out = Annotated[
    Path | None, typer.Option(help="Write the keys alone.", metavar="FILE.toml", show_default=False)
]
Plot = Annotated[
    bool, typer.Option("--plot", help="Draw data, fit and residuals into CSV_measured.png, or --picture.")
]
Picture = Annotated[
    Path | None, typer.Option(help="Picture to draw: .png, .pdf or .svg.", metavar="FILE", show_default=False)
]
MeasuredOn = Annotated[
    str, typer.Option("--measured-on", help='thrust: "free stand" or "own arm" of the craft.')
]
CurrentAt = Annotated[
    str, typer.Option("--current-at", help='thrust, motor: current measured at "esc input" or "motor".')
]
Cells = Annotated[
    int | None, typer.Option(min=1, max=16, help="pack: cells in series; the craft's.", show_default=False)
]
WindingC = Annotated[
    float,
    typer.Option("--winding-C", min=-20.0, max=150.0, help="thrust: winding on the bench [deg C]; assumed."),
]
MeterPct = Annotated[
    float,
    typer.Option("--meter-pct", min=0.0, max=20.0, help="Uncertainty of voltmeter and ammeter [%]; assumed."),
]
TimingS = Annotated[
    float,
    typer.Option("--timing-s", min=0.0, max=5.0, help="swing: uncertainty of one timing [s]; a thumb, assumed."),
]  # fmt: skip
LengthMm = Annotated[
    float, typer.Option("--length-mm", min=0.0, max=50.0, help="swing, scales: uncertainty of a length [mm].")
]
ScaleG = Annotated[
    float, typer.Option("--scale-g", min=0.0, max=100.0, help="Uncertainty of one reading of the scales [g].")
]
