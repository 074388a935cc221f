"""Keys, buttons and clicks of the practice screen; the help card lists them."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from quadsim.practice.aids import AIDS
from quadsim.viewer.cameras import Orbit
from quadsim.viewer.pilot_cameras import VIEWS
from quadsim.viewer.practice_cards import AID_KEYS, aid_row
from quadsim.viewer.practice_layout import HINTS

if TYPE_CHECKING:
    from quadsim.viewer.practice_app import PracticeApp

BUTTONS = {"0": "r", "1": "v", "2": "m", "3": "tab", "4": "p", "5": "e", "6": "c", "7": "h", "8": "0"}
"""Button of a gamepad -> the key that it stands for."""
IN_AIDS = {"0": "return", "1": "down", "3": "tab", "hat up": "up", "hat down": "down"}
IN_CALIBRATION = {"0": "return", "1": "escape"}
"""The same while the aids are open, and while sticks are calibrated."""


def commands(app: PracticeApp) -> dict[str, Callable[[], object]]:
    """What each key does."""
    screen = app.screen
    found: dict[str, Callable[[], object]] = {
        "r": app.restart, "space": app.again, "p": lambda: app.pause("paused; P goes on"),
        "v": app.next_view, "m": app.next_mode, "tab": lambda: app.look(aids_open=not screen.aids_open),
        "h": lambda: app.look(help=not screen.help), "?": lambda: app.look(help=not screen.help),
        "e": app.lay_out, "c": app.calibrate, "q": app.quit, "escape": app.step_back, "0": lambda: app.look(orbit=Orbit()),
    }  # fmt: skip
    for n, name in enumerate(VIEWS, start=1):
        found[str(n)] = lambda name=name: app.look(view=name)  # type: ignore[misc]
    for name, letter in AID_KEYS.items():
        found[letter.lower()] = lambda name=name: app.toggle_aid(name)  # type: ignore[misc]
    return found


def hear_key(app: PracticeApp, key: str) -> None:
    """One key pressed."""
    if app.calibrating is not None:
        if key in ("return", "enter", "space"):
            app.calibrating.take()
        elif key in ("escape", "c", "q"):
            app.end_calibration()
        return
    if app.screen.aids_open and key in ("up", "down", "return"):
        _move_in_aids(app, key)
        return
    command = commands(app).get(key)
    if command is not None:
        command()


def hear_button(app: PracticeApp, button: str) -> None:
    """Buttons of a gamepad do what BUTTONS says; with the aids open, or while calibrating, Enter and a way on or out."""
    keys = IN_CALIBRATION if app.calibrating else IN_AIDS if app.screen.aids_open else BUTTONS
    if button in keys:
        hear_key(app, keys[button])


def hear_press(app: PracticeApp, at: tuple[int, int]) -> None:
    """A click: on a card, a word of the title line, the clock."""
    layout = app.view.layout
    if app.calibrating is not None:
        app.calibrating.take() if layout.insets["card"].holds(at) else app.end_calibration()
        return
    if app.screen.help:
        app.look(help=False)
        return
    if layout.panels["clock"].holds(at):
        hear_key(app, "p")
    for name, key in HINTS.items():
        if layout.panels[f"hint_{name}"].holds(at):
            hear_key(app, key.lower())
            return
    if app.screen.aids_open:
        for k, name in enumerate(AIDS):
            if aid_row(layout, k).holds(at):
                app.look(aid_chosen=k)
                app.toggle_aid(name)


def _move_in_aids(app: PracticeApp, key: str) -> None:
    chosen = app.screen.aid_chosen
    if key == "return":
        app.toggle_aid(tuple(AIDS)[chosen])
    else:
        app.look(aid_chosen=(chosen + (1 if key == "down" else -1)) % len(AIDS))
