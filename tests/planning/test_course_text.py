"""A plan written and read back is the same plan; shipped courses are never written over."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quadsim.config.course_schema import load_course, parse_course
from quadsim.config.find_data import shipped
from quadsim.errors import InputError
from quadsim.planning.course_edits import added, moved_to, removed
from quadsim.planning.course_entries import ENTRIES, with_value
from quadsim.planning.course_plan import COURSE, FIELD, Chosen
from quadsim.planning.course_text import faults, open_course, save_course, text_of
from tests.planning.draft_cases import invented_plan

COURSES = sorted(shipped("courses"))
NUMBER = st.floats(-900.0, 900.0, allow_nan=False).map(lambda value: round(value, 3))
SIZE = st.floats(0.5, 5.0).map(lambda value: round(value, 3))

GATE = st.tuples(st.text(min_size=1, max_size=6), NUMBER, NUMBER, SIZE)


@pytest.mark.parametrize("name", COURSES)
def test_a_shipped_course_is_read_written_and_read_back_identical(name, tmp_path):
    source = open_course(name)
    kept = save_course(source.plan, source, tmp_path)
    assert open_course(kept.path).plan == source.plan
    first, second = load_course(name), load_course(kept.path)
    assert [gate.name for gate in first.gates] == [gate.name for gate in second.gates]
    np.testing.assert_array_equal([g.centre for g in first.gates], [g.centre for g in second.gates])
    assert [g.heading for g in first.gates] == [g.heading for g in second.gates]


@settings(max_examples=30, deadline=None)
@given(
    st.lists(GATE, min_size=1, max_size=3, unique_by=lambda row: row[0]),
    st.text(max_size=8),
    st.booleans(),
)
def test_any_plan_is_read_back_as_it_was_written(rows, about, closed):
    plan = replace(invented_plan(), about=about, closed=closed, posts=(), boxes=())
    gates = tuple(
        replace(plan.gates[0], name=name, forward_m=f, right_m=r, width_m=w, height_m=2.0 + 4.0 * k)
        for k, (name, f, r, w) in enumerate(rows)
    )  # one above the other, so that none cuts through another
    plan = replace(plan, gates=gates, order=tuple(gate.name for gate in (*gates, gates[0])))
    plan = replace(plan, field=replace(plan.field, forward_m=(-999.0, 999.0), right_m=(-999.0, 999.0)))
    assert faults(plan) == ()
    course = parse_course(text_of(plan))
    assert [gate.name for gate in course.gates] == list(plan.order)
    assert [gate.width for gate in course.gates] == [gate.width_m for gate in plan.flown]
    assert [-gate.centre[2] for gate in course.gates] == [gate.height_m for gate in plan.flown]
    assert course.about == about


def test_a_shipped_course_goes_into_the_folder_under_a_free_name(tmp_path):
    (tmp_path / "hall_2.toml").write_text("taken", encoding="utf-8")
    source = open_course("hall")
    assert source.path is None
    before = shipped("courses")["hall"].read_bytes()
    plan = moved_to(source.plan, Chosen("gate", 0), (6.5, 3.0))
    kept = save_course(plan, source, tmp_path)
    assert kept.path == tmp_path / "hall_3.toml"
    assert shipped("courses")["hall"].read_bytes() == before
    again = save_course(removed(plan, Chosen("post", 0)), kept, tmp_path / "elsewhere")
    assert again.path == kept.path  # from now on it is the user's own file
    assert len(open_course(kept.path).plan.posts) == 1


def test_a_shipped_course_opened_by_its_path_is_not_written_over_either():
    assert open_course(shipped("courses")["hall"]).path is None


def test_the_comments_at_the_top_are_kept(tmp_path):
    source = open_course("hall")
    assert source.header.startswith("# Invented demo data")
    kept = save_course(source.plan, source, tmp_path)
    text = kept.path.read_text(encoding="utf-8")
    assert text.startswith(source.header + "name = ")
    assert save_course(source.plan, open_course(kept.path), tmp_path).path.read_text(encoding="utf-8") == text


def test_a_file_that_does_not_exist_begins_an_empty_course(tmp_path):
    source = open_course(tmp_path / "back_yard.toml")
    assert source.plan.name == "Back yard"
    assert [fault.chosen for fault in faults(source.plan)] == [COURSE]
    with pytest.raises(InputError, match="no gate yet"):
        save_course(source.plan, source, tmp_path)
    assert not (tmp_path / "back_yard.toml").exists()
    save_course(added(source.plan, "gate", (10.0, 0.0)), source, tmp_path)
    assert load_course(tmp_path / "back_yard.toml").gates[0].name == "gate 1"


def test_a_course_with_a_fault_opens_and_is_not_saved(tmp_path):
    """A gate 1.4 m tall whose middle is 0.5 m up stands 0.2 m in the ground."""
    path = tmp_path / "low.toml"
    source = open_course("hall")
    plan = with_value(source.plan, Chosen("gate", 2), ENTRIES["gate"][2], 0.5)
    path.write_text(text_of(plan), encoding="utf-8")
    opened = open_course(path)
    (fault,) = faults(opened.plan)
    assert fault.chosen == Chosen("gate", 2)
    assert "0.20 m into the ground" in fault.text
    before = path.read_bytes()
    with pytest.raises(InputError, match="into the ground"):
        save_course(opened.plan, opened, tmp_path)
    assert path.read_bytes() == before


def test_faults_name_their_thing():
    plan = moved_to(invented_plan(), Chosen("gate", 1), (20.0, 99.0))
    plan = replace(plan, field=replace(plan.field, forward_m=(50.0, 50.0)))
    found = {fault.chosen: fault.text for fault in faults(plan)}
    assert "must be [from, to]" in found[FIELD]
    assert (
        found[Chosen("gate", 1)]
        == "right is 99; must lie in the field, -30 to 30 m, 0.88 m to the end of its opening"
    )


def test_faults_of_two_things_name_the_other_one():
    plan = moved_to(invented_plan(), Chosen("gate", 1), (10.0, 0.5))  # 3 m high, across the one at 2 m
    (fault,) = faults(plan)
    assert (fault.chosen, fault.text) == (Chosen("gate", 1), "cuts through 'near'; openings must not overlap")
    plan = moved_to(invented_plan(), Chosen("post", 0), (10.0, 0.0))
    assert faults(plan)[0].text == "has the post 'pole' in its opening; an opening must be free"
    plan = moved_to(invented_plan(), Chosen("start"), (24.0, -11.0))
    assert [(f.chosen, f.text) for f in faults(plan)] == [
        (Chosen("start"), "is in the box 'hut'; the start must be free")
    ]


def test_a_file_with_two_gates_of_one_name_is_refused(tmp_path):
    path = tmp_path / "twice.toml"
    text = text_of(invented_plan()).replace('name = "right"', 'name = "near"')
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match="name of its own"):
        open_course(path)
