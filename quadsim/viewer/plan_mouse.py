"""The mouse on the layout screen: what a press, a drag or the wheel does depends on where it is."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from quadsim.planning.course_edits import last_of
from quadsim.planning.course_plan import COURSE
from quadsim.viewer.plan_drag import STILL, Drag, Terms, dragged
from quadsim.viewer.plan_heights import bar_at, grip_at, make_strip
from quadsim.viewer.plan_panel import action_places, fault_places
from quadsim.viewer.plan_places import handle_at, thing_at
from quadsim.viewer.plan_state import ACTIONS
from quadsim.viewer.plan_typing import begin_typing, end_typing
from quadsim.viewer.window import Happening

if TYPE_CHECKING:
    from quadsim.viewer.course_editor import CourseEditor

Point = tuple[int, int]
ZOOM = 1.15
"""One notch of the wheel."""


def hear_mouse(editor: CourseEditor, happening: Happening) -> None:
    """Act on the mouse."""
    at = happening.at
    match happening.kind:
        case "press":
            editor.pointed = at
            _press(editor, at)
        case "drag":
            editor.pointed = at
            _drag(editor, happening)
        case "release":
            _release(editor)
        case "move":
            editor.pointed = at
            on_map = editor.layout.map.holds(at) and not editor.help
            editor.hovered = (
                thing_at(editor.view, editor.draft.plan, at, editor.layout.scale) if on_map else None
            )
        case "wheel":
            _wheel(editor, happening.notches)


def _press(editor: CourseEditor, at: Point) -> None:
    if editor.help:
        editor.help = False
        return
    end_typing(editor, True)
    layout = editor.layout
    if _words(editor, at) or _tools(editor, at):
        return
    if layout.map.holds(at):
        _press_map(editor, at)
    elif layout.heights.holds(at):
        bar = bar_at(make_strip(layout, editor.draft.plan), at, layout.scale)
        if bar is not None:
            editor.choose(bar.chosen)
            _begin(editor, Drag(grip_at(bar, at, layout.scale), bar.chosen, at))
    elif layout.panel.holds(at):
        _press_panel(editor, at)


def _words(editor: CourseEditor, at: Point) -> bool:
    """The words of the title line."""
    name = next((name for name, box in editor.layout.words.items() if box.holds(at)), None)
    match name:
        case "undo":
            editor.undo()
        case "redo":
            editor.redo()
        case "snap":
            editor.snap = not editor.snap
        case "help":
            editor.help = True
        case "save":
            editor.save()
        case "fly":
            editor.fly()
    return name is not None


def _tools(editor: CourseEditor, at: Point) -> bool:
    """The tools over the map."""
    name = next((name for name, box in editor.layout.tools.items() if box.holds(at)), None)
    if name == "fit":
        editor.fit()
    elif name is not None:
        editor.arm(name)
    return name is not None


def _press_map(editor: CourseEditor, at: Point) -> None:
    """A handle of what is chosen, else a thing, else the ground."""
    plan, scale, chosen = editor.draft.plan, editor.layout.scale, editor.chosen
    if editor.tool:
        numbers = plan.numbers(plan.gates[chosen.index].name) if chosen.kind == "gate" else ()
        _place(editor, Drag("place", chosen, at, new=editor.tool, after=numbers[0] if numbers else None))
        return
    handle = handle_at(editor.view, plan, chosen, at, scale)
    if handle is not None:
        _begin(editor, Drag(handle.what, chosen, at))
        return
    thing = thing_at(editor.view, plan, at, scale)
    if thing is None:
        _begin(editor, Drag("pan", chosen, at))
        return
    editor.choose(thing)
    _begin(editor, Drag("hold" if thing.kind == "field" else "move", thing, at))


def _press_panel(editor: CourseEditor, at: Point) -> None:
    """Rows, buttons and the list of what is wrong."""
    layout, state = editor.layout, editor.state
    for k, (box, row) in enumerate(zip(layout.rows, editor.rows, strict=False)):
        if not box.holds(at):
            continue
        minus, _, plus = layout.steppers(box)
        editor.row = k
        if row.entry is not None and (minus.holds(at) or plus.holds(at)):
            editor.step_row(k, 1 if plus.holds(at) else -1)
        else:
            begin_typing(editor, k)
        return
    for box, (action, _) in zip(action_places(layout, state), ACTIONS[state.chosen.kind], strict=True):
        if box.holds(at):
            editor.act(action)
            return
    for box, fault in zip(fault_places(layout, state), state.faults, strict=False):
        if box.holds(at):
            editor.choose(fault.chosen)
            return


def _drag(editor: CourseEditor, happening: Happening) -> None:
    drag = editor.drag
    if drag is not None and drag.what == "pan":
        editor.view = editor.view.shifted(happening.moved)
    _drag_to(editor, happening.at)


def _release(editor: CourseEditor) -> None:
    """A click on the ground that was no drag chooses the course itself."""
    drag = editor.drag
    _end(editor)
    if drag is not None and drag.what == "pan" and not drag.begun:
        editor.choose(COURSE)


def _wheel(editor: CourseEditor, notches: int) -> None:
    """Over a number it changes that, over a bar the height, over the chosen gate it turns it, else it zooms."""
    layout, at, plan = editor.layout, editor.pointed, editor.draft.plan
    if editor.drag is not None:
        return
    if layout.panel.holds(at):
        for k, box in enumerate(layout.rows[: len(editor.rows)]):
            if box.holds(at):
                editor.step_row(k, notches)
        return
    if layout.heights.holds(at):
        bar = bar_at(make_strip(layout, plan), at, layout.scale)
        if bar is not None:
            editor.choose(bar.chosen)
            editor.raise_by(notches, bar.chosen)
        return
    if not layout.map.holds(at):
        return
    thing = thing_at(editor.view, plan, at, layout.scale)
    if thing is not None and thing == editor.chosen and thing.kind in ("gate", "start"):
        editor.turn(notches)
    else:
        editor.view = editor.view.zoomed(ZOOM**notches, at)


def _begin(editor: CourseEditor, drag: Drag) -> None:
    """The mouse went down on something."""
    editor.drag = drag
    editor.draft.grip()


def _drag_to(editor: CourseEditor, at: tuple[float, float]) -> None:
    """The mouse went on with its button down."""
    drag = editor.drag
    if drag is None or (not drag.begun and math.dist(drag.at, at) < STILL * editor.layout.scale):
        return
    editor.drag = drag = replace(drag, begun=True)
    _apply(editor, drag, at)


def _place(editor: CourseEditor, drag: Drag) -> None:
    """A new thing where the mouse went down."""
    begun = replace(drag, begun=True)
    _begin(editor, begun)
    _apply(editor, begun, drag.at)
    editor.choose(last_of(editor.draft.plan, drag.new))
    editor.tool = ""


def _apply(editor: CourseEditor, drag: Drag, at: tuple[float, float]) -> None:
    """The plan as it was when the drag began, with the whole of the drag."""
    strip = make_strip(editor.layout, editor.draft.held)
    terms = Terms(editor.view, editor.layout.scale, editor.snap, strip)
    plan, editor.guide = dragged(editor.draft.held, drag, at, terms)
    editor.draft.from_grip(lambda held: plan)
    editor.settle()


def _end(editor: CourseEditor) -> None:
    """The mouse button went up."""
    editor.draft.let_go()
    editor.drag, editor.guide = None, None
