"""The layout screen, worked by scripted keys and mouse without a window."""

import pytest

from quadsim.planning.course_entries import with_value
from quadsim.planning.course_plan import COURSE, FIELD, START, Chosen
from quadsim.planning.course_text import open_course
from quadsim.viewer.course_editor import CourseEditor
from quadsim.viewer.plan_drag import entry_of
from quadsim.viewer.plan_heights import make_strip
from quadsim.viewer.plan_panel import fault_places
from quadsim.viewer.plan_places import handles
from tests.viewer.editor_hand import SIZE, Hand


@pytest.fixture
def hall(tmp_path):
    return CourseEditor(open_course("hall"), SIZE, tmp_path)


@pytest.fixture
def hand(hall):
    return Hand(hall)


def test_place_drag_turn_undo_save_and_reload(hall, hand, tmp_path):
    """The whole way by mouse: the file that is read back is the plan on the screen."""
    first = hall.draft.plan
    hand.click(hall.layout.tools["gate"])
    begin = hand.at(11.1, 6.9)
    hand.drag(begin, (begin[0] + 60, begin[1]))  # aimed to the right
    gate = hall.draft.plan.gates[6]
    assert (gate.forward_m, gate.right_m, gate.heading_deg) == (11.0, 7.0, 90.0)
    assert hall.draft.plan.order[-1] == gate.name
    assert hall.chosen == Chosen("gate", 6)

    hand.drag(hand.at(11.0, 7.0), hand.at(12.0, 7.0), hand.at(12.4, 4.6))
    assert (hall.draft.plan.gates[6].forward_m, hall.draft.plan.gates[6].right_m) == (12.5, 4.5)
    knob = next(h for h in handles(hall.view, hall.draft.plan, hall.chosen, 1.0) if h.what == "turn")
    hand.drag((round(knob.at[0]), round(knob.at[1])), hand.at(6.0, 4.5))
    assert hall.draft.plan.gates[6].heading_deg == 180.0
    hand.click(hall.layout.words["undo"])
    assert hall.draft.plan.gates[6].heading_deg == 90.0
    hand.click(hall.layout.words["redo"])
    assert hall.draft.plan.gates[6].heading_deg == 180.0

    hand.click(hall.layout.words["save"])
    assert hall.note == f"saved to {tmp_path / 'hall_2.toml'}"
    assert not hall.draft.changed
    assert open_course(tmp_path / "hall_2.toml").plan == hall.draft.plan
    hand.keys("z", "z", "z")
    assert hall.draft.plan == first
    assert hall.note == ""
    hand.keys("z")
    assert hall.note == "nothing to undo"


def test_the_ends_of_a_gate_size_it(hall, hand):
    hall.choose(Chosen("gate", 0))  # at 6, 3, heading 0: its right end lies to the right
    hand.drag(hand.at(6.0, 3.7), hand.at(6.0, 4.3))
    assert hall.draft.plan.gates[0].width_m == pytest.approx(2.6, abs=0.11)
    assert hall.draft.plan.gates[0].width_m * 10 == pytest.approx(
        round(hall.draft.plan.gates[0].width_m * 10)
    )


def test_edges_of_a_box_and_of_the_field(hall, hand):
    hand.keys("b")
    hand.drag(hand.at(10.0, 10.0))
    box = hall.draft.plan.boxes[0]
    assert (box.forward_m, box.right_m) == ((8.0, 12.0), (8.0, 12.0))
    hand.drag(hand.at(12.0, 10.0), hand.at(13.1, 10.0))
    assert hall.draft.plan.boxes[0].forward_m == (8.0, 13.0)
    hand.drag(hand.at(11.5, 11.0), hand.at(12.5, 11.0))  # inside: all of it moves
    assert hall.draft.plan.boxes[0].forward_m == (9.0, 14.0)
    hand.drag(hand.at(-2.0, 0.0))
    assert hall.chosen == FIELD
    assert hall.draft.plan.field.net
    hand.click(hall.layout.rows[hand.row("Sides")])
    assert not hall.draft.plan.field.net
    hand.drag(hand.at(-2.0, 6.0), hand.at(-4.2, 6.0))
    assert hall.draft.plan.field.forward_m == (-4.0, 24.0)


def test_a_bar_on_the_strip_of_heights_is_dragged_up(hall, hand):
    strip = make_strip(hall.layout, hall.draft.plan)
    bar = strip.bars[2]
    begin = (round(bar.x), round((bar.top + bar.below) / 2))
    hand.drag(begin, (begin[0], begin[1] - round(strip.box.h / strip.high_m)))
    assert hall.draft.plan.gates[2].height_m == 2.75  # from 1.8 a metre up, on quarters
    assert hall.chosen == Chosen("gate", 2)
    hand.wheel(begin, -1)
    assert hall.draft.plan.gates[2].height_m == 2.5


@pytest.mark.parametrize(("end", "up"), [("top", 1), ("top", -1), ("below", -1), ("below", 1)])
def test_an_end_of_a_bar_makes_the_opening_taller(hall, hand, end, up):
    """Dragged outwards the opening grows, inwards it shrinks; its other end stays where it is, and one undo takes it back."""
    hall.do(lambda plan: with_value(plan, Chosen("gate", 2), entry_of(Chosen("gate", 2), "height_m"), 3.0))
    before, strip = hall.draft.plan.gates[2], make_strip(hall.layout, hall.draft.plan)
    bar, pixels = strip.bars[2], round(0.5 * strip.box.h / strip.high_m)
    begin = round(bar.x), round(getattr(bar, end))
    hand.drag(begin, (begin[0], begin[1] - up * pixels))
    after = hall.draft.plan.gates[2]
    grown = up * (1 if end == "top" else -1)
    assert after.tall_m == pytest.approx(before.tall_m + grown * 0.5, abs=0.11)
    other = -0.5 if end == "top" else 0.5
    assert after.height_m + other * after.tall_m == pytest.approx(before.height_m + other * before.tall_m)
    hall.undo()
    assert hall.draft.plan.gates[2] == before


def test_a_click_that_is_no_drag_changes_nothing(hall, hand):
    first = hall.draft.plan
    hand.drag(hand.at(6.0, 3.0), (hand.at(6.0, 3.0)[0] + 2, hand.at(6.0, 3.0)[1]))
    assert hall.chosen == Chosen("gate", 0)
    hand.drag((1200, 640))
    assert hall.draft.plan == first
    assert not hall.draft.can_undo


def test_ground_moves_the_map_and_a_click_on_it_chooses_the_course(hall, hand):
    hall.choose(Chosen("post", 0))
    before = hall.view.middle
    hand.drag((800, 300), (820, 300), (840, 310))
    assert hall.view.middle[1] == pytest.approx(before[1] - 40 / hall.view.px_per_m)
    assert hall.chosen == Chosen("post", 0)
    hand.drag((800, 300))
    assert hall.chosen == COURSE


def test_the_wheel_zooms_about_the_mouse_and_turns_a_chosen_gate(hall, hand):
    there = hall.view.to_m((700, 200))
    hand.wheel((700, 200), 2)
    assert hall.view.to_m((700, 200)) == pytest.approx(there)
    assert hall.view.px_per_m > 17.0
    hall.fit()
    hall.choose(Chosen("gate", 4))
    hand.wheel(hand.at(6.0, 9.0), 1)
    assert hall.draft.plan.gates[4].heading_deg == 195.0  # from 190 to the next of 15


def test_numbers_are_typed_stepped_and_wheeled(hall, hand):
    hall.choose(Chosen("gate", 0))
    k = hand.row("Forward")
    hand.click(hall.layout.steppers(hall.layout.rows[k])[1])
    hand.write("7,25")
    hand.keys("return")
    assert hall.draft.plan.gates[0].forward_m == 7.25
    hand.click(hall.layout.steppers(hall.layout.rows[k])[2])
    assert hall.draft.plan.gates[0].forward_m == 7.5
    row = hall.layout.rows[k]
    hand.wheel((row.x + 4, row.y + 4), -2)
    assert hall.draft.plan.gates[0].forward_m == 6.5
    hand.keys("9", "escape")
    assert hall.draft.plan.gates[0].forward_m == 6.5
    hand.click(hall.layout.steppers(row)[1])
    hand.write("x2")
    hand.keys("return")
    assert hall.alarm
    assert "is no number" in hall.note
    hand.click(hall.layout.steppers(hall.layout.rows[hand.row("Opening, wide")])[1])
    hand.write("400")
    hand.keys("return")
    assert "0.2 to 50 m" in hall.note


def test_names_are_typed_and_a_taken_one_is_refused(hall, hand):
    hall.choose(Chosen("gate", 0))
    hand.click(hall.layout.rows[0])
    hand.keys("backspace")
    hand.write("Main door")
    hand.keys("return")
    assert hall.draft.plan.gates[0].name == "Main door"
    assert hall.draft.plan.order[0] == "Main door"
    hand.click(hall.layout.rows[0])
    hand.keys(*["backspace"] * 9)
    hand.write("B")
    hand.keys("return")
    assert hall.draft.plan.gates[0].name == "Main door"
    assert hall.note == "there is a gate B already"


def test_keys_move_turn_raise_reorder_copy_and_remove(hall, hand):
    hall.choose(Chosen("gate", 0))
    hand.keys("up", "right", "]", "page up", "t")
    gate = hall.draft.plan.gates[0]
    assert (gate.forward_m, gate.right_m, gate.height_m, gate.heading_deg) == (6.5, 3.5, 1.75, 195.0)
    hand.keys("l")
    assert hall.draft.plan.order[:2] == ("B", "A")
    hand.keys("e", "a")
    assert hall.draft.plan.order == ("A", "B", "C", "D", "E", "F", "A")
    hand.keys("d", "c")
    assert hall.chosen == Chosen("gate", 6)
    assert hall.draft.plan.order[:2] == ("A", "gate 1")
    hand.keys("delete")
    assert len(hall.draft.plan.gates) == 6
    assert hall.chosen == COURSE


def test_every_button_of_a_gate_does_what_its_key_does(hall, hand):
    keys = {
        "Turn round": "t",
        "Copy": "c",
        "Later": "l",
        "Earlier": "e",
        "Fly again": "a",
        "Remove": "delete",
    }
    for text, key in keys.items():
        hall.choose(Chosen("gate", 1))
        hand.keys(key)
        wanted = hall.draft.plan
        hall.undo()
        hall.choose(Chosen("gate", 1))
        hand.button(text)
        assert hall.draft.plan == wanted, text
        hall.undo()


def test_what_is_wrong_is_listed_and_keeps_it_from_being_saved_and_flown(hall, hand, tmp_path):
    hall.choose(Chosen("gate", 3))
    hand.click(hall.layout.steppers(hall.layout.rows[hand.row("Height of middle")])[1])
    hand.write("9")
    hand.keys("return")
    (fault,) = hall.faults
    assert fault.chosen == Chosen("gate", 3)
    hall.choose(COURSE)
    hand.click(fault_places(hall.layout, hall.state)[0])
    assert hall.chosen == Chosen("gate", 3)
    hand.keys("s")
    assert hall.note.startswith("not saved: gate D reaches 3.70 m over the ceiling")
    hand.keys("f")
    assert hall.wants == ""
    assert list(tmp_path.iterdir()) == []
    hand.keys("z", "f")
    assert hall.wants == "fly"
    assert [gate.name for gate in hall.course().gates] == list("ABCDEF")


def test_a_course_too_narrow_for_the_craft_is_flown_only_when_asked_twice(tmp_path):
    """The hall's gates are 1.4 m wide and keep 0.15 m: a craft of 0.6 m radius has no way."""
    editor = CourseEditor(open_course("hall"), SIZE, tmp_path, radius_m=0.6)
    hand = Hand(editor)
    hand.keys("f")
    assert editor.wants == ""
    assert editor.note.startswith("gate A")
    hand.keys("f")
    assert editor.wants == "fly"
    small = CourseEditor(open_course("hall"), SIZE, tmp_path, radius_m=0.1)
    Hand(small).keys("f")
    assert small.wants == "fly"


def test_leaving_with_changes_asks_once(hall, hand):
    hall.choose(START)
    hand.keys("up", "q")
    assert hall.wants == ""
    assert "not saved yet" in hall.note
    hand.keys("q")
    assert hall.wants == "quit"


def test_escape_steps_back_before_it_leaves(hall, hand):
    hand.keys("h", "g")
    assert hall.help
    hall.choose(Chosen("gate", 0))
    hand.keys("tab")
    for _ in range(4):
        assert hall.wants == ""
        hand.keys("escape")
    assert hall.chosen == COURSE
    hand.keys("escape")
    assert hall.wants == "quit"


def test_snapping_off_moves_finely(hall, hand):
    hand.click(hall.layout.words["snap"])
    assert not hall.snap
    hall.choose(Chosen("gate", 0))
    hand.keys("up", "]")
    assert (hall.draft.plan.gates[0].forward_m, hall.draft.plan.gates[0].heading_deg) == (6.05, 1.0)


def test_an_open_lap_closes_and_other_things_are_chosen_by_keys(hall, hand):
    hand.click(hall.layout.rows[hand.row("Lap ends at")])
    assert not hall.draft.plan.closed
    hand.keys("7")  # a choice of two takes no digits
    assert not hall.draft.plan.closed
    hand.keys("return")
    assert hall.draft.plan.closed
    seen = []
    for _ in range(11):
        hand.keys(".")
        seen.append(hall.chosen)
    assert seen[-2:] == [FIELD, COURSE]
    hand.keys(",")
    assert hall.chosen == FIELD


def test_undoing_what_placed_the_chosen_thing_chooses_the_course(hall, hand):
    hand.keys("p")
    hand.drag(hand.at(3.0, 10.0))
    assert hall.chosen == Chosen("post", 2)
    hand.keys("z")
    assert hall.chosen == COURSE
    assert hall.state.plan.posts == open_course("hall").plan.posts
