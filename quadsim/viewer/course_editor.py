"""The layout screen at work: what the user does becomes steps of a `CourseDraft`; `wants` says when another screen is due."""

from __future__ import annotations

from pathlib import Path

from quadsim.config.course import Course
from quadsim.config.course_schema import parse_course
from quadsim.errors import QuadsimError
from quadsim.planning.course_draft import CourseDraft, Edit
from quadsim.planning.course_edits import (
    copied,
    flown_again,
    flown_less,
    last_of,
    moved_to,
    removed,
    shifted_in_order,
    turned_to,
)
from quadsim.planning.course_entries import ROWS, Entry, value_of, with_value
from quadsim.planning.course_plan import (
    COURSE,
    FIELD,
    START,
    Chosen,
    GatePlan,
    StartPlan,
    item_of,
    items,
    place_of,
)
from quadsim.planning.course_snap import GRID_M, TURN_DEG, Snapped, stepped
from quadsim.planning.course_text import CourseSource, Fault, faults, save_course, text_of
from quadsim.planning.reachable import unreachable
from quadsim.viewer.canvas import Canvas
from quadsim.viewer.plan_drag import FINE_DEG, FINE_M, HEIGHT_STEP_M, Drag, entry_of
from quadsim.viewer.plan_drawing import draw_sheet, draw_standing
from quadsim.viewer.plan_heights import draw_heights
from quadsim.viewer.plan_help import draw_plan_help
from quadsim.viewer.plan_keys import hear_key
from quadsim.viewer.plan_labels import draw_labels
from quadsim.viewer.plan_layout import make_plan_layout
from quadsim.viewer.plan_map import fitted
from quadsim.viewer.plan_mouse import hear_mouse
from quadsim.viewer.plan_pad import BUTTONS
from quadsim.viewer.plan_panel import draw_panel, draw_title, draw_tools
from quadsim.viewer.plan_state import PlanState, Row, name_of, rows_of
from quadsim.viewer.window import Happening

PAN = 40.0
"""An arrow key moves the map by so much where nothing is chosen [px]."""


class CourseEditor:
    """A course on the table.

    Parameters
    ----------
    source : the course as opened
    size : of the frame [px]
    folder : where a shipped course is saved to
    radius_m : of the craft that is to fly it; before a flight it is looked whether there is a way for that

    wants : empty; `fly` when `course()` is to be flown; `quit` when the screen is to be left
    """

    def __init__(
        self, source: CourseSource, size: tuple[int, int], folder: Path, radius_m: float | None = None
    ) -> None:
        self.layout = make_plan_layout(size)
        self.source, self.folder, self.radius_m = source, folder, radius_m
        self.draft = CourseDraft(source.plan)
        self.view = fitted(source.plan, self.layout.map)
        self.wants = ""
        self.chosen = COURSE
        self.tool, self.note, self.alarm = "", "", False
        self.row: int | None = None
        self.typed: str | None = None
        self.drag: Drag | None = None
        self.pointed: tuple[float, float] = (-1.0, -1.0)
        self.hovered: Chosen | None = None
        self.snap, self.help = True, False
        self.guide: Snapped | None = None
        self._asked = ""
        """What the user has been warned of and may ask for again: fly or quit."""
        self._judged: tuple[object, tuple[Fault, ...]] = (None, ())
        self._drawn: PlanState | None = None

    @property
    def faults(self) -> tuple[Fault, ...]:
        """What is wrong with the plan as it stands."""
        if self._judged[0] is not self.draft.plan:
            self._judged = (self.draft.plan, faults(self.draft.plan))
        return self._judged[1]

    @property
    def state(self) -> PlanState:
        """What the next frame shows."""
        place = (
            "shipped course: saving makes a file of your own"
            if self.source.path is None
            else str(self.source.path)
        )
        drag = self.drag
        return PlanState(
            self.draft.plan, self.view, self.chosen, self.faults, self.tool, self.pointed if self.tool else (-1.0, -1.0),
            self.hovered, self.row, self.typed, self.guide, self.snap, self.draft.changed, self.draft.can_undo,
            self.draft.can_redo, place, self.note, self.alarm, self.help, drag.what if drag and drag.begun else "",
        )  # fmt: skip

    def course(self) -> Course:
        """The course as it stands; raises InputError while something is wrong with it."""
        return parse_course(text_of(self.draft.plan), self.source.stem)

    def draw(self, canvas: Canvas) -> None:
        """Draw the frame, unless nothing has changed since the last one."""
        state = self.state
        if state == self._drawn:
            return
        self._drawn = state
        draw_sheet(canvas, self.layout, state)
        draw_standing(canvas, self.layout, state)
        draw_labels(canvas, self.layout, state)
        draw_tools(canvas, self.layout, state)
        draw_heights(canvas, self.layout, state)
        draw_panel(canvas, self.layout, state)
        draw_title(canvas, self.layout, state)
        if state.help:
            draw_plan_help(canvas, self.layout)

    def redraw(self) -> None:
        """Draw the next frame in any case: another screen was shown meanwhile."""
        self._drawn = None

    def hear(self, happening: Happening) -> None:
        """Act on what the user did."""
        if happening.kind in ("key", "press", "button"):
            self.note, self.alarm = "", False
        if happening.kind == "quit":
            self.leave()
        elif happening.kind in ("key", "repeat"):
            hear_key(self, happening)
        elif happening.kind == "button" and self.typed is None and happening.key in BUTTONS:
            hear_key(self, Happening("key", key=BUTTONS[happening.key]))
        else:
            hear_mouse(self, happening)

    def say(self, note: str, alarm: bool = False) -> None:
        """A sentence for the title line, until the next key or click."""
        self.note, self.alarm = note, alarm

    def do(self, edit: Edit) -> None:
        """A step of editing."""
        self.draft.do(edit)
        self.settle()

    def choose(self, chosen: Chosen) -> None:
        """Another thing in the panel."""
        if chosen != self.chosen:
            self.chosen, self.row, self.typed = chosen, None, None

    def choose_next(self, way: int) -> None:
        """The thing after or before the chosen one."""
        things = [COURSE, *items(self.draft.plan), FIELD]
        at = things.index(self.chosen) if self.chosen in things else 0
        self.choose(things[(at + way) % len(things)])

    def arm(self, kind: str) -> None:
        """The next click on the map places a thing of this kind; the same again puts the tool down."""
        self.tool = "" if self.tool == kind else kind

    def fit(self) -> None:
        """Everything in view."""
        self.view = fitted(self.draft.plan, self.layout.map)

    def undo(self) -> None:
        """Take the last step back."""
        self.say("" if self.draft.undo() else "nothing to undo")
        self.settle()

    def redo(self) -> None:
        """Do what was undone again."""
        self.say("" if self.draft.redo() else "nothing to do again")
        self.settle()

    def nudge(self, forward: int, right: int) -> None:
        """Move the chosen thing a step; where nothing is chosen, the map."""
        if self.chosen == COURSE:
            pan = PAN * self.layout.scale
            self.view = self.view.shifted((-right * pan, forward * pan))
            return
        step = GRID_M if self.snap else FINE_M
        place = place_of(self.draft.plan, self.chosen)
        at = place[0] + forward * step, place[1] + right * step
        self.do(lambda plan: moved_to(plan, self.chosen, at))

    def turn(self, way: float) -> None:
        """Turn the chosen gate or the start: so many steps clockwise, from one round heading to the next."""
        item = item_of(self.draft.plan, self.chosen)
        if isinstance(item, GatePlan | StartPlan):
            step = TURN_DEG if self.snap else FINE_DEG
            heading = stepped(item.heading_deg, step, way)
            self.do(lambda plan: turned_to(plan, self.chosen, heading))

    def raise_by(self, steps: float, chosen: Chosen | None = None) -> None:
        """A gate, post or the start higher or lower."""
        thing = self.chosen if chosen is None else chosen
        if thing.kind in ("gate", "post", "start"):
            self.step_entry(thing, entry_of(thing, "height_m"), steps, HEIGHT_STEP_M if self.snap else FINE_M)

    def step_row(self, row: int, steps: float) -> None:
        """Change the number in a row of the panel by steps of its own."""
        entry = self.rows[row].entry
        if entry is not None:
            self.step_entry(self.chosen, entry, steps, entry.step)

    def step_entry(self, chosen: Chosen, entry: Entry, steps: float, step: float) -> None:
        """Change a number by so many steps, onto whole ones."""
        value = stepped(value_of(self.draft.plan, chosen, entry), step, steps)
        self.do(lambda plan: with_value(plan, chosen, entry, value))

    @property
    def rows(self) -> tuple[Row, ...]:
        """Rows of the panel."""
        return rows_of(self.draft.plan, self.chosen)

    def act(self, action: str) -> None:
        """A button of the panel, or its key."""
        chosen = self.chosen
        edits: dict[str, Edit] = {
            "remove": lambda plan: removed(plan, chosen),
            "again": lambda plan: flown_again(plan, chosen),
            "less": lambda plan: flown_less(plan, chosen),
            "copy": lambda plan: copied(plan, chosen),
        }
        things = {"course": COURSE, "field": FIELD, "start": START}
        if action in things:
            self.choose(things[action])
        elif action in edits:
            self.do(edits[action])
        elif action == "round":
            item = item_of(self.draft.plan, chosen)
            if isinstance(item, GatePlan | StartPlan):
                self.do(lambda plan: turned_to(plan, chosen, item.heading_deg + 180.0))
        elif action in ("earlier", "later") and chosen.kind == "gate":
            place = self.draft.plan.numbers(self.draft.plan.gates[chosen.index].name)[0] - 1
            self.do(lambda plan: shifted_in_order(plan, place, 1 if action == "later" else -1))
        if action == "remove":
            self.choose(COURSE)
        elif action == "copy" and chosen.kind == "gate":
            self.choose(last_of(self.draft.plan, "gate"))

    def save(self) -> None:
        """Write the file; says where, or what is in the way."""
        try:
            self.source = save_course(self.draft.plan, self.source, self.folder)
        except QuadsimError as error:
            if self.faults:
                self._point_at_fault("not saved")
            else:
                self.say(str(error).splitlines()[0], alarm=True)
            return
        self.draft.keep()
        self.say(f"saved to {self.source.path}")

    def fly(self) -> None:
        """Ask for the course to be flown as it stands, saved or not."""
        if self.faults:
            self._point_at_fault("not flown")
            return
        tight = unreachable(self.course(), self.radius_m) if self.radius_m is not None else []
        if tight and self._asked != "fly":
            self._asked = "fly"
            self.say(f"{tight[0].where} {tight[0].given}; fly again to fly it all the same", alarm=True)
            return
        self.wants = "fly"

    def leave(self) -> None:
        """Ask to leave; with steps that are not saved, only when asked twice."""
        if self.draft.changed and self._asked != "quit":
            self._asked = "quit"
            self.say("not saved yet: S saves; leave again to drop the changes", alarm=True)
            return
        self.wants = "quit"

    def settle(self) -> None:
        """After a step: what is chosen must still be there."""
        self._asked = ""
        kind, plan = self.chosen.kind, self.draft.plan
        if kind in ROWS and self.chosen.index >= len(getattr(plan, ROWS[kind])):
            self.choose(COURSE)
        self.hovered = None

    def _point_at_fault(self, what: str) -> None:
        fault = self.faults[0]
        self.choose(fault.chosen)
        self.say(f"{what}: {name_of(self.draft.plan, fault.chosen)} {fault.text}", alarm=True)
