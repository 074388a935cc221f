"""`quadsim margins`: how close each loop of a craft is to oscillation, over everything the craft will meet."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NamedTuple

import typer

from quadsim.cli.gain_map import Map, show_map
from quadsim.cli.options import Json
from quadsim.cli.out import print_json, say, status_of, tell
from quadsim.cli.places import picture_place

if TYPE_CHECKING:
    from quadsim.analysis.craft_loops import LoopBench
    from quadsim.analysis.flown_beside_linear import FlownBeside
    from quadsim.analysis.margin_survey import PointMargins

DRAWN = ("roll", "pitch", "yaw", "height", "roll_attitude", "place_ahead")
"""Loops on the sheet; pitch attitude and the place sideways run like their neighbours."""

Set = Annotated[
    list[str] | None,
    typer.Option(
        "--set",
        help="What if a gain were another, as the craft file spells it: rate.roll_p=22; may be repeated.",
        metavar="SLOT.GAIN=VALUE",
    ),
]
PayloadG = Annotated[
    float, typer.Option("--payload-g", min=0.0, max=20000.0, help="Fixed payload below the frame [g].")
]
CellV = Annotated[
    float | None,
    typer.Option("--cell-V", help="Voltage of a cell at rest [V]; a full battery.", show_default=False),
]
ThrottlePct = Annotated[
    float | None,
    typer.Option(
        "--throttle-pct",
        min=1.0,
        max=100.0,
        help="All motors at this command, at a moment of level flight [%]; hover.",
        show_default=False,
    ),
]
AirspeedMS = Annotated[
    float, typer.Option("--airspeed-m-s", min=0.0, max=100.0, help="Steady level flight at this speed [m/s].")
]
ClimbMS = Annotated[
    float,
    typer.Option("--climb-m-s", min=-20.0, max=50.0, help="Steady climb [m/s]; below zero it descends."),
]
Here = Annotated[
    bool, typer.Option("--here", help="Only this condition; leave out the search for the worst one.")
]


def command(
    craft: Annotated[
        str, typer.Argument(help="Path of a craft file, or the name of a shipped craft.", metavar="CRAFT")
    ],
    changes: Set = None,
    payload_g: PayloadG = 0.0,
    cell_V: CellV = None,
    throttle_pct: ThrottlePct = None,
    airspeed_m_s: AirspeedMS = 0.0,
    climb_m_s: ClimbMS = 0.0,
    here: Here = False,
    flown: Annotated[
        bool,
        typer.Option(
            "--flown", help="Measure the loops in flight too, and say how far they are from the model."
        ),
    ] = False,
    varied: Map = None,
    plot: Annotated[bool, typer.Option("--plot", help="Draw the loops in that condition.")] = False,
    style: Annotated[str, typer.Option(help="bode, nichols or polar.")] = "bode",
    out: Annotated[
        Path | None,
        typer.Option(
            help="Picture to draw: .png, .pdf or .svg [default: CRAFT_loops.png, CRAFT_map.png].",
            metavar="FILE",
        ),
    ] = None,
    json_: Json = False,
) -> None:
    """Show gain, phase, delay and disk margins of each loop in a condition (hover), and where each loop stands worst.

    Exit status: 0 stable wherever it was looked, 1 a loop is unstable somewhere, 2 bad input, 130 stopped.
    """
    from quadsim.cli.kernels import prepare_kernels

    picture = _picture(craft, out, style, "map" if varied else "loops") if plot or out else None
    prepare_kernels()
    from quadsim.analysis.craft_loops import loop_bench
    from quadsim.analysis.gain_changes import changed_gains
    from quadsim.analysis.margin_survey import as_condition, margins_at

    bench = loop_bench(craft)
    bench = bench.with_gains(changed_gains(changes or [], bench.blocks, bench.gains))
    duty = None if throttle_pct is None else throttle_pct / 100.0
    condition = as_condition(bench, airspeed_m_s, climb_m_s, duty, payload_g / 1000.0, cell_V)
    if varied is not None:
        only = condition if here else None
        raise typer.Exit(show_map(bench, varied, only, payload_g / 1000.0, picture, json_))
    point = margins_at(bench, condition)
    points, stopped = ([], False) if here else _survey(bench, payload_g / 1000.0)
    measured, cut_off = _fly(point) if flown and not stopped else ([], flown)
    if picture:
        _draw(point, style, picture, measured)
    found = _Found(bench, point, points, changes or [], stopped, measured)
    _show(found, flown, stopped or cut_off, picture, json_)
    unstable = any(not one.modes.stable for one in (point, *points))
    if stopped or cut_off:
        tell("quadsim: stopped; what is shown was done by then")
    raise typer.Exit(status_of(not unstable, stopped or cut_off))


class _Found(NamedTuple):
    """What there is to show; see `margins_document`."""

    bench: LoopBench
    point: PointMargins
    points: list[PointMargins]
    changes: list[str]
    stopped: bool
    measured: list[FlownBeside]


def _show(found: _Found, flown: bool, stopped: bool, picture: Path | None, json_: bool) -> None:
    """Print everything, for people or as JSON."""
    from quadsim.cli.margins_text import flown_document, margins_document, print_flown, print_margins

    if json_:
        document = margins_document(*found[:-1]) | {"stopped": stopped}
        document |= {"flown": flown_document(found.measured)} if flown else {}
        print_json(document | ({"figure": picture} if picture else {}))
        return
    print_margins(*found[:-1])
    print_flown(found.measured)
    if picture:
        say(f"drawn in {picture}")


def _picture(craft: str, out: Path | None, style: str, kind: str) -> Path:
    from quadsim.report.loops_sheet import checked_style

    checked_style(style)
    return picture_place(craft, out, f"_{kind}")


def _fly(point: PointMargins) -> tuple[list[FlownBeside], bool]:
    """The loops measured in flight, one after the other, and whether Ctrl-C ended it; those that were flown count."""
    from quadsim.analysis.flown_beside_linear import FLOWN, fly_beside
    from quadsim.cli.progress import CountProgress

    found: list[FlownBeside] = []
    with CountProgress(len(FLOWN), "loops flown") as progress:
        progress(0, FLOWN[0])
        try:
            for one in fly_beside(point):
                found.append(one)
                progress(len(found), FLOWN[min(len(found), len(FLOWN) - 1)])
        except KeyboardInterrupt:
            return found, True
    return found, False


def _draw(point: PointMargins, style: str, picture: Path, measured: list[FlownBeside]) -> None:
    """Draw the rate, height and roll attitude loops of a condition."""
    from quadsim.analysis.margin_survey import loops_of
    from quadsim.cli.margins_text import WORDS
    from quadsim.report.loops_sheet import LoopCurve, draw_loops

    nodes = loops_of(point.loops.bench, point.condition)
    rings = {one.name: (one.flown.w, one.flown.loop) for one in measured}
    curves = {
        name: LoopCurve(
            WORDS[name],
            point.model.w,
            point.model.loop(nodes[name]),
            point.margins[name],
            *rings.get(name, (None, None)),
        )
        for name in DRAWN
        if name in nodes
    }
    title = f"Loops of {point.loops.bench.craft.name}"
    draw_loops(title, point.condition.words, curves, picture, style)


def _survey(bench: LoopBench, payload: float) -> tuple[list[PointMargins], bool]:
    """Margins in all conditions, and whether Ctrl-C ended the search; what was found before counts."""
    from quadsim.analysis.margin_survey import conditions, survey
    from quadsim.cli.progress import CountProgress

    wanted = conditions(bench, payload or None)
    points: list[PointMargins] = []
    with CountProgress(len(wanted), "conditions") as progress:

        def look(done: int, condition: Any) -> None:
            progress(done, condition.words)

        try:
            for point in survey(bench, wanted, look):
                points.append(point)
        except KeyboardInterrupt:
            return points, True
    return points, False
