"""Keys, mouse and windows."""

import os
import re
import subprocess
import sys

import pytest

from controllers.signals import Mode
from quadsim.errors import InputError
from quadsim.viewer.app import BUTTONS, App, watch
from quadsim.viewer.canvas import new_canvas
from quadsim.viewer.chart import nice_range
from quadsim.viewer.controls import Sticks
from quadsim.viewer.help_card import FLY, LOOK, WATCH
from quadsim.viewer.panels import number
from quadsim.viewer.view import HINT
from quadsim.viewer.window import Happening

SIZE = (960, 540)


class FakeScreen:
    """A window without a window: happenings are put into `queue`, keys into `down`."""

    def __init__(self):
        self.canvas, self.queue, self.down, self.joystick, self.shown = (
            new_canvas(SIZE, 0.75),
            [],
            set(),
            None,
            0,
        )

    def happenings(self):
        queue, self.queue = self.queue, []
        return queue

    def held(self, names):
        return {name: name in self.down for name in names}

    def axes(self):
        return self.joystick

    def show(self, frames_per_s):
        self.shown += 1

    def close(self):
        pass


class StillLive:
    """A live flight that notes what it is told."""

    finished, time_step_s = False, 0.001

    def __init__(self, run):
        self.run, self.sticks, self.modes, self.flown = run, [], [], 0.0

    @property
    def t_s(self):
        return self.flown

    def advance(self, duration_s):
        self.flown += duration_s

    def set_sticks(self, *sticks):
        self.sticks.append(sticks)

    def set_mode(self, mode):
        self.modes.append(mode)


@pytest.fixture
def app(run):
    return App(run, SIZE, "chase", wall=lambda: 0.0)


def press(app, *keys):
    for key in keys:
        app.hear(Happening("key", key=key))


def test_keys_of_the_clock(app):
    press(app, "space", "up", "up", "right")
    assert not app.playback.playing and app.playback.t_s == pytest.approx(2.01)
    press(app, "+", "+")
    assert app.playback.asked == 4.0
    press(app, "0", "-")
    assert app.playback.asked == 0.5
    press(app, "end")
    assert app.playback.t_s == 30.0
    press(app, "home", ".")
    assert app.playback.t_s == 1.0  # the first event of the invented flight
    press(app, ".", ".")
    assert app.playback.t_s == 7.5
    press(app, ",")
    assert app.playback.t_s == 1.3


def test_keys_of_the_view(app):
    for key, camera in zip("1234", ("chase", "fixed", "onboard", "top"), strict=True):
        press(app, key)
        assert app.outlook.camera == camera
    press(app, "h")
    assert app.outlook.help
    press(app, "escape")
    assert not app.outlook.help and app.open
    press(app, "v")
    assert app.outlook.verdict is True
    press(app, "escape")
    assert not app.open


def test_a_held_key_scrubs_but_does_not_flicker(app):
    app.hear(Happening("repeat", key="up"))
    app.hear(Happening("repeat", key="space"))
    assert app.playback.t_s == pytest.approx(1.0) and app.playback.playing


def test_mouse_scrubs_on_the_time_bar(app):
    bar = app.view.timebar.track
    app.hear(Happening("press", at=(bar.x + bar.w // 2, bar.y)))
    assert app.playback.t_s == pytest.approx(15.0, abs=0.05)
    app.hear(Happening("drag", at=(bar.x + bar.w, bar.y), moved=(9, 0)))
    assert app.playback.t_s == pytest.approx(30.0)
    app.hear(Happening("release", at=(bar.x, bar.y)))
    app.hear(Happening("drag", at=(200, 200), moved=(10, 0)))
    assert app.playback.t_s == pytest.approx(30.0) and app.outlook.orbit.turn_deg == pytest.approx(4.0)


def test_pointing_at_a_mark_names_the_event(app):
    bar = app.view.timebar
    app.hear(Happening("move", at=(round(bar.x_of(22.0)), bar.track.y)))
    assert app.outlook.pointed_at.kind == "fault"
    app.hear(Happening("move", at=(300, 200)))
    assert app.outlook.pointed_at is None


def test_zoom_has_ends(app):
    app.hear(Happening("wheel", notches=500))
    assert app.outlook.orbit.zoom == 0.35
    app.hear(Happening("wheel", notches=-500))
    assert app.outlook.orbit.zoom == 6.0
    press(app, "r")
    assert app.outlook.orbit.zoom == 1.0


def test_loop_draws_until_the_window_is_closed(app):
    screen = FakeScreen()
    app.frame(screen, 1 / 60)
    blank = new_canvas(SIZE).pixels()
    assert screen.canvas.pixels() != blank
    screen.queue = [Happening("quit")]
    app.loop(screen)
    assert screen.shown == 2


def test_sticks_of_a_live_flight(run):
    live = StillLive(run)
    app, screen = App(live, SIZE, "chase", wall=lambda: 0.0), FakeScreen()
    app.frame(screen, 0.01)
    assert live.sticks == [] and live.modes == []  # the flight file flies until the sticks are taken
    press(app, "t", "m")
    assert live.modes == [Mode.HEIGHT_HOLD, Mode.ATTITUDE_COMMAND]
    screen.joystick = (0.25, -0.5, -1.0, 1.5)
    app.frame(screen, 0.01)
    assert live.sticks == [(0.25, -0.5, 1.0, 1.0)]  # roll, pitch, yaw (limited), throttle full forward


def test_keys_move_the_sticks_and_let_them_spring_back():
    sticks = Sticks()
    for _ in range(100):
        roll, pitch, yaw, throttle = sticks.update({"l": True, "i": True, "w": True}, None, 1 / 60)
    assert roll > 0.45 and pitch < -0.45 and yaw == 0.0 and throttle > 0.7
    for _ in range(100):
        roll, pitch, yaw, throttle = sticks.update({}, None, 1 / 60)
    assert abs(roll) < 1e-3 and abs(pitch) < 1e-3 and throttle == pytest.approx(0.5, abs=1e-3)


def test_help_names_every_key(run):
    """Whatever the viewer does on a key is on its card."""
    keys = " ".join(key for key, _ in (*WATCH, *LOOK, *FLY)).split()
    names = {"left": "←", "right": "→", "up": "↑", "down": "↓", "-": "−", "escape": "Esc"}
    aliases = {"="}  # plus without shift
    app = App(run, SIZE, "chase")
    for key in set(app.commands()) - aliases:
        assert names.get(key, key.capitalize()) in keys, key
    assert len(keys) == len(set(keys)) or keys.count("Mouse") > 1


def test_every_key_of_a_replay_has_a_mouse_or_button_way(run):
    """Clicks and turns of the wheel, and buttons of a gamepad, do what keys do."""
    app = App(run, SIZE, "chase")
    panels, camera = app.view.layout.panels, app.view.layout.insets["camera"]

    def press(box, share=0.1):
        app.hear(Happening("press", at=(round(box.x + share * box.w), box.y + box.h // 2)))

    def wheel(box, notches):
        app.hear(Happening("move", at=(box.x + box.w // 2, box.y + box.h // 2)))
        app.hear(Happening("wheel", notches=notches))

    press(panels["clock"])
    assert not app.playback.playing
    wheel(panels["clock"], 1)
    assert app.playback.asked == 2.0
    press(panels["clock"], 0.9)
    assert app.playback.asked == 1.0
    app.playback.seek(5.0)
    wheel(panels["times"], 3)
    assert app.playback.t_s == pytest.approx(5.03)
    press(camera, 0.02)
    assert app.outlook.camera == "fixed"
    title = panels["title"]
    app.hear(Happening("press", at=(title.right - app.view.layout.px(1.5 * HINT), title.y + 5)))
    assert app.outlook.verdict is True
    press(panels["title"], 0.98)
    assert app.outlook.help
    press(panels["scene"], 0.5)
    assert not app.outlook.help
    done = set()
    for button, key in BUTTONS.items():
        app._key = done.add
        app.hear(Happening("button", key=button))
        assert key in done and key in app.commands()


def test_without_a_display_it_says_how_to_make_pictures(run, monkeypatch):
    monkeypatch.setenv("SDL_VIDEODRIVER", "no_such_driver")
    with pytest.raises(InputError, match=re.escape("--frames")):
        watch(run)


def test_a_linux_without_a_desktop_has_no_display(run, monkeypatch):
    monkeypatch.setattr(sys, "platform", "linux")
    for name in ("SDL_VIDEODRIVER", "DISPLAY", "WAYLAND_DISPLAY"):
        monkeypatch.delenv(name, raising=False)
    with pytest.raises(InputError, match="no display"):
        watch(run)


def test_window_opens_draws_and_closes():
    # In a process of its own: SDL's dummy driver, one real window, two keys and a quit through its event queue.
    code = """
import pygame
from quadsim.viewer.window import Window
window = Window((960, 540), "test", 0.75)
window.canvas.fill((1, 2, 3))
for key, letter in ((pygame.K_h, "h"), (pygame.K_h, "h"), (pygame.K_PLUS, "+")):
    pygame.event.post(pygame.event.Event(pygame.KEYDOWN, key=key, unicode=letter))
pygame.event.post(pygame.event.Event(pygame.QUIT))
heard = [(h.kind, h.key) for h in window.happenings() if h.kind in ("key", "repeat", "quit")]
assert heard == [("key", "h"), ("repeat", "h"), ("key", "+"), ("quit", "")], heard
assert window.held(("w",)) == {"w": False} and window.axes() is None
window.show(60)
assert not pygame.mixer.get_init()
window.close()
assert not pygame.display.get_init()
"""
    done = subprocess.run([sys.executable, "-c", code], check=False, capture_output=True, text=True,
                          env={**os.environ, "SDL_VIDEODRIVER": "dummy"})  # fmt: skip
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [
        (-0.04, 1, "0.0"),
        (-3.26, 1, "−3.3"),
        (123.46, 2, "123"),
        (1234.5, 1, "1234"),
        (3.456, 2, "3.46"),
        (28888.4, 1, "28888"),
        (2.4e7, 1, "2e7"),
    ],
)
def test_numbers_are_short(value, decimals, text):
    assert number(value, decimals) == text


@pytest.mark.parametrize(
    ("low", "high", "least", "wanted"),
    [(-0.3, 0.1, 10.0, (-5.0, 5.0)), (0.0, 14.0, 2.0, (0.0, 20.0)), (16.0, 16.7, 1.0, (16.0, 17.0)),
     (float("inf"), float("-inf"), 2.0, (0.0, 2.0))],
)  # fmt: skip
def test_axis_ranges_are_round(low, high, least, wanted):
    assert nice_range(low, high, least)[:2] == pytest.approx(wanted)
