"""`quadsim pilot`: practise a course with real sticks; or fly it unseen with recorded ones."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from quadsim.cli.options import Json
from quadsim.cli.out import print_json, say
from quadsim.cli.pilot_text import attempt_document, print_attempt, print_progress, progress_document
from quadsim.cli.places import picture_place
from quadsim.errors import InputError, Problem

if TYPE_CHECKING:
    from quadsim.config import Craft
    from quadsim.config.course import Course
    from quadsim.practice.ghost import Ghost
    from quadsim.practice.lap_book import LapBook
    from quadsim.practice.practice_flight import PracticeFlight

MODES = ("height", "attitude", "rate", "position")
VIEWS = ("picture", "place", "chase")


def command(
    course: Annotated[
        str, typer.Argument(help="Path of a course file, or the name of a shipped course.", metavar="COURSE")
    ],
    craft: Annotated[str, typer.Option(help="Craft to fly: a path or a name.", metavar="CRAFT")] = "siskin",
    mode: Annotated[str, typer.Option(help="What the sticks ask for: height, attitude, rate or position.")] = "height",
    view: Annotated[
        str, typer.Option(help="picture (the craft's camera), place (where the pilot stands) or chase.")
    ] = "chase",
    device: Annotated[
        Path | None,
        typer.Option(help="Calibration of your radio or gamepad, as `quadsim sticks --calibrate` writes it.", metavar="FILE"),
    ] = None,
    gains: Annotated[Path | None, typer.Option(help="File of [gains.*] to fly instead of the craft's.", metavar="FILE")] = None,
    changes: Annotated[
        list[str] | None,
        typer.Option("--set", help="A key of [sticks] or [video] and its new value; may be repeated.", metavar="KEY=VALUE"),
    ] = None,
    wind_m_s: Annotated[
        float, typer.Option("--wind-m-s", min=0.0, max=30.0, help="Mean wind with its turbulence [m/s].")
    ] = 0.0,
    wind_from_deg: Annotated[
        float, typer.Option("--wind-from-deg", min=-360.0, max=360.0, help="Where the wind comes from, 0 ahead of the base line.")
    ] = 0.0,
    seed: Annotated[int, typer.Option(min=0, help="Seed of the first attempt; each further one adds 1.")] = 1,
    line: Annotated[
        Path | None, typer.Option(help="Planned line (CSV: t_s, north_m, east_m, height_m) to fly against.", metavar="FILE")
    ] = None,
    trace: Annotated[
        Path | None, typer.Option(help="Fly these recorded sticks (CSV) without a window.", metavar="FILE")
    ] = None,
    demo: Annotated[bool, typer.Option("--demo", help="Let a patient pilot of a few gains fly it, without a window.")] = False,
    frames: Annotated[
        Path | None, typer.Option(help="With --trace or --demo: a picture a second into this folder.", metavar="DIR")
    ] = None,
    keep_sticks: Annotated[
        Path | None, typer.Option(help="Write the sticks of the last attempt, for --trace.", metavar="FILE")
    ] = None,
    progress: Annotated[bool, typer.Option("--progress", help="Show the laps flown so far, and draw them with --out.")] = False,
    out: Annotated[Path | None, typer.Option(help="Picture of the progress: .png, .pdf or .svg.", metavar="FILE")] = None,
    runs: Annotated[
        Path | None, typer.Option(help="Folder of the laps instead of the usual one.", metavar="DIR")
    ] = None,
    size: Annotated[str, typer.Option(help="Width and height of the picture in pixels.", metavar="WIDTHxHEIGHT")] = "1280x720",
    json_: Json = False,
) -> None:  # fmt: skip
    """Practise a course: gates with their direction, lap clock, splits against your best lap or a planned line.

    Gamepad, radio or keyboard; R restarts at once, H shows all keys. Best laps are kept per course and craft.

    Exit status: 0; with --trace or --demo 1 when the course was not flown to its end.
    """
    _check(mode, view, trace, demo, frames, progress, out)
    from quadsim.config.course_schema import load_course
    from quadsim.practice.lap_book import LapBook

    where = load_course(course)
    flown_by = _craft(craft, gains, changes or [])
    book = LapBook(where, flown_by.name, runs.expanduser() if runs else None)
    if progress:
        _progress(book, where, flown_by.name, out, json_)
        return
    from quadsim.cli.watch import pixels

    shape, unseen = pixels(size), trace is not None or demo
    calibration = _device(device, unseen)
    from quadsim.cli.kernels import prepare_kernels

    prepare_kernels()
    flight = _flight(where, flown_by, mode, seed, wind_m_s, wind_from_deg)
    from quadsim.viewer.practise import Practice, practise

    what = Practice(flight, book, shape, view, _line(line, flight))
    for note in book.notes:
        say(f"note: {note}")
    if unseen:
        _unseen(what, trace, frames, json_)
    else:
        practise(what, calibration)
        say(f"laps and best run in {book.folder}")
    if keep_sticks is not None:
        from quadsim.practice.stick_record import write_sticks

        about = f"sticks on {where.name}: quadsim pilot {course} --craft {craft} --mode {mode} --seed {flight.seed} --trace FILE"
        say(f"sticks in {write_sticks(flight.sticks, keep_sticks.expanduser(), about)}") if not json_ else write_sticks(
            flight.sticks, keep_sticks.expanduser(), about
        )
    if unseen and not flight.watch.finished:
        raise typer.Exit(1)


def _check(
    mode: str, view: str, trace: Path | None, demo: bool, frames: Path | None, progress: bool, out: Path | None
) -> None:
    """Options that do not go together."""
    problems = []
    if mode not in MODES:
        problems.append(Problem("--mode", f"is {mode!r}", f"must be one of {', '.join(MODES)}"))
    if view not in VIEWS:
        problems.append(Problem("--view", f"is {view!r}", f"must be one of {', '.join(VIEWS)}"))
    if trace is not None and demo:
        problems.append(Problem("--demo", "stands beside --trace", "one of the two"))
    if demo and mode != "height":
        problems.append(Problem("--demo", f"stands beside --mode {mode}", "its pilot flies in height hold"))
    if frames is not None and not (trace or demo):
        problems.append(Problem("--frames", "stands alone", "belongs to --trace or --demo"))
    if out is not None and not progress:
        problems.append(Problem("--out", "stands alone", "belongs to --progress"))
    if problems:
        raise InputError(problems)


def _craft(name: str, gains: Path | None, changes: list[str]) -> Craft:
    """The craft with other gains, sticks or video."""
    from quadsim.cli.sticks import parsed
    from quadsim.config import load_craft
    from quadsim.config.gains_file import craft_with_gains
    from quadsim.practice.changed_craft import with_changes

    craft = load_craft(name)
    if gains is not None:
        craft = craft_with_gains(craft, gains.expanduser())
    return with_changes(craft, parsed(changes)) if changes else craft


def _device(path: Path | None, unseen: bool) -> Any:
    from quadsim.config.stick_device import load_device
    from quadsim.viewer import require_display

    calibration = None if path is None else load_device(path.expanduser())
    if not unseen:
        require_display()
    return calibration


def _flight(course: Course, craft: Craft, mode: str, seed: int, wind_m_s: float, from_deg: float) -> PracticeFlight:
    from quadsim.practice.practice_flight import PracticeFlight, steady_wind

    if mode == "position" and craft.gnss is None:
        raise InputError(f"{craft.name} carries no satellite receiver, so it cannot hold a place; choose another --mode")
    wind = steady_wind(wind_m_s, from_deg) if wind_m_s > 0.0 else None
    return PracticeFlight(course, craft, mode=mode, seed=seed, wind=wind)


def _line(path: Path | None, flight: PracticeFlight) -> Ghost | None:
    """A planned line, in the axes of the course's file."""
    if path is None:
        return None
    from quadsim.practice.ghost import read_line

    return read_line(path.expanduser(), flight.course, flight.shift)


def _unseen(what: Any, trace: Path | None, frames: Path | None, json_: bool) -> None:
    """One attempt without a window."""
    from quadsim.practice.stick_pilot import StickPilot
    from quadsim.viewer.practise import rehearse
    from quadsim.viewer.scripted_window import sticks_of_trace

    flight = what.flight
    longest = 300.0
    if trace is not None:
        from quadsim.config.stick_trace import read_stick_trace

        rows = read_stick_trace(trace)
        fly, longest = sticks_of_trace(rows, lambda: flight.t_s), float(rows[-1, 0]) + 3.0
    else:
        fly = StickPilot(flight)
    window = rehearse(what, fly, folder=frames.expanduser() if frames else None, longest_s=longest)
    if json_:
        print_json(attempt_document(flight, what.book, window.pictures))
    else:
        print_attempt(flight, what.book, window.pictures)


def _progress(book: LapBook, course: Course, craft: str, out: Path | None, json_: bool) -> None:
    lines = book.laps()
    picture = None
    if out is not None:
        if not lines:
            raise InputError(f"no lap of {course.name} with {craft} has been flown yet; they are kept in {book.folder}")
        from quadsim.report.progress_sheet import draw_progress

        picture = draw_progress(course, craft, lines, picture_place(craft, out, "_progress"))
    if json_:
        print_json(progress_document(book, course, craft, lines) | ({"figure": picture} if picture else {}))
        return
    for note in book.notes:
        say(f"note: {note}")
    print_progress(book, course, craft, lines)
    if picture:
        say(f"drawn in {picture}")
