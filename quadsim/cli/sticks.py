"""`quadsim sticks`: what the sticks of a craft ask for, before and after a change; calibration of a radio or gamepad."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from quadsim.cli.options import Json
from quadsim.cli.out import print_json, say
from quadsim.cli.places import picture_place
from quadsim.cli.table import Column, table
from quadsim.errors import InputError, Problem

if TYPE_CHECKING:
    from quadsim.analysis.stick_response import StickCurves, TraceResponse
    from quadsim.config import Craft


def command(
    craft: Annotated[
        str | None,
        typer.Argument(help="Path of a craft file, or the name of a shipped craft.", metavar="CRAFT"),
    ] = None,
    changes: Annotated[
        list[str] | None,
        typer.Option(
            "--set", help="A key of [sticks] and its new value; may be repeated.", metavar="KEY=VALUE"
        ),
    ] = None,
    trace: Annotated[
        Path | None, typer.Option(help="Recorded sticks (CSV) instead of the shipped trace.", metavar="FILE")
    ] = None,
    mode: Annotated[
        str, typer.Option(help="Response type to fly the trace in: rate_command or attitude_command.")
    ] = "rate_command",
    axis: Annotated[
        str | None, typer.Option(help="roll, pitch or yaw [default: where the trace does most].")
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(help="Picture to draw: .png, .pdf or .svg [default: CRAFT_sticks.png].", metavar="FILE"),
    ] = None,
    plot: Annotated[bool, typer.Option("--plot", help="Draw the picture.")] = False,
    calibrate: Annotated[
        Path | None,
        typer.Option(
            help="Ask for stick movements and write a calibration file of your device.", metavar="FILE"
        ),
    ] = None,
    json_: Json = False,
) -> None:
    """Show what the sticks of a craft ask for over their travel, and what it makes of a recorded trace.

    Without --set the craft is compared with straight sticks; with it, the craft as its file says with the change.
    """
    if calibrate is not None:
        _calibrate(calibrate)
        return
    if craft is None:
        raise InputError("give a CRAFT, or --calibrate FILE for a radio or gamepad")
    picture = picture_place(craft, out, "_sticks") if plot or out else None
    _compare(craft, parsed(changes or []), trace, mode, axis, picture, json_)


def _compare(
    name: str, asked: dict[str, Any], trace: Path | None, mode: str, axis: str | None, picture: Path | None, json_: bool
) -> None:  # fmt: skip
    """Fly two settings on the trace and show both."""
    from quadsim.cli.kernels import prepare_kernels
    from quadsim.config import load_craft
    from quadsim.config.find_data import library
    from quadsim.config.stick_trace import read_stick_trace

    rows = read_stick_trace(trace or library() / "sticks" / "trace.csv")
    filed = load_craft(name)
    prepare_kernels()
    from quadsim.analysis import stick_response as response

    before = (filed, "as filed") if asked else (response.without_shaping(filed), "straight")
    after = (response.with_sticks(filed, asked), "changed" if asked else "as filed")
    curves = [response.stick_curves(*one) for one in (before, after)]
    chosen = axis or response.liveliest_axis(rows)
    flown = [response.fly_trace(*one, rows, mode, chosen) for one in (before, after)]
    notes = response.swallowed_trims(after[0])
    if picture:
        from quadsim.report.stick_sheet import draw_sticks

        draw_sticks(after[0].name, curves, flown, picture)
    if json_:
        print_json(_document(filed, curves, flown, notes, asked) | ({"figure": picture} if picture else {}))
        return
    _print(filed, curves, flown, notes, asked)
    if picture:
        say(f"drawn in {picture}")


def parsed(changes: list[str]) -> dict[str, Any]:
    """`KEY=VALUE` texts as a mapping; values stay text where they are no numbers, for the schema to refuse."""
    found: dict[str, Any] = {}
    for change in changes:
        key, equals, value = change.partition("=")
        if not equals:
            raise InputError(
                [Problem("--set", f"is {change!r}", "must be KEY=VALUE, such as exponential_pct=40")]
            )
        try:
            found[key.strip()] = float(value)
        except ValueError:
            found[key.strip()] = value
    return found


def _document(
    craft: Craft,
    curves: list[StickCurves],
    flown: list[TraceResponse],
    notes: list[str],
    asked: dict[str, Any],
) -> dict[str, Any]:
    """What `--json` prints."""
    return {
        "craft": craft.name,
        "changes": asked,
        "compared": [
            {
                "name": one.name,
                **one.figures,
                "curves": {
                    "travel_pct": one.travel_pct[::20], "rate_deg_s": one.rate_deg_s[::20],
                    "yaw_deg_s": one.yaw_deg_s[::20], "throttle_pct": one.throttle_pct[::20],
                    "thrust_over_weight": one.weights[::20],
                },
                "trace": {
                    "axis": two.axis, "unit": two.unit, "status": two.status,
                    "greatest_asked": float(abs(two.asked).max()), "greatest_flown": float(abs(two.flown).max()),
                },
            }
            for one, two in zip(curves, flown, strict=True)
        ],
        "notes": notes,
    }  # fmt: skip


_ROWS = (
    ("full_deg_s", "roll, pitch at full stick", "deg/s", 0),
    ("half_deg_s", "at half stick", "deg/s", 0),
    ("centre_deg_s_per_pct", "beside the centre", "deg/s per %", 2),
    ("step_deg_s", "one step of the link there", "deg/s", 2),
    ("yaw_full_deg_s", "yaw at full stick", "deg/s", 0),
    ("tilt_full_deg", "tilt at full stick, attitude command", "deg", 0),
    ("hover_stick_pct", "throttle stick in hover", "%", 0),
    ("weight_pct_per_stick_pct", "thrust there, of the weight", "% per %", 2),
    ("link_delay_ms", "radio link, mean delay", "ms", 0),
)


def _print(
    craft: Craft,
    curves: list[StickCurves],
    flown: list[TraceResponse],
    notes: list[str],
    asked: dict[str, Any],
) -> None:
    say()
    say(f"Sticks of {craft.name}", "title")
    say()
    columns = [
        Column("", words=True),
        *(Column(one.name) for one in curves),
        Column("", words=True, style="soft"),
    ]
    rows = [
        [words, *(f"{one.figures[key]:.{digits}f}" for one in curves), unit]
        for key, words, unit, digits in _ROWS
    ]
    for label, pick in (("asked", "asked"), ("flown", "flown")):
        most = [f"{abs(getattr(two, pick)).max():.0f}" for two in flown]
        rows.append([f"trace, {flown[0].axis}: most {label}", *most, flown[0].unit])
    say(table(columns, rows))
    for note in notes:
        say(f"  {note}", "caution")
    ended = [f"{two.name}: {two.status.replace('_', ' ')}" for two in flown if two.status != "done"]
    if ended:
        say(f"  the trace did not end in flight ({'; '.join(ended)})", "caution")
    if asked:
        say()
        say("  To keep the change, write into the craft file:", "soft")
        say("  [sticks]")
        for key, value in asked.items():
            say(f"  {key} = {value:g}")
    say()
    say(
        "  Simulated sticks are not yours: try a change in the air with small movements, high and far from people.",
        "soft",
    )


def _calibrate(path: Path) -> None:
    from quadsim.cli.places import writable
    from quadsim.config.stick_device import parse_device
    from quadsim.viewer.calibrate import calibrate
    from quadsim.viewer.window import open_device
    from quadsim.whole_file import whole_file

    place = writable(path, "Name another file with --calibrate")
    with open_device() as (name, read):
        device = calibrate(name, read, lambda words: typer.prompt(words, default="", show_default=False))
    text = device.as_toml()
    parse_device(text, name)
    with whole_file(place) as part:
        part.write_text(text, encoding="utf-8")
    say(f"calibration in {place}; fly with it: quadsim watch FLIGHT --device {place}")
