"""Practice at work: countdown, flight, end of the attempt, restart; keys, mouse and buttons in, frames out."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Protocol

from quadsim.config.stick_device import StickDevice
from quadsim.practice.aids import AIDS
from quadsim.practice.ghost import Ghost, best_ghost
from quadsim.practice.lap_book import LapBook, lap_meta
from quadsim.practice.lap_watch import Miss, Passage
from quadsim.practice.latency import LatencyMeter
from quadsim.practice.picture_link import stick_age_s
from quadsim.practice.practice_flight import PracticeFlight
from quadsim.units import MILLI
from quadsim.viewer.app import FRAMES_PER_S, LONGEST_FRAME_S
from quadsim.viewer.app import Screen as Window
from quadsim.viewer.calibration_card import Calibrating, keep
from quadsim.viewer.controls import KEYS, MODES, Sticks
from quadsim.viewer.pilot_cameras import VIEWS
from quadsim.viewer.playback import Playback
from quadsim.viewer.practice_cards import EndCard, end_lines
from quadsim.viewer.practice_keys import hear_button, hear_key, hear_press
from quadsim.viewer.practice_panels import signed
from quadsim.viewer.practice_view import PracticeView, Screen
from quadsim.viewer.track import Track
from quadsim.viewer.window import Happening

COUNTDOWN_S = 3.0
CAPTION_S = 2.2
"""How long a passage or a miss is spelled out [s, wall]."""
SLOW_NOTCHES = -1
"""Slow motion is half of real time: one notch of the clock."""


class PracticeWindow(Window, Protocol):
    """What practice needs of a window."""

    @property
    def shown_s(self) -> float:
        """Wall time at which the last picture was handed to the screen [s]."""


class PracticeApp:
    """State of the practice screen between frames. Phases: count, fly, over; and a pause in any of them."""

    def __init__(
        self, flight: PracticeFlight, book: LapBook, size: tuple[int, int], *, view: str = "chase",
        device: StickDevice | None = None, line: Ghost | None = None, wall: Callable[[], float] = time.perf_counter,
        countdown_s: float = COUNTDOWN_S,
    ) -> None:  # fmt: skip
        self.flight, self.book, self.line = flight, book, line
        self._wall, self._countdown_s = wall, countdown_s
        self.sticks = Sticks(device)
        self.sticks.taken, self.sticks.mode = True, flight.mode
        self.meter = LatencyMeter()
        self.screen = Screen(view=view)
        self.open, self.paused, self.asks_for = True, False, ""
        self._axes_seen, self._device_name = False, ""
        self.calibrating: Calibrating | None = None
        self._caption_until = 0.0
        self._first_row()
        self.track = Track(flight.run)
        self.playback = Playback(self.track, flight, wall=wall)
        self.view = PracticeView(flight, self.track, size)
        self._begin()

    def loop(self, window: PracticeWindow) -> None:
        """Frame after frame until the user quits."""
        last = self._wall()
        while self.open:
            now = self._wall()
            self.frame(window, min(now - last, LONGEST_FRAME_S))
            last = now
        self.finish()

    def finish(self) -> None:
        """Before the screen goes: keep the laps flown."""
        self._keep_laps()

    def frame(self, window: PracticeWindow, wall_s: float) -> None:
        """Hear, fly on, draw, show."""
        for happening in window.happenings():
            self.hear(happening)
        axes = window.axes()
        read_s = self._wall()
        self._device(axes, getattr(window, "device_name", ""))
        sticks = self.sticks.update(window.held(KEYS), axes, wall_s)
        if not (self.paused or self.screen.help or self.calibrating):
            self._move(sticks, wall_s)
        self.compose()
        if getattr(window, "wants_picture", True):
            self.view.draw(window.canvas, self.playback.t_s, self.screen)
        window.show(FRAMES_PER_S)
        if getattr(window, "measures", True):
            self.meter.frame(read_s, window.shown_s)

    def _move(self, sticks: tuple[float, float, float, float], wall_s: float) -> None:
        """Let a frame's time pass."""
        self.flight.set_sticks(*sticks)
        if self._count_s > 0.0:
            self._count_s -= wall_s
            return
        if self.screen.end is not None:
            return
        backs = self.flight.set_backs
        self.playback.tick(wall_s)
        if self.flight.set_backs != backs:
            self._resume_track("set back")
        self._hear_flight()
        if self.flight.finished:
            self._conclude()

    def compose(self) -> None:
        """Bring what is on the screen up to date."""
        flight, screen = self.flight, self.screen
        video = flight.craft.camera.delay_ms * MILLI if screen.view == "picture" else 0.0
        latency = self.meter.now(stick_age_s(flight.craft.radio.sticks), video)
        rate = self.meter.frames_per_s
        pace = f"{rate:.0f} frames/s" if rate else ""
        if self.playback.dropped_s > 0.05:
            pace += f", {self.playback.dropped_s:.1f} s given up"
        elif flight.aids.slow:
            pace += ", slow motion"
        self.screen = replace(
            screen, aids=flight.aids, latency=latency, pace=pace, mode=self.flight.mode.name.replace("_", " ").lower(),
            ghost=self.ghost, best_s=self.book.best.lap.time_s if self.book.best else None,
            count=self._count_word(), count_note=self._count_note(),
            caption=screen.caption if self._wall() < self._caption_until else "",
            calibration=self.calibrating.state if self.calibrating else None,
        )  # fmt: skip

    def _count_word(self) -> str:
        if self.paused:
            return "II"
        return f"{int(self._count_s) + 1}" if self._count_s > 0.0 else ""

    def _count_note(self) -> str:
        if self.paused:
            return self._pause_note
        start = "the first gate" if self.flight.course.closed else "the signal"
        words = f"the clock starts at {start}"
        return (
            f"{words}; C calibrates your sticks" if self._axes_seen and self.sticks.device is None else words
        )

    # -- attempts

    def _first_row(self) -> None:
        """Fly until the log has a row: the first tick."""
        while not len(self.flight.run) and not self.flight.finished:
            self.flight.advance(self.flight.time_step_s)

    def _begin(self) -> None:
        self._count_s = self._countdown_s
        self.ghost = best_ghost(self.book.best) if self.book.best else self.line
        """What this attempt is flown against: the best run before it, else the planned line."""
        self._kept = 0
        self.paused, self._pause_note = False, ""
        self.screen = replace(self.screen, end=None, caption="")

    def restart(self) -> None:
        """A new attempt, after a countdown."""
        self._keep_laps()
        self.flight.restart()
        self._first_row()
        self._resume_track()
        self._begin()

    def _resume_track(self, caption: str = "") -> None:
        """The log has become shorter."""
        self.track.cut(0 if not caption else max(len(self.flight.run) - 1, 1))
        self.track.refresh(self.flight.run)
        self.playback.seek(self.track.end_s)
        if caption:
            self._say(caption, True)

    def _hear_flight(self) -> None:
        """Spell out passages and misses; laps go into the book as they are flown."""
        for one in self.flight.news:
            self._spell(one)
        self.flight.news.clear()

    def _spell(self, one: Passage | Miss) -> None:
        gates = len(self.flight.course.gates)
        if isinstance(one, Miss):
            self._say(f"{one.index + 1}  missed: {one.how}", True)
            return
        laps = self.flight.watch.laps
        ended = bool(laps) and one.index == (0 if self.flight.course.closed else gates - 1)
        split = laps[-1].time_s if ended else one.split_s
        words = f"lap {laps[-1].number}  {split:.2f} s" if ended else f"{one.index + 1}  {split:.2f} s"
        index = gates if ended and self.flight.course.closed else one.index
        lost = self.ghost.difference_s(index, split) if self.ghost else None
        if lost is not None and (ended or one.index > 0):
            words += f"   {signed(lost)} on {self.ghost.name if self.ghost else ''}"
        self._say(words, False)

    def _say(self, words: str, alarm: bool) -> None:
        self.screen = replace(self.screen, caption=words, caption_alarm=alarm)
        self._caption_until = self._wall() + CAPTION_S

    def _keep_laps(self) -> None:
        """Write what has been flown since the last call into the book; the best lap with its whole run."""
        laps = self.flight.watch.laps[self._kept :]
        self._kept += len(laps)
        aids = tuple(sorted(self.flight.used_aids)) + (("forgiving",) if self.flight.set_backs else ())
        for lap in laps:
            self.book.add(lap, self.flight.mode.name.lower(), tuple(dict.fromkeys(aids)), self.screen.view)
        able = [lap for lap in laps if self.flight.counts and self.book.is_best(lap)]
        if able:
            best = min(able, key=lambda lap: lap.time_s)
            self.book.keep_best(
                self.flight.judged({"lap": lap_meta(best), "course": self.flight.course.name}), best
            )

    def _conclude(self) -> None:
        """The attempt has ended: say how, and what was won."""
        before = self.book.best.lap if self.book.best else None
        flight = self.flight
        laps = list(flight.watch.laps)
        self._keep_laps()
        won = bool(laps) and flight.counts and (before is None or min(p.time_s for p in laps) < before.time_s)
        title = (
            "Best lap so far"
            if won
            else "Flown"
            if flight.watch.finished
            else flight.over[:1].upper() + flight.over[1:]
        )
        lines = end_lines(laps, self.ghost, flight)
        foot = "R, button 1 or a click on restart: again"
        helped = flight.used_aids or ({"forgiving"} if flight.set_backs else set())
        if helped and laps:
            foot = f"flown with {', '.join(AIDS[a] for a in sorted(helped))}: no best lap.  R: again"
        self.screen = replace(self.screen, end=EndCard(title, lines, flight.watch.finished, foot))

    # -- input

    def hear(self, happening: Happening) -> None:
        """Act on what the user did."""
        match happening.kind:
            case "quit":
                self.open = False
            case "key":
                hear_key(self, happening.key)
            case "button":
                hear_button(self, happening.key)
            case "wheel":
                zoom = min(max(self.screen.orbit.zoom * 0.9**happening.notches, 0.35), 8.0)
                self.look(orbit=replace(self.screen.orbit, zoom=zoom))
            case "press":
                hear_press(self, happening.at)
            case "drag" if self.view.layout.panels["scene"].holds(happening.at):
                orbit, (dx, dy) = self.screen.orbit, happening.moved
                turned = replace(
                    orbit, turn_deg=orbit.turn_deg + 0.4 * dx, lift_deg=orbit.lift_deg + 0.3 * dy
                )
                self.look(orbit=turned)

    def toggle_aid(self, name: str) -> None:
        self.flight.set_aids(self.flight.aids.toggled(name))
        if name == "slow":
            self.playback.real_time()
            self.playback.faster(SLOW_NOTCHES if self.flight.aids.slow else 0)

    def _device(self, axes: Sequence[float] | None, name: str) -> None:
        """A device that disappears in flight pauses; when it is back, P goes on. While it is calibrated its axes are read."""
        there = axes is not None
        if self._axes_seen and not there and not self.paused:
            self.end_calibration()
            self.pause("the sticks' device is gone; plug it in, then P goes on")
        self._axes_seen, self._device_name = there, name
        if self.calibrating is not None and axes is not None:
            self.calibrating.read(axes)
            if self.calibrating.steps.device is not None:
                self.sticks.device = self.calibrating.steps.device
                self.end_calibration(f"{keep(self.sticks.device, self.book.shelf)}; P goes on")

    def calibrate(self) -> None:
        """Ask for the ends of all sticks; the flight waits."""
        if self._axes_seen:
            self.calibrating = Calibrating(self._device_name)
            self.look(help=False, aids_open=False)
        else:
            self._say("no radio or gamepad is connected", True)

    def end_calibration(self, note: str = "paused; P goes on") -> None:
        """Leave the calibration; in flight the pilot says when to go on."""
        if self.calibrating is not None:
            self.calibrating, self.paused, self._pause_note = None, True, note

    def pause(self, note: str) -> None:
        self.paused = not self.paused
        self._pause_note = note

    def again(self) -> None:
        if self.screen.end is not None:
            self.restart()

    def next_view(self) -> None:
        names = tuple(VIEWS)
        self.look(view=names[(names.index(self.screen.view) + 1) % len(names)])

    def next_mode(self) -> None:
        modes = [m for m in MODES if m.name != "POSITION_HOLD" or self.flight.craft.gnss is not None]
        now = modes.index(self.sticks.mode) if self.sticks.mode in modes else -1
        self.sticks.mode = modes[(now + 1) % len(modes)]
        self.flight.set_mode(self.sticks.mode)

    def look(self, **changes: object) -> None:
        self.screen = replace(self.screen, **changes)  # type: ignore[arg-type]

    def step_back(self) -> None:
        if self.screen.help or self.screen.aids_open:
            self.look(help=False, aids_open=False)
        else:
            self.quit()

    def lay_out(self) -> None:
        """Leave for the layout of the course; whoever opened this screen opens that one."""
        self.asks_for, self.open = "layout", False

    def quit(self) -> None:
        self.open = False
