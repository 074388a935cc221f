"""What the layout screen shows: the plan, what is chosen, how it is looked at."""

from __future__ import annotations

from dataclasses import dataclass

from quadsim.planning.course_entries import ENTRIES, ROWS, Entry, value_of
from quadsim.planning.course_plan import COURSE, FIELD, Chosen, CoursePlan, item_of
from quadsim.planning.course_snap import Snapped
from quadsim.planning.course_text import Fault
from quadsim.viewer.plan_map import PlanMap

NAME = "name"
CLOSED = "closed"
NET = "net"
"""Keys of the rows that are no numbers; the last two are a choice of two."""


@dataclass(frozen=True)
class PlanState:
    """One frame's worth.

    tool : kind of thing that the next click places, or empty; pointed : place of the mouse
    row : row of the panel that keys change, or None; typed : what is being typed there, or None
    guide : what a drag has snapped to; note : a sentence for the title line
    """

    plan: CoursePlan
    view: PlanMap
    chosen: Chosen = COURSE
    faults: tuple[Fault, ...] = ()
    tool: str = ""
    pointed: tuple[float, float] = (-1.0, -1.0)
    hovered: Chosen | None = None
    row: int | None = None
    typed: str | None = None
    guide: Snapped | None = None
    snap: bool = True
    changed: bool = False
    can_undo: bool = False
    can_redo: bool = False
    place: str = ""
    note: str = ""
    alarm: bool = False
    help: bool = False
    dragging: str = ""


@dataclass(frozen=True)
class Row:
    """A row of the panel: a text to be typed (`entry` None) or a number."""

    label: str
    value: str
    unit: str = ""
    entry: Entry | None = None
    key: str = ""


def rows_of(plan: CoursePlan, chosen: Chosen) -> tuple[Row, ...]:
    """The rows for what is chosen, in the order of the panel."""
    rows = []
    if chosen.kind in ROWS or chosen == COURSE:
        rows.append(Row("Name", item_of(plan, chosen).name, key=NAME))  # type: ignore[union-attr]
    for entry in ENTRIES[chosen.kind]:
        rows.append(Row(entry.label, figure(value_of(plan, chosen, entry)), entry.unit, entry))
    if chosen == COURSE:
        rows.append(Row("Lap ends at", "first gate" if plan.closed else "last gate", key=CLOSED))
    elif chosen == FIELD:
        rows.append(Row("Sides", "net or walls" if plan.field.net else "declared limits", key=NET))
    return tuple(rows)


ACTIONS: dict[str, tuple[tuple[str, str], ...]] = {
    "gate": (
        ("round", "Turn round"), ("copy", "Copy"), ("earlier", "Earlier"), ("later", "Later"),
        ("again", "Fly again"), ("less", "Fly less"), ("remove", "Remove"), ("course", "Course"),
    ),
    "post": (("remove", "Remove"), ("course", "Course")),
    "box": (("remove", "Remove"), ("course", "Course")),
    "start": (("round", "Turn round"), ("course", "Course")),
    "field": (("course", "Course"),),
    "course": (("field", "Field limits"), ("start", "Start")),
}  # fmt: skip
"""Buttons below the rows: what they do, and what stands on them."""


def figure(value: float) -> str:
    """A number as on the panel: at most three decimals, with a true minus sign."""
    return f"{round(value, 3) + 0.0:.10g}".replace("-", "−")


def title_of(plan: CoursePlan, chosen: Chosen) -> tuple[str, str]:
    """What is chosen, and its place in the order or among its kind."""
    match chosen.kind:
        case "gate":
            numbers = plan.numbers(plan.gates[chosen.index].name)
            listed = (
                ", ".join(map(str, numbers[:-1])) + (" and " if len(numbers) > 1 else "") + str(numbers[-1])
            )
            return "Gate", f"flown as number {listed} of {len(plan.order)}"
        case "post":
            return "Post", f"{chosen.index + 1} of {len(plan.posts)}"
        case "box":
            return "No-fly box", f"{chosen.index + 1} of {len(plan.boxes)}"
        case "start":
            return "Start", "where the craft waits for the signal"
        case "field":
            return "Field", "limits of the flying space"
        case _:
            counts = (len(plan.gates), "gate"), (len(plan.posts), "post"), (len(plan.boxes), "box")
            return "Course", ", ".join(_count(*one) for one in counts)


def _count(number: int, noun: str) -> str:
    """`1 gate`, `2 boxes`, `no post`."""
    if number == 1:
        return f"1 {noun}"
    plural = noun + ("es" if noun.endswith("x") else "s")
    return f"{number or 'no'} {plural}"


def name_of(plan: CoursePlan, chosen: Chosen) -> str:
    """A thing in a sentence."""
    if chosen.kind in ROWS:
        return f"{chosen.kind} {item_of(plan, chosen).name}"  # type: ignore[union-attr]
    return {"start": "start", "field": "field"}.get(chosen.kind, "course")
