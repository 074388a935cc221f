"""A window in which a course is laid out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from quadsim.config.course import Course
from quadsim.errors import QuadsimError
from quadsim.planning.course_text import open_course
from quadsim.viewer.app import FRAMES_PER_S, Screen
from quadsim.viewer.course_editor import CourseEditor
from quadsim.viewer.layout import make_layout
from quadsim.viewer.plan_pad import PadStick
from quadsim.viewer.window import Happening, Window


@dataclass(frozen=True)
class LaidOut:
    """What comes of it. course : to be flown at once, None when the window was left; path : the file saved last, if any."""

    course: Course | None
    path: Path | None


def edit_course(
    course: str | Path, size: tuple[int, int] = (1280, 720), *, folder: Path | None = None,
    radius_m: float | None = None, fly: Callable[[Course], None] | None = None,
) -> LaidOut:  # fmt: skip
    """Lay out a course in a window until it is left, or is to be flown.

    course : a shipped course's name, a file, or a .toml file that does not exist yet
    folder : where a shipped course is saved to, under a new name; the working folder if not given
    radius_m : of the craft that is to fly it, if known
    fly : flies a course in a window of its own; after that the layout goes on where it was, with all its steps to undo

    Raises
    ------
    InputError
        for a course or a size that is not allowed, or where no window can be opened.
    """
    editor = CourseEditor(open_course(course), make_layout(size).size, folder or Path.cwd(), radius_m)
    while True:
        laid = _in_window(editor)
        if laid.course is None or fly is None:
            return laid
        try:
            fly(laid.course)
        except QuadsimError as error:  # what was laid out must not be lost by a flight that cannot begin
            editor.say(f"not flown: {' '.join(str(error).split())}", alarm=True)


def _in_window(editor: CourseEditor) -> LaidOut:
    name, scale = editor.draft.plan.name, editor.layout.scale
    window: Screen = Window(editor.layout.size, f"quadsim: {name} (layout)", scale)
    try:
        return run_editor(editor, window)
    finally:
        window.close()


def run_editor(editor: CourseEditor, screen: Screen) -> LaidOut:
    """Frame after frame until the editor wants another screen; it can be called again with the same editor after a flight."""
    editor.wants = ""
    editor.redraw()
    stick = PadStick()
    while not editor.wants:
        for happening in screen.happenings():
            editor.hear(happening)
        if arrow := stick.key(screen.axes()):
            editor.hear(Happening("key", key=arrow))
        editor.draw(screen.canvas)
        screen.show(FRAMES_PER_S)
    return LaidOut(editor.course() if editor.wants == "fly" else None, editor.source.path)
