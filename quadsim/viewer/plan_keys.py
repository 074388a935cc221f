"""Keys of the layout screen; `plan_help` lists them."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from quadsim.planning.course_plan import COURSE
from quadsim.viewer.plan_typing import begin_typing, end_typing
from quadsim.viewer.window import Happening

if TYPE_CHECKING:
    from quadsim.viewer.course_editor import CourseEditor

ENTER = ("return", "enter")
MOST_LETTERS = 40
REPEATED = ("left", "right", "up", "down", "[", "]", "page up", "page down", "+", "=", "-", "z", "y")
ZOOM_KEY = 1.25


def hear_key(editor: CourseEditor, happening: Happening) -> None:
    """One key pressed, or repeated while it is held."""
    key = happening.key.strip("[]") if len(happening.key) == 3 else happening.key  # the number pad says [7]
    if editor.typed is not None:
        _type(editor, key, happening.text)
        return
    if happening.kind == "repeat" and key not in REPEATED:
        return
    if editor.row is not None and (key in ENTER or (key.isdigit() and editor.rows[editor.row].entry)):
        begin_typing(editor, editor.row, None if key in ENTER else key)
        return
    command = _commands(editor).get(key)
    if command is not None:
        command()


def _commands(editor: CourseEditor) -> dict[str, Callable[[], object]]:
    return {
        "left": lambda: editor.nudge(0, -1),
        "right": lambda: editor.nudge(0, 1),
        "up": lambda: editor.nudge(1, 0),
        "down": lambda: editor.nudge(-1, 0),
        "[": lambda: editor.turn(-1),
        "]": lambda: editor.turn(1),
        "page up": lambda: editor.raise_by(1),
        "page down": lambda: editor.raise_by(-1),
        "+": lambda: _step(editor, 1),
        "=": lambda: _step(editor, 1),
        "-": lambda: _step(editor, -1),
        "tab": lambda: _next_row(editor),
        ",": lambda: editor.choose_next(-1),
        ".": lambda: editor.choose_next(1),
        "g": lambda: editor.arm("gate"),
        "p": lambda: editor.arm("post"),
        "b": lambda: editor.arm("box"),
        "t": lambda: editor.act("round"),
        "c": lambda: editor.act("copy"),
        "e": lambda: editor.act("earlier"),
        "l": lambda: editor.act("later"),
        "a": lambda: editor.act("again"),
        "d": lambda: editor.act("less"),
        "delete": lambda: editor.act("remove"),
        "backspace": lambda: editor.act("remove"),
        "z": editor.undo,
        "y": editor.redo,
        "n": lambda: setattr(editor, "snap", not editor.snap),
        "o": editor.fit,
        "s": editor.save,
        "f": editor.fly,
        "h": lambda: setattr(editor, "help", not editor.help),
        "?": lambda: setattr(editor, "help", not editor.help),
        "q": editor.leave,
        "escape": lambda: _step_back(editor),
    }


def _type(editor: CourseEditor, key: str, text: str) -> None:
    """A key while something is typed."""
    typed = editor.typed or ""
    if key in ENTER:
        end_typing(editor, True)
    elif key == "tab":
        end_typing(editor, True)
        _next_row(editor)
    elif key == "escape":
        end_typing(editor, False)
    elif key == "backspace":
        editor.typed = typed[:-1]
    else:
        letter = text or (" " if key == "space" else key)
        if len(letter) == 1 and letter.isprintable() and len(typed) < MOST_LETTERS:
            editor.typed = typed + letter


def _step(editor: CourseEditor, way: int) -> None:
    """The number in the row, or the map where no row is chosen."""
    if editor.row is not None:
        editor.step_row(editor.row, way)
        return
    area = editor.layout.map
    middle = area.x + area.w / 2.0, area.y + area.h / 2.0
    editor.view = editor.view.zoomed(ZOOM_KEY**way, middle)


def _next_row(editor: CourseEditor) -> None:
    count = len(editor.rows)
    editor.row = 0 if editor.row is None else (editor.row + 1) % count


def _step_back(editor: CourseEditor) -> None:
    """Escape: the card, the tool, the row, what is chosen, the screen: the first of these that there is."""
    if editor.help:
        editor.help = False
    elif editor.tool:
        editor.tool = ""
    elif editor.row is not None:
        editor.row = None
    elif editor.chosen != COURSE:
        editor.choose(COURSE)
    else:
        editor.leave()
