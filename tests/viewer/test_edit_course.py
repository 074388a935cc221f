"""The layout in a window, drawn and left; any deeds can be drawn and undone; every text fits."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quadsim.config.course_schema import load_course
from quadsim.errors import InputError
from quadsim.planning.course_plan import COURSE, FIELD, START, Chosen
from quadsim.planning.course_snap import GRID_M
from quadsim.planning.course_text import open_course
from quadsim.viewer.canvas import new_canvas
from quadsim.viewer.course_editor import CourseEditor
from quadsim.viewer.edit_course import edit_course, run_editor
from quadsim.viewer.layout import LEAST
from quadsim.viewer.plan_help import MOUSE, SCREEN, THINGS
from quadsim.viewer.plan_pad import BUTTONS, REPEAT, PadStick
from quadsim.viewer.window import Happening
from tests.viewer.editor_hand import SIZE


@pytest.fixture
def hall(tmp_path):
    return CourseEditor(open_course("hall"), SIZE, tmp_path)


KEYS = [
    *"gpbtcelad,.+-=zynohs[]5",
    "up",
    "down",
    "left",
    "right",
    "page up",
    "page down",
    "tab",
    "return",
    "delete",
    "escape",
]
POINT = st.tuples(st.integers(0, SIZE[0] - 1), st.integers(0, SIZE[1] - 1))
DEED = st.one_of(
    st.sampled_from(KEYS).map(lambda key: [Happening("key", key=key, text=key if len(key) == 1 else "")]),
    st.tuples(POINT, POINT, POINT).map(
        lambda way: [
            Happening("press", at=way[0]),
            *(Happening("drag", at=at, moved=(at[0] - way[0][0], at[1] - way[0][1])) for at in way[1:]),
            Happening("release", at=way[-1]),
        ]
    ),
    st.tuples(POINT, st.integers(-3, 3)).map(
        lambda turn: [Happening("move", at=turn[0]), Happening("wheel", notches=turn[1])]
    ),
)


@settings(max_examples=15, deadline=None)
@given(deeds=st.lists(DEED, max_size=30))
def test_whatever_is_done_can_be_drawn_and_undone(tmp_path_factory, deeds):
    source = open_course("hill_and_valley")
    editor = CourseEditor(source, SIZE, tmp_path_factory.mktemp("courses"))
    for happenings in deeds:
        for happening in happenings:
            editor.hear(happening)
    editor.draw(new_canvas(SIZE, 1.0))
    while editor.draft.can_undo:
        editor.undo()
    assert editor.draft.plan == source.plan
    editor.redraw()
    editor.draw(new_canvas(SIZE, 1.0))


class Script:
    """A window without a window: one list of happenings a frame."""

    def __init__(self, size, frames):
        self.canvas, self.frames, self.shown = new_canvas(size, 1.0), list(frames), 0

    def happenings(self):
        return self.frames.pop(0)

    def axes(self):
        return self.stick

    stick = None

    def show(self, frames_per_s):
        self.shown += 1


def test_run_until_it_is_to_be_flown_and_again_after_the_flight(hall):
    key = [Happening("key", key="f")]
    laid = run_editor(hall, Script(SIZE, [[], [Happening("key", key="h")], key]))
    assert [gate.name for gate in laid.course.gates] == list("ABCDEF")
    assert laid.path is None
    again = run_editor(hall, Script(SIZE, [[], [Happening("quit")]]))
    assert again.course is None


def test_a_gamepad_lays_a_course_out(hall):
    """Choose the second gate, push it forward with the stick, turn it, widen it, undo that, save."""
    gate = hall.draft.plan.gates[1]

    def button(*numbers):
        return [Happening("button", key=str(number - 1)) for number in numbers]

    screen = Script(SIZE, [button(1, 1, 1, 2), [], [Happening("quit")]])
    run_editor(hall, screen)
    assert hall.chosen == Chosen("gate", 1)
    screen = Script(SIZE, [[], [], [Happening("quit"), Happening("quit")]])
    screen.stick = (0.1, -1.0, 0.9, 0.0)  # forwards; the throttle may rest anywhere
    run_editor(hall, screen)
    assert hall.draft.plan.gates[1].forward_m == gate.forward_m + GRID_M
    screen = Script(
        SIZE, [[], [Happening("button", key="hat right")], button(4, 5, 5, 5, 6, 7, 6, 8, 9, 11, 11, 10)]
    )
    laid = run_editor(hall, screen)
    moved = hall.draft.plan.gates[1]
    assert (moved.forward_m, moved.right_m) == (gate.forward_m + GRID_M, gate.right_m + GRID_M)
    assert moved.heading_deg != gate.heading_deg and moved.width_m == gate.width_m
    assert hall.rows[hall.row].entry is not None and laid.path is not None and laid.course is not None


def test_the_stick_of_a_gamepad_repeats_like_a_held_key():
    stick = PadStick()
    keys = [stick.key((0.0, 1.0, -1.0, 0.0)) for _ in range(2 * REPEAT + 1)]
    assert [k for k, key in enumerate(keys) if key] == [0, REPEAT, 2 * REPEAT] and set(keys) == {"down", ""}
    assert stick.key((0.2, 0.3, -1.0, 0.0)) == stick.key(None) == ""
    assert stick.key((-0.9, 0.3)) == "left"


def test_the_card_names_every_key_of_the_layout(hall):
    from quadsim.viewer.plan_keys import _commands

    named = " ".join(key for key, _ in (*THINGS, *SCREEN)).split()
    words = {
        "left": "←", "right": "→", "up": "↑", "down": "↓", "page up": "PgUp", "page down": "PgDn", "-": "−",
        "delete": "Del", "escape": "Esc", "backspace": "Bksp",
    }  # fmt: skip
    for key in set(_commands(hall)) - {"="}:
        assert words.get(key, key.capitalize()) in named, key
    said = " ".join(words for _, words in MOUSE).split()
    for number in range(1, 12):
        assert str(number) in said
    assert set(BUTTONS.values()) <= set(_commands(hall))


def test_a_still_screen_is_not_drawn_again(hall):
    canvas = new_canvas(SIZE, 1.0)
    hall.draw(canvas)
    canvas.fill((1, 2, 3))
    hall.draw(canvas)
    assert canvas.pixels()[:3] == bytes((1, 2, 3))
    hall.redraw()
    hall.draw(canvas)
    assert canvas.pixels()[:3] != bytes((1, 2, 3))


def test_edit_course_opens_a_window_and_leaves_it(monkeypatch, tmp_path):
    monkeypatch.setenv("SDL_VIDEODRIVER", "dummy")
    monkeypatch.setattr(
        "quadsim.viewer.window.Window.happenings", lambda self: [Happening("key", key="s"), Happening("quit")]
    )
    laid = edit_course("hall", (960, 540), folder=tmp_path)
    assert laid.course is None
    np.testing.assert_array_equal(load_course(laid.path).gates[0].centre, load_course("hall").gates[0].centre)


def test_after_a_flight_the_layout_goes_on_where_it_was(monkeypatch, tmp_path):
    """Move a gate, fly, undo, fly again into an error, save, leave."""
    frames = [[".", "up", "f"], ["z", "f"], ["s", "q"]]
    monkeypatch.setenv("SDL_VIDEODRIVER", "dummy")
    monkeypatch.setattr(
        "quadsim.viewer.window.Window.happenings",
        lambda self: [Happening("key", key=key) for key in frames.pop(0)],
    )
    flown = []

    def fly(course):
        flown.append(float(course.gates[0].centre[0]))
        if len(flown) == 2:
            raise InputError("the craft has no battery")

    laid = edit_course("hall", (960, 540), folder=tmp_path, fly=fly)
    assert flown == [6.5, 6.0]
    assert laid.course is None
    assert laid.path == tmp_path / "hall_2.toml"
    assert frames == []


@pytest.mark.parametrize("size", [SIZE, (1920, 1080), LEAST, (2560, 1080)], ids=str)
def test_every_text_fits_and_no_rectangles_overlap(size, tmp_path):
    editor = CourseEditor(open_course("meadow_slalom"), size, tmp_path)
    layout = editor.layout
    parts = [layout.title, *layout.words.values(), layout.map, layout.ruler_left, layout.ruler_below]
    parts += [layout.heights, layout.panel]
    assert [(a, b) for k, a in enumerate(parts) for b in parts[k + 1 :] if a.meets(b)] == []
    inner = [*layout.rows, *layout.actions, layout.faults]
    assert [(a, b) for k, a in enumerate(inner) for b in inner[k + 1 :] if a.meets(b)] == []
    assert all(layout.panel.encloses(box) for box in inner)
    for chosen in (Chosen("gate", 1), FIELD, START, COURSE, Chosen("post", 0)):
        placed = []
        editor.choose(chosen)
        editor.redraw()
        editor.draw(new_canvas(size, layout.scale, placed))
        assert [text.string for text in placed if text.cut] == []
    placed = []
    editor.help = True
    editor.draw(new_canvas(size, layout.scale, placed))
    shown = {text.string for text in placed if layout.help.encloses(text.rect)}
    assert all(set(line) <= shown for line in (*MOUSE, *THINGS, *SCREEN))
    assert [text.string for text in placed if text.cut] == []
