"""The viewer at work: keys and mouse in, frames out, until the window is closed."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Protocol

from quadsim.config.stick_device import StickDevice
from quadsim.errors import InputError
from quadsim.simulation.run import Event, Run
from quadsim.viewer.cameras import CAMERAS, Orbit, check_camera
from quadsim.viewer.canvas import Canvas
from quadsim.viewer.controls import KEYS, Sticks
from quadsim.viewer.layout import make_layout
from quadsim.viewer.panels import Pace
from quadsim.viewer.playback import LiveFlight, Playback
from quadsim.viewer.track import Track
from quadsim.viewer.view import Outlook, View
from quadsim.viewer.window import Happening, Window

if TYPE_CHECKING:  # a replay needs neither the flight loop nor what is built on it
    from quadsim.analysis.predicted_answer import Predictor
    from quadsim.simulation.live_gains import LiveGains
    from quadsim.viewer.gain_tuning import GainTuning

FRAMES_PER_S = 60
BUTTONS = {
    "0": "space",
    "1": "c",
    "2": "t",
    "3": "m",
    "4": ",",
    "5": ".",
    "6": "v",
    "7": "h",
    "8": "r",
    "9": "g",
}
"""Button of a gamepad -> the key that it stands for."""
LONGEST_FRAME_S = 0.25
"""Wall time that counts for one frame at most [s]: a dragged window must not make the clock jump."""


class Screen(Protocol):
    """What the loop needs of a window."""

    canvas: Canvas

    def happenings(self) -> list[Happening]: ...
    def held(self, names: tuple[str, ...]) -> dict[str, bool]: ...
    def axes(self) -> tuple[float, ...] | None: ...
    def show(self, frames_per_s: int) -> None: ...
    def close(self) -> None: ...


def watch(
    run_or_live: Run | LiveFlight,
    *,
    size: tuple[int, int] = (1280, 720),
    camera: str = "chase",
    start_s: float = 0.0,
    device: StickDevice | None = None,
    gains: LiveGains | None = None,
    predictor: Predictor | None = None,
) -> None:
    """Open a window on a run, or on a flight that is flown while it is watched; returns when it is closed.

    gains, predictor : those of a live flight, to be changed while it is flown

    Raises
    ------
    InputError
        for a camera or size that is not allowed, an empty run, or where no window can be opened.
    """
    check_camera(camera)
    layout = make_layout(size)
    live = None if isinstance(run_or_live, Run) else run_or_live
    app = App(run_or_live, layout.size, camera, start_s, device=device)
    if gains is not None and predictor is not None:
        from quadsim.viewer.gain_tuning import GainTuning

        app.tuning = GainTuning(gains, predictor, app.view.layout)
    name = app.track.run.flight
    screen: Screen = Window(layout.size, f"quadsim: {name}" + (" (live)" if live else ""), layout.scale)
    try:
        app.loop(screen)
    finally:
        screen.close()


class App:
    """State of the viewer between frames."""

    def __init__(
        self, run_or_live: Run | LiveFlight, size: tuple[int, int], camera: str, start_s: float = 0.0,
        wall: Callable[[], float] = time.perf_counter, device: StickDevice | None = None,
    ) -> None:  # fmt: skip
        self.live = None if isinstance(run_or_live, Run) else run_or_live
        self.track = _first_rows(run_or_live, self.live)
        self.playback = Playback(self.track, self.live, start_s, wall)
        self.view = View(self.track, size, camera, live=self.live is not None)
        self.outlook = Outlook(camera=camera, live=self.live is not None)
        self.sticks = Sticks(device)
        self.tuning: GainTuning | None = None
        self.open = True
        self._scrubbing = False
        self._pointed = (-1, -1)
        self._wall = wall

    def loop(self, screen: Screen) -> None:
        """Frame after frame until the user quits."""
        last = self._wall()
        while self.open:
            now = self._wall()
            self.frame(screen, min(now - last, LONGEST_FRAME_S))
            last = now

    def frame(self, screen: Screen, wall_s: float) -> None:
        """Hear, move on, draw, show."""
        for happening in screen.happenings():
            self.hear(happening)
        if self.live is not None and self.sticks.taken:
            self.live.set_sticks(*self.sticks.update(screen.held(KEYS), screen.axes(), wall_s))
        if not self._scrubbing:
            self.playback.tick(wall_s)
        playback = self.playback
        pace = Pace(playback.asked, playback.real, playback.word)
        tuning = self.tuning
        gains = tuning.state if tuning is not None and tuning.open else None
        self.outlook = replace(
            self.outlook, pace=pace, by_hand=self.sticks.taken, gains=gains, tunable=tuning is not None
        )
        self.view.draw(screen.canvas, playback.t_s, self.outlook)
        screen.show(FRAMES_PER_S)

    def hear(self, happening: Happening) -> None:
        """Act on what the user did."""
        if self.tuning is not None and not self.outlook.help and self.tuning.hear(happening):
            return
        match happening.kind:
            case "quit":
                self.open = False
            case "key":
                self._key(happening.key)
            case "repeat" if happening.key in ("left", "right", "up", "down", ",", ".", "+", "-"):
                self._key(happening.key)
            case "button" if happening.key in BUTTONS:
                self._key(BUTTONS[happening.key])
            case "wheel" if self._wheel_key(happening.notches):
                for _ in range(abs(happening.notches)):
                    self._key(self._wheel_key(happening.notches))
            case "wheel":
                zoom = min(max(self.outlook.orbit.zoom * 0.9**happening.notches, 0.35), 6.0)
                self.outlook = replace(self.outlook, orbit=replace(self.outlook.orbit, zoom=zoom))
            case "press" | "drag" | "release" | "move":
                self._mouse(happening)

    def _wheel_key(self, notches: int) -> str:
        """The key that a turn of the wheel stands for where the mouse is; none over the scene, where it zooms."""
        panels = self.view.layout.panels
        if panels["clock"].holds(self._pointed):
            return "+" if notches > 0 else "-"
        return ("right" if notches > 0 else "left") if panels["times"].holds(self._pointed) else ""

    def _mouse(self, happening: Happening) -> None:
        bar, self._pointed = self.view.timebar, happening.at
        if happening.kind == "press" and self.outlook.help:
            self._look(help=False)
            return
        if happening.kind == "press":
            self._scrubbing = bar.grabs(happening.at)
            shown = replace(self.outlook, tunable=self.tuning is not None)
            self._key(self.view.key_at(happening.at, shown))
        if happening.kind in ("press", "drag") and self._scrubbing:
            self.playback.seek(bar.t_at(happening.at[0]))
        elif happening.kind == "drag" and self.view.layout.panels["scene"].holds(happening.at):
            orbit, (dx, dy) = self.outlook.orbit, happening.moved
            turned = replace(orbit, turn_deg=orbit.turn_deg + 0.4 * dx, lift_deg=orbit.lift_deg + 0.3 * dy)
            self.outlook = replace(self.outlook, orbit=turned)
        if happening.kind == "release":
            self._scrubbing = False
        self.outlook = replace(self.outlook, pointed_at=bar.event_at(self.track.events, happening.at))

    def _key(self, key: str) -> None:
        """One key pressed."""
        command = self.commands().get(key)
        if command is not None:
            command()

    def commands(self) -> dict[str, Callable[[], object]]:
        """What each key does; `help_card` lists them."""
        playback = self.playback
        commands: dict[str, Callable[[], object]] = {
            "space": playback.toggle,
            "left": lambda: playback.step(-1),
            "right": lambda: playback.step(1),
            "up": lambda: playback.seek(playback.t_s + 1.0),
            "down": lambda: playback.seek(playback.t_s - 1.0),
            "+": lambda: playback.faster(1),
            "=": lambda: playback.faster(1),
            "-": lambda: playback.faster(-1),
            "0": playback.real_time,
            "home": lambda: playback.seek(0.0),
            "end": lambda: playback.seek(self.track.end_s),
            ",": lambda: self._to_event(-1),
            ".": lambda: self._to_event(1),
            "r": lambda: self._look(orbit=Orbit()),
            "v": self._toggle_verdict,
            "h": lambda: self._look(help=not self.outlook.help),
            "?": lambda: self._look(help=not self.outlook.help),
            "q": self._quit,
            "escape": lambda: self._look(help=False) if self.outlook.help else self._quit(),
            "t": self._take_sticks,
            "m": self._next_mode,
            "g": self._toggle_gains,
            "c": self._next_camera,
        }
        for n, name in enumerate(CAMERAS, start=1):
            commands[str(n)] = lambda name=name: self._look(camera=name)  # type: ignore[misc]
        return commands

    def _look(self, **changes: object) -> None:
        self.outlook = replace(self.outlook, **changes)  # type: ignore[arg-type]

    def _toggle_gains(self) -> None:
        if self.tuning is not None:
            self.tuning.toggle()

    def _next_camera(self) -> None:
        names = tuple(CAMERAS)
        self._look(camera=names[(names.index(self.outlook.camera) + 1) % len(names)])

    def _toggle_verdict(self) -> None:
        self._look(verdict=not self.view.verdict_shown(self.playback.t_s, self.outlook))

    def _quit(self) -> None:
        self.open = False

    def _to_event(self, way: int) -> None:
        """To the nearest event before or after now."""
        t = self.playback.t_s
        ahead: list[Event] = [e for e in self.track.events if (e.t_s - t) * way > 0.02]
        if ahead:
            self.playback.seek(min(ahead, key=lambda e: abs(e.t_s - t)).t_s)

    def _take_sticks(self) -> None:
        if self.live is not None and not self.sticks.taken:
            self.sticks.taken = True
            self.live.set_mode(self.sticks.mode)

    def _next_mode(self) -> None:
        if self.live is not None and self.sticks.taken:
            self.live.set_mode(self.sticks.next_mode())


def _first_rows(run_or_live: Run | LiveFlight, live: LiveFlight | None) -> Track:
    """A track with at least one row; a live flight is flown until it has one."""
    for _ in range(1000):
        run = run_or_live if live is None else live.run
        if len(run):  # type: ignore[arg-type]
            return Track(run)  # type: ignore[arg-type]
        if live is None or live.finished:
            break
        live.advance(live.time_step_s)
    raise InputError("this run has no rows, so there is nothing to watch; fly the flight again")
