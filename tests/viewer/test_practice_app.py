"""Practice from start to end without a window: phases, gates, aids, restart, a lost device, screens."""

import dataclasses
import math
from pathlib import Path

import numpy as np
import pytest

from quadsim.config.course import Start
from quadsim.practice.lap_book import LapBook
from quadsim.viewer.canvas import new_canvas
from quadsim.viewer.practice_layout import HINTS, make_practice_layout
from quadsim.viewer.window import Happening
from tests.planning.course_cases import a_course, a_gate

SIZE = (960, 540)
pytestmark = pytest.mark.jit


def straight(closed=False, distance=2.5):
    gates = [a_gate(str(k + 1), distance + 2.0 * k, height=1.8, width=2.4, tall=2.4) for k in range(2)]
    low, high = (-10.0, -10.0, -10.0), (40.0, 10.0, 0.0)
    return a_course(*gates, closed=closed, low=low, high=high, name="Invented straight")


@pytest.fixture(scope="module")
def flight():
    """One flight for the whole file: a craft is resolved once and taken back for every test."""
    from quadsim.config import load_craft
    from quadsim.practice.practice_flight import PracticeFlight

    return PracticeFlight(straight(), load_craft("siskin"))


@pytest.fixture
def make_app(flight, tmp_path):
    """A function that begins practice: app and window, with sticks from a function or the stick pilot."""
    from quadsim.practice.aids import Aids
    from quadsim.practice.stick_pilot import StickPilot
    from quadsim.viewer.practice_app import PracticeApp
    from quadsim.viewer.scripted_window import ScriptedWindow

    def make(fly=None, countdown_s=0.0, **options):
        flight.attempt = 0
        flight.set_aids(Aids())
        flight.restart()
        window = ScriptedWindow(SIZE, 0.75, fly or StickPilot(flight))
        book = LapBook(flight.course, "siskin", tmp_path)
        return PracticeApp(flight, book, SIZE, wall=window.wall, countdown_s=countdown_s, **options), window

    return make


def frames(app, window, count=10_000, until=None):
    for _ in range(count):
        app.frame(window, window.frame_s)
        if app.flight.finished or (until and until()):
            break


def press(app, *keys):
    for key in keys:
        app.hear(Happening("key", key=key))


def test_the_countdown_holds_the_flight_and_the_clock_starts_at_the_signal(make_app):
    app, window = make_app(countdown_s=3.0)
    app.frame(window, window.frame_s)
    assert app.screen.count == "3" and app.flight.t_s < 0.001
    frames(app, window, 180)
    assert app.screen.count == "" and 0.0 < app.flight.t_s < 0.05
    assert app.flight.clock_s == pytest.approx(app.flight.t_s)


def test_a_lap_is_flown_kept_and_flown_again_to_the_same_bits(make_app, flight, tmp_path):
    """Sticks as recorded fly the same lap through the same code: keys, pacing, physics, gates and book."""
    from quadsim.config.stick_trace import read_stick_trace
    from quadsim.practice.stick_record import write_sticks
    from quadsim.viewer.scripted_window import sticks_of_trace

    app, window = make_app()
    frames(app, window)
    assert flight.watch.finished and app.screen.end.title == "Best lap so far"
    lap = flight.watch.laps[0]
    assert app.book.best.lap == lap and len(app.book.laps()) == 1
    trace = read_stick_trace(write_sticks(flight.sticks, tmp_path / "sticks.csv", "a test"))
    app, window = make_app(sticks_of_trace(trace, lambda: flight.t_s))
    frames(app, window)
    assert flight.watch.laps == [lap]
    assert app.ghost.name == "best" and app.screen.end.title == "Flown"  # not better than itself
    assert app.ghost.difference_s(0, lap.splits_s[0]) == 0.0


def test_no_hands_crash_and_restart_at_once(make_app, flight):
    """Full forward stick from a hop: the craft meets the ground or a frame, and R begins again."""
    app, window = make_app(lambda: (0.0, -1.0, 0.0, 0.9 if flight.t_s < 1.2 else 0.0))
    frames(app, window, 900)
    assert flight.finished and not flight.watch.finished and app.screen.end is not None
    assert not app.book.laps()
    seed = flight.seed
    press(app, "r")
    assert not flight.finished and app.screen.end is None and flight.t_s < 0.001
    assert flight.seed == seed + 1 and len(app.track) == 1


def test_a_crash_sets_back_where_that_is_forgiven(make_app, flight):
    app, window = make_app(lambda: (0.0, -1.0, 0.0, 0.9 if flight.t_s < 1.2 else 0.0))
    press(app, "f")
    frames(app, window, 900, until=lambda: flight.set_backs > 0)
    assert flight.set_backs == 1 and not flight.finished
    assert app.track.end_s <= flight.t_s + 0.006 and len(app.track) == len(flight.run)
    assert not flight.counts and app.screen.caption == "set back"


def test_slow_motion_and_wind_off_spoil_the_best_lap_but_marks_do_not(make_app, flight):
    app, window = make_app()
    press(app, "n", "g", "u")  # no wind on this flight, so wind off is no help
    frames(app, window, 30)
    assert flight.counts and not flight.aids.marker and not flight.aids.ghost
    t = flight.t_s
    press(app, "o")
    frames(app, window, 60)
    assert flight.t_s - t == pytest.approx(0.5, abs=0.02)
    assert not flight.counts


def test_a_device_that_disappears_pauses_until_it_is_back(make_app, flight):
    there = {"device": True}
    app, window = make_app(lambda: (0.0, 0.0, 0.0, 0.9) if there["device"] else None)
    frames(app, window, 30)
    there["device"] = False
    frames(app, window, 1)
    t = flight.t_s
    frames(app, window, 30)
    assert app.paused and flight.t_s == t and "device is gone" in app.screen.count_note
    there["device"] = True
    frames(app, window, 2)
    assert app.paused  # the pilot says when
    press(app, "p")
    frames(app, window, 30)
    assert flight.t_s > t + 0.4


def test_every_key_has_a_mouse_or_button_way(make_app, flight):
    app, _ = make_app()
    layout = app.view.layout
    for name in HINTS:
        box = layout.panels[f"hint_{name}"]
        before = (app.screen, flight.mode, flight.attempt, app.asks_for)
        app.hear(Happening("press", at=(box.x + 4, box.y + 4)))
        assert (app.screen, flight.mode, flight.attempt, app.asks_for) != before, name
        if name == "help":
            app.hear(Happening("press", at=(10, 300)))
            assert not app.screen.help
    press(app, "tab")
    for button, field in (("1", "view"), ("3", "aids_open")):
        before = getattr(app.screen, field)
        app.hear(Happening("button", key=button))
        assert getattr(app.screen, field) != before
    app.look(aids_open=True, aid_chosen=0)
    app.hear(Happening("button", key="0"))
    assert flight.aids.marker is False
    from quadsim.viewer.practice_cards import aid_row

    row = aid_row(layout, 2)
    app.hear(Happening("press", at=(row.x + 4, row.y + 4)))
    assert flight.aids.slow
    app.hear(Happening("quit"))
    assert not app.open


def test_a_practised_run_is_replayed_with_its_course(make_app, flight):
    """The best run's file brings the gates into the replay; the next one is marked until it is passed."""
    from quadsim.simulation.run import load_run
    from quadsim.viewer import palette
    from quadsim.viewer.track import Track
    from quadsim.viewer.view import Outlook, View

    app, window = make_app()
    frames(app, window)
    assert flight.watch.finished
    run = load_run(app.book.best_file)
    view = View(Track(run), SIZE)
    scene = view.layout.panels["scene"]

    def ochre(t_s):
        canvas = new_canvas(SIZE, view.layout.scale)
        view.draw(canvas, t_s, Outlook(verdict=False))
        pixels = np.frombuffer(canvas.pixels(), np.uint8).reshape(SIZE[1], SIZE[0], 3)
        part = pixels[scene.y : scene.bottom, scene.x : scene.right]
        return int(np.count_nonzero((part == palette.WANTED).all(axis=2)))

    assert ochre(0.5) > 200
    assert ochre(flight.watch.passages[-1].t_s + 0.01) < 20


def test_practice_is_left_for_the_layout_by_key_and_button(make_app):
    for happening in (Happening("key", key="e"), Happening("button", key="5")):
        app, _ = make_app()
        app.hear(happening)
        assert not app.open and app.asks_for == "layout"


def test_a_next_gate_out_of_the_picture_is_pointed_at(make_app):
    """Turned half round, the gate ahead is out of view: its number stands at the edge of the scene instead."""
    from quadsim.viewer.cameras import Orbit

    app, window = make_app(lambda: (0.0, 0.0, 0.0, 0.5))
    frames(app, window, 30)

    def numbers(turn_deg):
        app.look(orbit=Orbit(turn_deg, 0.0, 1.0))
        app.compose()
        placed = []
        canvas = new_canvas(SIZE, app.view.layout.scale, placed)
        app.view.draw(canvas, app.playback.t_s, app.screen)
        scene = app.view.layout.panels["scene"]
        return [one for one in placed if one.string == "1" and scene.encloses(one.rect)]

    (ahead,) = numbers(0.0)
    (behind,) = numbers(180.0)
    assert 300 < ahead.rect.x < 660
    assert min(behind.rect.x, SIZE[0] - behind.rect.right) < 80


@pytest.mark.parametrize("size", [(960, 540), (1280, 720), (1920, 1080)])
def test_no_words_are_cut_or_lie_across_others(make_app, flight, size):
    """Every view and card at three sizes; words of the strips stay in their panels."""
    from quadsim.viewer.practice_view import PracticeView

    app, window = make_app()
    frames(app, window, 90)
    view = PracticeView(flight, app.track, size)
    for name in ("picture", "place", "chase"):
        for state in ({}, {"aids_open": True}, {"help": True}):
            app.look(view=name, aids_open=False, help=False)
            app.look(**state)
            app.compose()
            placed = []
            canvas = new_canvas(size, view.layout.scale, placed)
            view.draw(canvas, app.playback.t_s, app.screen)
            assert not [one.string for one in placed if one.cut]
            strips = [one for one in placed if not view.layout.panels["scene"].meets(one.rect)]
            assert len(strips) > 15
            for k, one in enumerate(strips):
                assert not [
                    two.string for two in strips[k + 1 :] if one.rect.inset(1, 2).meets(two.rect.inset(1, 2))
                ], one


def test_panels_fill_the_screen_without_overlap():
    for size in ((960, 540), (1280, 720), (2560, 1080)):
        layout = make_practice_layout(size)
        names = (
            "title",
            "clock",
            "scene",
            "sticks",
            "ribbon",
            "figures",
            *(f"hint_{name}" for name in HINTS),
        )
        boxes = [layout.panels[name] for name in names]
        for k, one in enumerate(boxes):
            assert one.x >= 0 and one.right <= size[0] and one.bottom <= size[1]
            assert not [two for two in boxes[k + 1 :] if one.meets(two)]
        for name in ("caption", "camera", "card", "aids"):
            assert layout.panels["scene"].encloses(layout.insets[name])


def test_pictures_show_the_gate_that_is_next(make_app, flight, tmp_path: Path):
    """The marked gate's colour is in the picture with the aid, and not without it."""
    from quadsim.viewer import palette

    app, window = make_app()
    frames(app, window, 60)
    scene = app.view.layout.panels["scene"]

    def ochre():
        app.compose()
        app.view.draw(window.canvas, app.playback.t_s, app.screen)
        pixels = np.frombuffer(window.canvas.pixels(), np.uint8).reshape(SIZE[1], SIZE[0], 3)
        part = pixels[scene.y : scene.bottom]
        return int(np.count_nonzero((part == palette.WANTED).all(axis=2)))

    assert ochre() > 200
    press(app, "n")
    assert ochre() == 0


def test_the_wind_blows_and_can_be_turned_off():
    from quadsim.config import load_craft
    from quadsim.practice.practice_flight import PracticeFlight, steady_wind

    course = straight()
    aloft = dataclasses.replace(course, start=Start(np.array([0.0, 0.0, -3.0]), 0.0))
    windy = PracticeFlight(aloft, load_craft("siskin"), wind=steady_wind(9.0, 90.0))
    windy.advance(1.0)
    assert windy.run["wind_m_s"][:, 1].mean() < -3.0  # from the east, weaker near the ground, gusty
    windy.set_aids(windy.aids.toggled("calm"))
    windy.advance(1.5)
    assert math.hypot(*windy.run["wind_m_s"][-1]) < 0.3
    assert not windy.counts
    windy.set_aids(windy.aids.toggled("calm"))
    windy.advance(1.0)
    assert windy.run["wind_m_s"][-100:, 1].mean() < -3.0


def test_the_help_card_names_every_key(make_app):
    """Whatever practice does on a key, and every key that moves a stick, is on its card."""
    from quadsim.viewer.controls import KEYS
    from quadsim.viewer.practice_cards import FLYING, STICK_KEYS
    from quadsim.viewer.practice_keys import BUTTONS, commands

    app, _ = make_app()
    named = " ".join(key for key, _ in (*FLYING, *STICK_KEYS)).split()
    words = {"escape": "Esc"}
    for key in (*commands(app), *KEYS):
        assert words.get(key, key.capitalize()) in named, key
    assert set(BUTTONS.values()) <= set(commands(app))
    said = " ".join(words for _, words in FLYING)
    for number in range(1, len(BUTTONS) + 1):
        assert f"button {number})" in said, number


def test_sticks_are_calibrated_in_the_window_and_known_again(make_app, flight):
    """A device with its axes in another order and one of them backwards: after C it flies as its sticks say."""
    from quadsim.viewer.calibration_card import kept

    raw = [0.0, 0.0, 0.0, 0.0]
    app, window = make_app()
    window.axes = lambda: tuple(raw)
    frames(app, window, 20)
    press(app, "c")
    frames(app, window, 20)
    t = flight.t_s
    press(app, "return")  # at rest
    ends = {"roll": (3, 0.9), "pitch": (2, -0.8), "yaw": (1, 0.7), "throttle": (0, 1.0)}
    for axis, high in ends.values():
        for value in (high, -high):
            raw[:] = [0.0] * 4
            raw[axis] = value
            frames(app, window, 20)
            app.hear(Happening("button", key="0"))
    frames(app, window, 2)
    assert app.calibrating is None and flight.t_s == t and app.paused
    assert "kept" in app.screen.count_note
    raw[:] = [1.0, 0.0, 0.8, -0.45]
    press(app, "p")
    frames(app, window, 1)
    assert flight.sticks[-1][1:] == pytest.approx((-0.5, -1.0, 0.0, 1.0))  # left half, forwards, throttle up
    assert kept(app.book.shelf, "scripted sticks") == app.sticks.device
    assert kept(app.book.shelf, "another") is None


def test_a_movement_not_seen_is_said_and_asked_for_again(make_app, flight):
    app, window = make_app(lambda: (0.0, 0.0, 0.0, 0.5))
    frames(app, window, 3)
    app.hear(Happening("press", at=(app.view.layout.panels["hint_sticks"].x + 5, 5)))
    frames(app, window, 10)
    press(app, "return")
    frames(app, window, 10)
    press(app, "space")
    frames(app, window, 1)
    assert "no axis" in app.screen.calibration.fault and app.screen.calibration.place == (2, 9)
    placed = []
    app.view.draw(new_canvas(SIZE, app.view.layout.scale, placed), app.playback.t_s, app.screen)
    assert not [one.string for one in placed if one.cut]
    press(app, "escape")
    assert app.calibrating is None and app.paused and app.sticks.device is None


def test_without_a_device_there_is_nothing_to_calibrate(make_app):
    app, window = make_app(lambda: None)
    frames(app, window, 1)
    press(app, "c")
    assert app.calibrating is None and app.screen.caption == "no radio or gamepad is connected"
