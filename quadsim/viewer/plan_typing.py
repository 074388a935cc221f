"""Typing into a row of the panel: a name, a number; a choice of two takes the other one."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from quadsim.planning.course_edits import renamed
from quadsim.planning.course_entries import put, value_of, with_value
from quadsim.planning.course_plan import FIELD, item_of
from quadsim.viewer.plan_state import CLOSED, NAME, NET, Row, figure

if TYPE_CHECKING:
    from quadsim.viewer.course_editor import CourseEditor


def begin_typing(editor: CourseEditor, row: int, text: str | None = None) -> None:
    """Type into a row, beginning with `text`; without it with the name that is there, or with nothing."""
    editor.row = row
    key = editor.rows[row].key
    if key == CLOSED:
        editor.do(lambda plan: replace(plan, closed=not plan.closed))
    elif key == NET:
        editor.do(lambda plan: put(plan, FIELD, net=not plan.field.net))
    else:
        editor.typed = (editor.rows[row].value if key == NAME else "") if text is None else text


def end_typing(editor: CourseEditor, keep: bool) -> None:
    """Keep what was typed, or drop it."""
    if editor.typed is None or editor.row is None:
        return
    text, row, editor.typed = editor.typed.strip(), editor.rows[editor.row], None
    if not keep or not text:
        return
    if row.entry is None:
        _keep_name(editor, text)
    else:
        _keep_number(editor, text, row)


def _keep_number(editor: CourseEditor, text: str, row: Row) -> None:
    """Within the limits of the file; a number beyond is brought to the nearest and said so."""
    entry = row.entry
    assert entry is not None
    try:
        value = float(text.replace(",", ".").replace("−", "-"))
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        editor.say(f"{text!r} is no number; type one such as 12.5", alarm=True)
        return
    editor.do(lambda plan: with_value(plan, editor.chosen, entry, value))
    kept = value_of(editor.draft.plan, editor.chosen, entry)
    if not math.isclose(kept, value, abs_tol=1e-3) and entry.key != "heading_deg":
        limits = f"{figure(entry.low)} to {figure(entry.high)} {entry.unit}".strip()
        editor.say(f"{row.label.lower()} can be {limits}, and edges stay in order")


def _keep_name(editor: CourseEditor, text: str) -> None:
    before = editor.draft.plan
    editor.do(lambda plan: renamed(plan, editor.chosen, text))
    if editor.draft.plan is before and text != item_of(before, editor.chosen).name:  # type: ignore[union-attr]
        editor.say(f"there is a {editor.chosen.kind} {text} already", alarm=True)
