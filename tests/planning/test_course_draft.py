"""Undo and redo of a layout, by any sequence of steps."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quadsim.config.course_schema import parse_course
from quadsim.errors import InputError
from quadsim.planning.course_draft import CourseDraft
from quadsim.planning.course_edits import (
    added,
    flown_again,
    flown_less,
    moved_to,
    removed,
    renamed,
    shifted_in_order,
    turned_to,
)
from quadsim.planning.course_entries import ENTRIES, with_value
from quadsim.planning.course_plan import COURSE, FIELD, START, Chosen, items
from quadsim.planning.course_text import faults, text_of
from tests.planning.draft_cases import invented_plan

LENGTH = st.floats(-1200.0, 1200.0, allow_nan=False)
PLACE = st.tuples(LENGTH, LENGTH)
PICK = st.integers(0, 30)
STEP = st.one_of(
    st.tuples(st.just("add"), st.sampled_from(["gate", "post", "box"]), PLACE, st.integers(0, 3)),
    st.tuples(st.just("remove"), PICK),
    st.tuples(st.just("move"), PICK, PLACE),
    st.tuples(st.just("turn"), PICK, st.floats(-720.0, 720.0)),
    st.tuples(st.just("set"), PICK, PICK, LENGTH),
    st.tuples(st.just("rename"), PICK, st.text("ab ", max_size=3)),
    st.tuples(st.just("shift"), st.integers(-1, 6), st.sampled_from([-1, 1])),
    st.tuples(st.just("again"), PICK),
    st.tuples(st.just("less"), PICK),
    st.tuples(st.just("drag"), PICK, st.lists(PLACE, max_size=4)),
)
EDITS = {
    "remove": removed,
    "move": moved_to,
    "turn": turned_to,
    "rename": renamed,
    "again": flown_again,
    "less": flown_less,
}


def pick(plan, number):
    things = [*items(plan), FIELD, COURSE]
    return things[number % len(things)]


def take(draft, step):
    """One step of a user."""
    what, *rest = step
    if what == "add":
        kind, at, after = rest
        draft.do(lambda plan: added(plan, kind, at, min(after, len(plan.order))))
        return
    if what == "shift":
        draft.do(lambda plan: shifted_in_order(plan, *rest))
        return
    chosen = pick(draft.plan, rest[0])
    if what == "drag":
        draft.grip()
        for at in rest[1]:
            draft.from_grip(lambda plan, at=at: moved_to(plan, chosen, at))
        draft.let_go()
    elif what == "set":
        entries = ENTRIES[chosen.kind]
        draft.do(lambda plan: with_value(plan, chosen, entries[rest[1] % len(entries)], rest[2]))
    else:
        draft.do(lambda plan: EDITS[what](plan, chosen, *rest[1:]))


@settings(max_examples=60, deadline=None)
@given(st.lists(STEP, max_size=25))
def test_as_many_undos_give_the_first_course_and_as_many_redos_the_last(steps):
    first = invented_plan()
    draft = CourseDraft(first)
    for step in steps:
        take(draft, step)
    last, back = draft.plan, 0
    while draft.undo():
        back += 1
    assert draft.plan == first
    assert not draft.changed
    assert sum(draft.redo() for _ in range(back)) == back
    assert draft.plan == last
    assert not draft.can_redo


@settings(max_examples=50, deadline=None)
@given(st.lists(STEP, max_size=15))
def test_a_plan_stays_sound_whatever_is_done_to_it(steps):
    """Names are unique, the order names gates that exist, edges stay in order, limits hold."""
    draft = CourseDraft(invented_plan())
    for step in steps:
        take(draft, step)
    plan = draft.plan
    for row in (plan.gates, plan.posts, plan.boxes):
        assert len({thing.name for thing in row}) == len(row)
    assert set(plan.order) == {gate.name for gate in plan.gates}
    for box in (*plan.boxes, plan.field):
        assert box.forward_m[0] <= box.forward_m[1]
        assert box.right_m[0] <= box.right_m[1]
    assert_file_agrees(plan)
    for gate in plan.gates:
        assert 0.0 <= gate.heading_deg < 360.0
        assert abs(gate.forward_m) <= 1000.0


def assert_file_agrees(plan):
    """What the screen lists is what the file's reader finds: nothing listed is read back, anything listed is refused."""
    text = text_of(plan)
    if faults(plan):
        with pytest.raises(InputError):
            parse_course(text)
    else:
        assert len(parse_course(text).gates) == len(plan.order)


def test_a_drag_is_one_step_and_a_drag_back_is_none():
    draft = CourseDraft(invented_plan())
    gate = Chosen("gate", 1)
    draft.grip()
    for at in ((21.0, 8.0), (22.0, 9.0), (25.0, 10.0)):
        draft.from_grip(lambda plan, at=at: moved_to(plan, gate, at))
    draft.let_go()
    assert (draft.plan.gates[1].forward_m, draft.plan.gates[1].right_m) == (25.0, 10.0)
    assert draft.undo()
    assert not draft.can_undo
    draft.grip()
    draft.from_grip(lambda plan: moved_to(plan, gate, (0.0, 0.0)))
    draft.from_grip(lambda plan: moved_to(plan, gate, (20.0, 8.0)))
    draft.let_go()
    assert not draft.can_undo
    assert draft.can_redo  # nothing new was done, so what was undone can still be done again


def test_a_step_that_changes_nothing_leaves_no_trace():
    draft = CourseDraft(invented_plan())
    assert not draft.do(lambda plan: moved_to(plan, START, (0.0, 0.0)))
    assert not draft.can_undo
    draft.do(lambda plan: turned_to(plan, START, 90.0))
    draft.keep()
    assert not draft.changed
    draft.undo()
    assert draft.changed
