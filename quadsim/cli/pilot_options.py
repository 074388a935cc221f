"""Options of `quadsim pilot`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Course = Annotated[
    str, typer.Argument(help="Path of a course file, or the name of a shipped course.", metavar="COURSE")
]
Craft = Annotated[str, typer.Option(help="Craft to fly: a path or a name.", metavar="CRAFT")]
ModeName = Annotated[str, typer.Option(help="What the sticks ask for: height, attitude, rate or position.")]
View = Annotated[
    str, typer.Option(help="picture (the craft's camera), place (where the pilot stands) or chase.")
]
Device = Annotated[
    Path | None,
    typer.Option(
        help="Calibration of your radio or gamepad, as `quadsim sticks --calibrate` writes it; if not given, "
        "the one made in the window (C).",
        metavar="FILE",
    ),
]
Gains = Annotated[
    Path | None, typer.Option(help="File of [gains.*] to fly instead of the craft's.", metavar="FILE")
]
Changes = Annotated[
    list[str] | None,
    typer.Option(
        "--set", help="A key of [sticks] or [camera] and its new value; may be repeated.", metavar="KEY=VALUE"
    ),
]
WindMS = Annotated[
    float, typer.Option("--wind-m-s", min=0.0, max=30.0, help="Mean wind with its turbulence [m/s].")
]
WindFromDeg = Annotated[
    float,
    typer.Option(
        "--wind-from-deg",
        min=-360.0,
        max=360.0,
        help="Where the wind comes from; 0 is ahead on the base line.",
    ),
]
Seed = Annotated[int, typer.Option(min=0, help="Seed of the first attempt; each further one adds 1.")]
Line = Annotated[
    Path | None,
    typer.Option(help="Planned line (CSV: t_s, north_m, east_m, height_m) to fly against.", metavar="FILE"),
]
Planned = Annotated[
    bool, typer.Option("--planned", help="Plan the fastest line of this craft first and fly against it.")
]
SticksFrom = Annotated[
    Path | None, typer.Option(help="Fly these recorded sticks (CSV) without a window.", metavar="FILE")
]
Demo = Annotated[
    bool, typer.Option("--demo", help="Let a patient pilot of a few gains fly it, without a window.")
]
Frames = Annotated[
    Path | None,
    typer.Option(help="With --sticks-from or --demo: a picture a second into this folder.", metavar="DIR"),
]
Layout = Annotated[
    bool,
    typer.Option(
        "--layout", help="Lay the course out first: place, turn and size gates, then fly it at once."
    ),
]
RecordSticks = Annotated[
    Path | None, typer.Option(help="Write the sticks of the last attempt, for --sticks-from.", metavar="FILE")
]
Progress = Annotated[bool, typer.Option("--progress", help="Show the laps flown so far; --out draws them.")]
Out = Annotated[
    Path | None, typer.Option(help="Picture of the progress: .png, .pdf or .svg.", metavar="FILE")
]
Runs = Annotated[
    Path | None, typer.Option(help="Folder of the laps instead of the usual one.", metavar="DIR")
]
Size = Annotated[str, typer.Option(help="Width and height of the picture in pixels.", metavar="WIDTHxHEIGHT")]
