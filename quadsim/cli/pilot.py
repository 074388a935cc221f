"""`quadsim pilot`: practise a course with real sticks; or fly it unseen with recorded ones."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from quadsim.cli import pilot_options as with_
from quadsim.cli.kernels import prepare_kernels
from quadsim.cli.options import Json
from quadsim.cli.out import INTERRUPTED, print_json, say, tell
from quadsim.cli.pilot_text import attempt_document, print_attempt, print_progress, progress_document
from quadsim.cli.places import picture_place
from quadsim.cli.progress import CountProgress
from quadsim.cli.sticks import parsed
from quadsim.cli.watch import pixels
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
    course: with_.Course,
    craft: with_.Craft = "siskin",
    mode: with_.ModeName = "height",
    view: with_.View = "chase",
    device: with_.Device = None,
    gains: with_.Gains = None,
    changes: with_.Changes = None,
    wind_m_s: with_.WindMS = 0.0,
    wind_from_deg: with_.WindFromDeg = 0.0,
    seed: with_.Seed = 1,
    line: with_.Line = None,
    planned: with_.Planned = False,
    sticks_from: with_.SticksFrom = None,
    demo: with_.Demo = False,
    frames: with_.Frames = None,
    record_sticks: with_.RecordSticks = None,
    layout: with_.Layout = False,
    progress: with_.Progress = False,
    out: with_.Out = None,
    runs: with_.Runs = None,
    size: with_.Size = "1280x720",
    json_: Json = False,
) -> None:
    """Practise a course: gates with their direction, lap clock, splits against your best lap or a planned line.

    Gamepad, radio or keyboard; R restarts at once, H shows all keys. Best laps are kept per course and craft.

    Exit status: 0; with --sticks-from or --demo 1 when the course was not flown to its end.
    """
    _check(mode, view, sticks_from, demo, frames, progress, out, layout)
    from quadsim.config.course_schema import load_course
    from quadsim.practice.lap_book import LapBook
    from quadsim.viewer.practice_layout import make_practice_layout

    flown_by = _craft(craft, gains, changes or [])
    if layout:
        _lay_out(course, flown_by, mode, view, seed, wind_m_s, wind_from_deg, device, runs, pixels(size))
        return
    where = load_course(course)
    shape, unseen = make_practice_layout(pixels(size)).size, sticks_from is not None or demo
    by = f"{flown_by.name} by demo" if demo else flown_by.name  # its laps are no practice of the user's
    book = LapBook(where, by, runs.expanduser() if runs else None)
    if progress:
        _progress(book, where, flown_by.name, out, json_)
        return
    calibration = _device(device, unseen)
    prepare_kernels()
    flight = _flight(where, flown_by, mode, seed, wind_m_s, wind_from_deg)
    from quadsim.viewer.practise import Practice

    what = Practice(flight, book, shape, view, _ghost(line, planned, where, flight))
    asked = ""
    if unseen:
        _unseen(what, sticks_from, frames, json_)
    else:
        asked = _seen(what, calibration)
    if record_sticks is not None:
        again = (
            f"quadsim pilot {course} --craft {craft} --mode {mode} --seed {flight.seed} --sticks-from FILE"
        )
        _keep_sticks(flight, record_sticks.expanduser(), again)
    if asked == "layout":
        _lay_out(course, flown_by, mode, view, seed, wind_m_s, wind_from_deg, device, runs, pixels(size))
    if unseen and not flight.watch.finished:
        raise typer.Exit(1)


def _seen(what: Any, calibration: Any) -> str:
    """Practice in a window; what it was left for, as `practise` says."""
    from quadsim.viewer.practise import practise

    for note in what.book.notes:
        say(f"note: {note}")
    try:
        asked = practise(what, calibration)
    except KeyboardInterrupt:
        tell(f"quadsim: stopped; finished laps are in {what.book.folder}")
        raise typer.Exit(INTERRUPTED) from None
    say(f"laps and best run in {what.book.folder}")
    return asked


def _lay_out(
    course: str, craft: Craft, mode: str, view: str, seed: int, wind_m_s: float, from_deg: float, device: Path | None,
    runs: Path | None, size: tuple[int, int],
) -> None:  # fmt: skip
    """Lay a course out in a window; from there it is flown as often as asked for."""
    from quadsim.config.craft_view import craft_view
    from quadsim.practice.lap_book import LapBook
    from quadsim.practice.strikes import body_of
    from quadsim.viewer.edit_course import edit_course

    calibration = _device(device, False)
    prepare_kernels()
    from quadsim.viewer.practise import Practice, practise

    def fly(laid: Course) -> None:
        flight = _flight(laid, craft, mode, seed, wind_m_s, from_deg)
        book = LapBook(laid, craft.name, runs.expanduser() if runs else None)
        practise(Practice(flight, book, size, view), calibration)

    laid = edit_course(course, size, radius_m=body_of(craft_view(craft)).radius_m, fly=fly)
    if laid.path is not None:
        say(f"course in {laid.path}")


def _keep_sticks(flight: PracticeFlight, path: Path, again: str) -> None:
    from quadsim.practice.stick_record import write_sticks

    tell(f"sticks in {write_sticks(flight.sticks, path, f'sticks on {flight.course.name}: {again}')}")


def _check(
    mode: str,
    view: str,
    sticks_from: Path | None,
    demo: bool,
    frames: Path | None,
    progress: bool,
    out: Path | None,
    layout: bool,
) -> None:
    """Options that do not go together."""
    problems = []
    if mode not in MODES:
        problems.append(Problem("--mode", f"is {mode!r}", f"must be one of {', '.join(MODES)}"))
    if view not in VIEWS:
        problems.append(Problem("--view", f"is {view!r}", f"must be one of {', '.join(VIEWS)}"))
    if sticks_from is not None and demo:
        problems.append(Problem("--demo", "stands beside --sticks-from", "one of the two"))
    if layout and (sticks_from or demo or progress):
        problems.append(
            Problem(
                "--layout", "stands beside --sticks-from, --demo or --progress", "alone: it opens a window"
            )
        )
    if demo and mode != "height":
        problems.append(Problem("--demo", f"stands beside --mode {mode}", "its pilot flies in height hold"))
    if frames is not None and not (sticks_from or demo):
        problems.append(Problem("--frames", "stands alone", "belongs to --sticks-from or --demo"))
    if out is not None and not progress:
        problems.append(Problem("--out", "stands alone", "belongs to --progress"))
    if problems:
        raise InputError(problems)


def _craft(name: str, gains: Path | None, changes: list[str]) -> Craft:
    """The craft with other gains, sticks or video."""
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


def _flight(
    course: Course, craft: Craft, mode: str, seed: int, wind_m_s: float, from_deg: float
) -> PracticeFlight:
    from quadsim.practice.practice_flight import PracticeFlight, steady_wind

    if mode == "position" and craft.gnss is None:
        raise InputError(
            f"{craft.name} carries no satellite receiver, so it cannot hold a place; choose another --mode"
        )
    wind = steady_wind(wind_m_s, from_deg) if wind_m_s > 0.0 else None
    return PracticeFlight(course, craft, mode=mode, seed=seed, wind=wind)


def _ghost(path: Path | None, planned: bool, course: Course, flight: PracticeFlight) -> Ghost | None:
    """A planned line: of a file, in the axes of the course's, or planned now."""
    if path is not None and planned:
        raise InputError([Problem("--planned", "stands beside --line", "one of the two")])
    if planned:
        return _planned(course, flight)
    if path is None:
        return None
    from quadsim.practice.ghost import read_line

    return read_line(path.expanduser(), flight.course, flight.shift)


def _planned(course: Course, flight: PracticeFlight) -> Ghost:
    """The fastest line of the craft, as `quadsim lap` plans it."""
    import numpy as np

    from quadsim.config import resolve_plant
    from quadsim.contest.lap_limits import LapRule, lap_limits
    from quadsim.environment.atmosphere import Site
    from quadsim.planning.plan import plan
    from quadsim.practice.ghost import line_ghost

    rule = LapRule()
    line = plan(course, lap_limits(flight.craft, resolve_plant(flight.craft, Site()), rule), rule.margin).line
    times = np.arange(0.0, float(line.spline.knots[-1]), 0.02)
    places = line.spline.at(times)
    places[:, :2] -= flight.shift
    return line_ghost(times, places, flight.course, "the planned line")


def _unseen(what: Any, sticks_from: Path | None, frames: Path | None, json_: bool) -> None:
    """One attempt without a window."""
    from quadsim.practice.stick_pilot import StickPilot
    from quadsim.viewer.practise import rehearse
    from quadsim.viewer.scripted_window import sticks_of_trace

    flight = what.flight
    longest = 300.0
    if sticks_from is not None:
        from quadsim.config.stick_trace import read_stick_trace

        rows = read_stick_trace(sticks_from)
        fly, longest = sticks_of_trace(rows, lambda: flight.t_s), float(rows[-1, 0]) + 3.0
    else:
        fly = StickPilot(flight)
    laps, gates = flight.course.laps, len(flight.course.gates)
    with CountProgress(laps * gates + flight.course.closed, "gates passed") as progress:

        def shown() -> Any:
            progress(len(flight.watch.passages), f"flying {flight.t_s:.0f} s")
            return fly()

        folder = frames.expanduser() if frames else None
        window = rehearse(what, shown, folder=folder, longest_s=longest)
    if json_:
        print_json(attempt_document(flight, what.book, window.pictures))
    else:
        print_attempt(flight, what.book, window.pictures)


def _progress(book: LapBook, course: Course, craft: str, out: Path | None, json_: bool) -> None:
    lines = book.laps()
    picture = None
    if out is not None:
        if not lines:
            raise InputError(
                f"no lap of {course.name} with {craft} has been flown yet; they are kept in {book.folder}"
            )
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
