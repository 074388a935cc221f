"""Open the practice screen, or run it unseen with scripted sticks: the same code either way."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from quadsim.config.stick_device import StickDevice
from quadsim.practice.ghost import Ghost
from quadsim.practice.lap_book import LapBook
from quadsim.practice.practice_flight import PracticeFlight
from quadsim.viewer.calibration_card import kept
from quadsim.viewer.frames import frame_folder
from quadsim.viewer.practice_app import PracticeApp
from quadsim.viewer.practice_layout import make_practice_layout
from quadsim.viewer.scripted_window import Fly, ScriptedWindow
from quadsim.viewer.window import Window


@dataclass(frozen=True)
class Practice:
    """What is practised."""

    flight: PracticeFlight
    book: LapBook
    size: tuple[int, int] = (1280, 720)
    view: str = "chase"
    line: Ghost | None = None


def practise(what: Practice, device: StickDevice | None = None) -> str:
    """Open a window and practise until it is left; returns `layout` where the course is to be laid out, else nothing.

    device : how its sticks are read; if not given, as they were calibrated in the window before, if they were

    Raises InputError where no window can be opened.
    """
    layout = make_practice_layout(what.size)
    window = Window(layout.size, f"quadsim: practice on {what.flight.course.name}", layout.scale)
    try:
        known = device or kept(what.book.shelf, window.device_name)
        app = PracticeApp(what.flight, what.book, layout.size, view=what.view, device=known, line=what.line)
        app.loop(window)
    finally:
        window.close()
    return app.asks_for


def rehearse(
    what: Practice, fly: Fly, *, folder: Path | None = None, every_s: float = 1.0, longest_s: float = 300.0
) -> ScriptedWindow:
    """One attempt with scripted sticks, without a window; pictures go into `folder` if there is one.

    It ends with the attempt or after `longest_s` of flight.
    """
    layout = make_practice_layout(what.size)
    if folder is not None:
        folder = frame_folder(folder)
    window = ScriptedWindow(
        layout.size, layout.scale, fly, folder=folder, every=max(1, round(60.0 * every_s))
    )
    app = PracticeApp(
        what.flight, what.book, layout.size, view=what.view, line=what.line, wall=window.wall, countdown_s=0.0
    )
    while app.open and not what.flight.finished and what.flight.t_s < longest_s:
        app.frame(window, window.frame_s)
    app.finish()
    return window
