"""Steps of editing a course, snapping and distances, on numbers done by hand."""

import math

import pytest

from quadsim.planning.course_edits import (
    added,
    copied,
    flown_again,
    flown_less,
    last_of,
    moved_to,
    removed,
    renamed,
    shifted_in_order,
    turned_to,
)
from quadsim.planning.course_entries import ENTRIES, value_of, with_value
from quadsim.planning.course_plan import COURSE, FIELD, START, Chosen
from quadsim.planning.course_snap import (
    distances,
    leg_lengths,
    snapped,
    snapped_heading,
    snapped_length,
    stepped,
)
from tests.planning.draft_cases import invented_plan

NEAR, RIGHT, FAR = (Chosen("gate", k) for k in range(3))
POST, BOX = Chosen("post", 0), Chosen("box", 0)


def entry(kind, label):
    return next(entry for entry in ENTRIES[kind] if entry.label == label)


def test_a_new_gate_looks_away_from_the_one_before_it_and_has_its_size():
    plan = added(invented_plan(), "gate", (20.0, 18.04), after=2)  # 10 m to the right of gate `right`
    gate = plan.gates[last_of(plan, "gate").index]
    assert plan.order == ("near", "right", gate.name, "far", "near")
    assert (gate.forward_m, gate.right_m, gate.heading_deg) == (20.0, 18.04, 90.0)
    assert (gate.width_m, gate.tall_m, gate.height_m) == (2.5, 2.0, 3.0)


def test_the_first_gate_of_an_empty_course_is_flown_from_the_start():
    plan = invented_plan()
    for _ in range(3):
        plan = removed(plan, NEAR)
    assert plan.order == ()
    plan = added(plan, "gate", (0.0, -12.0))
    assert plan.gates[0].heading_deg == 270.0


def test_names_of_new_things_are_free():
    plan = added(added(invented_plan(), "post", (1.0, 2.0)), "post", (3.0, 4.0))
    assert [post.name for post in plan.posts] == ["pole", "post 1", "post 2"]
    plan = added(removed(plan, Chosen("post", 1)), "post", (5.0, 6.0))
    assert [post.name for post in plan.posts] == ["pole", "post 2", "post 1"]


def test_removing_a_gate_removes_its_passages():
    assert removed(invented_plan(), NEAR).order == ("right", "far")
    assert removed(invented_plan(), START) == invented_plan()


def test_a_box_keeps_its_size_when_moved_and_stops_at_the_limit():
    plan = moved_to(invented_plan(), BOX, (0.0, 1.0))
    assert plan.boxes[0].forward_m == (-2.0, 2.0)
    assert plan.boxes[0].right_m == (-1.5, 3.5)
    plan = moved_to(plan, BOX, (1e6, 0.0))
    assert plan.boxes[0].forward_m == (996.0, 1000.0)


def test_renaming_a_gate_renames_its_passages_and_a_taken_name_is_refused():
    assert renamed(invented_plan(), NEAR, " door ").order == ("door", "right", "far", "door")
    for name in ("far", "  "):
        assert renamed(invented_plan(), NEAR, name) == invented_plan()
    assert renamed(invented_plan(), COURSE, "Other").name == "Other"


def test_the_order_shifts_and_a_passage_more_or_less():
    plan = shifted_in_order(invented_plan(), 1, 1)
    assert plan.order == ("near", "far", "right", "near")
    assert shifted_in_order(plan, 3, 1) == plan
    assert flown_again(plan, FAR).order == ("near", "far", "right", "near", "far")
    assert flown_less(plan, NEAR).order == ("near", "far", "right")
    assert flown_less(plan, FAR) == plan  # a gate that is flown once stays in the course


def test_values_stay_within_limits_and_edges_in_order():
    plan = invented_plan()
    assert with_value(plan, NEAR, entry("gate", "Opening, wide"), 99.0).gates[0].width_m == 50.0
    assert with_value(plan, NEAR, entry("gate", "Heading"), -30.0).gates[0].heading_deg == 330.0
    assert with_value(plan, BOX, entry("box", "Near edge"), 40.0).boxes[0].forward_m == (26.0, 26.0)
    assert with_value(plan, COURSE, entry("course", "Laps"), 2.6).laps == 3
    assert value_of(plan, FIELD, entry("field", "Right edge")) == 30.0


def test_only_what_has_a_heading_turns():
    assert turned_to(invented_plan(), START, 365.0).start.heading_deg == 5.0
    assert turned_to(invented_plan(), POST, 90.0) == invented_plan()


def test_snapping_takes_the_line_of_a_neighbour_else_the_grid():
    plan = invented_plan()
    found = snapped(plan, FAR, (19.8, 3.3), reach_m=0.4)
    assert found.at == (20.0, 3.5)
    assert (found.forward_of, found.right_of) == (RIGHT, None)
    found = snapped(plan, FAR, (23.3, 7.7), reach_m=0.4)  # the hut's middle is 24, too far off
    assert found.at == (23.5, 8.0)
    assert found.right_of == RIGHT


@pytest.mark.parametrize(("asked", "given"), [(7.4, 0.0), (7.6, 15.0), (352.6, 0.0), (-20.0, 345.0)])
def test_headings_snap_to_fifteen_degrees(asked, given):
    assert snapped_heading(asked) == given


def test_lengths_snap_to_their_step():
    assert snapped_length(2.04, 0.1) == 2.0
    assert snapped_length(2.06, 0.1) == 2.1


def test_distances_to_the_gates_before_and_after():
    found = {d.to: d.length_m for d in distances(invented_plan(), RIGHT)}
    assert found == {NEAR: pytest.approx(math.sqrt(164.0)), FAR: pytest.approx(math.sqrt(244.0))}
    first = [d.to for d in distances(invented_plan(), NEAR)]
    assert first == [START, RIGHT, FAR]
    assert [d.to for d in distances(invented_plan(), POST)] == [NEAR]
    assert distances(invented_plan(), FIELD) == []


def test_legs_are_measured_in_space():
    assert leg_lengths(invented_plan()) == pytest.approx([math.sqrt(165), math.sqrt(245), math.sqrt(416)])


@pytest.mark.parametrize(
    ("value", "steps", "given"), [(7.0, 1, 15.0), (7.0, -1, 0.0), (15.0, 2, 45.0), (0.3, -1, 0.0)]
)
def test_steps_end_on_whole_ones(value, steps, given):
    assert stepped(value, 15.0, steps) == given


def test_a_step_of_a_tenth_does_not_stick():
    """0.3 / 0.1 is 2.9999999999999996 in binary."""
    assert stepped(0.3, 0.1, 1) == 0.4
    assert stepped(0.3, 0.1, -1) == 0.2


def test_a_copy_stands_behind_and_is_flown_next():
    plan = copied(invented_plan(), RIGHT)
    gate = plan.gates[3]
    assert plan.order == ("near", "right", gate.name, "far", "near")
    on = math.sqrt(8.0)  # 4 m at 45 degrees
    assert (gate.forward_m, gate.right_m) == pytest.approx((20.0 + on, 8.0 + on), abs=1e-3)
    assert (gate.heading_deg, gate.width_m, gate.tall_m, gate.height_m) == (45.0, 2.5, 2.0, 3.0)
    assert copied(plan, POST) == plan
