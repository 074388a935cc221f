"""One picture of the practice screen: strips, scene and whatever card is up."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from quadsim.practice.aids import Aids
from quadsim.practice.ghost import Ghost
from quadsim.practice.lap_watch import LapWatch
from quadsim.practice.latency import Latency
from quadsim.practice.picture_link import shown
from quadsim.practice.practice_flight import PracticeFlight
from quadsim.viewer import palette
from quadsim.viewer.calibration_card import CardState, draw_calibration
from quadsim.viewer.cameras import Orbit
from quadsim.viewer.canvas import Canvas, Placed, new_canvas
from quadsim.viewer.cards import caption, name_plate
from quadsim.viewer.course_model import make_course_model
from quadsim.viewer.craft_model import CraftModel, make_model
from quadsim.viewer.layout import Rect
from quadsim.viewer.panels import draw_sticks
from quadsim.viewer.pilot_cameras import PIXEL_DEG, VIEWS, apparent_deg, pilot_eye
from quadsim.viewer.practice_cards import EndCard, draw_aids, draw_count, draw_end, draw_keys
from quadsim.viewer.practice_layout import make_practice_layout
from quadsim.viewer.practice_panels import (
    Ribbon,
    draw_figures,
    draw_heading,
    draw_hints,
    draw_lap_clock,
    draw_ribbon,
)
from quadsim.viewer.practice_scene import Stage, draw_practice
from quadsim.viewer.track import Moment, Track

NOT_MEASURED = Latency(0.0, 0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Screen:
    """What is on the practice screen besides the flight itself."""

    view: str = "chase"
    orbit: Orbit = field(default_factory=Orbit)
    aids: Aids = field(default_factory=Aids)
    aids_open: bool = False
    aid_chosen: int = 0
    help: bool = False
    count: str = ""
    """Number of the countdown, or a word in its place."""
    count_note: str = ""
    end: EndCard | None = None
    caption: str = ""
    caption_alarm: bool = False
    ghost: Ghost | None = None
    best_s: float | None = None
    latency: Latency = NOT_MEASURED
    pace: str = ""
    mode: str = ""
    calibration: CardState | None = None


class PracticeView:
    """Draws frames of one size."""

    def __init__(self, flight: PracticeFlight, track: Track, size: tuple[int, int]) -> None:
        self.layout = make_practice_layout(size)
        self.flight, self.track = flight, track
        self.model: CraftModel = make_model(track.run.view)
        self.course_model = make_course_model(flight.course)
        self._chrome = self._paint_chrome()
        self._written: tuple[str, str] | None = None

    def draw(self, canvas: Canvas, t_s: float, screen: Screen) -> None:
        """Draw the whole frame at flight time `t_s`."""
        flight, layout = self.flight, self.layout
        self._strips(canvas, screen)
        now = self.track.at(t_s)
        moment, frozen = now, False
        if screen.view == "picture":  # the pilot sees what the link brings
            seen = shown(t_s, flight.craft.camera, flight.attempt)
            moment, frozen = self.track.at(min(seen.t_s, self.track.end_s)), seen.frozen
        watch = flight.watch
        clock = watch.clock_s(t_s)
        stage = Stage(
            self.course_model, self.track, moment, screen.view, flight.craft.camera, screen.orbit,
            -1 if watch.finished else watch.next,
            screen.aids.marker, bool(watch.splits_s), self._ghost_place(screen, clock),
            screen.ghost.name if screen.ghost else "",
        )  # fmt: skip
        part = canvas.part(layout.panels["scene"])
        draw_practice(part, stage, self.model, self._taken(screen))
        self._camera_line(canvas, screen, moment, frozen)
        draw_lap_clock(canvas, layout, clock, self._clock_note(screen, watch), bool(watch.lap_misses))
        draw_sticks(canvas, layout, self.track, now, True)
        draw_ribbon(canvas, layout, ribbon_of(flight, screen.ghost, clock, now.position))
        draw_figures(canvas, layout, now, self.track.cells, screen.latency, screen.pace)
        self._cards(canvas, screen)

    def _strips(self, canvas: Canvas, screen: Screen) -> None:
        """The strips with the words on them that seldom change: written once, stamped every frame."""
        flight, layout = self.flight, self.layout
        words = f"{flight.craft.name}, {screen.mode}", hint_of(screen)
        if words != self._written or canvas.placed is not None:
            self._chrome, self._written = self._paint_chrome(canvas.placed), words
            draw_heading(self._chrome, layout, flight.course.name, words[0])
            draw_hints(self._chrome, layout, words[1])
        scene, (width, height) = layout.panels["scene"], layout.size
        canvas.stamp(self._chrome, area=Rect(0, 0, width, scene.y))
        canvas.stamp(self._chrome, (0, scene.bottom), Rect(0, scene.bottom, width, height - scene.bottom))

    def _cards(self, canvas: Canvas, screen: Screen) -> None:
        layout = self.layout
        if screen.help:
            draw_keys(canvas, layout)
            return
        if screen.calibration:
            draw_calibration(canvas, layout, screen.calibration)
            return
        if screen.caption and not screen.end:
            caption(canvas, layout.insets["caption"], screen.caption, screen.caption_alarm)
        if screen.end:
            draw_end(canvas, layout, screen.end)
        elif screen.count:
            draw_count(canvas, layout, screen.count, screen.count_note)
        if screen.aids_open:
            ghost = f"ghost: {screen.ghost.name} lap" if screen.ghost else "ghost (no lap to show yet)"
            draw_aids(canvas, layout, screen.aids, screen.aid_chosen, ghost)

    def _ghost_place(self, screen: Screen, clock: float | None) -> np.ndarray | None:
        if screen.ghost is None or not screen.aids.ghost or clock is None or self.flight.watch.finished:
            return None
        return screen.ghost.place_at(min(clock, screen.ghost.time_s))

    def _clock_note(self, screen: Screen, watch: LapWatch) -> str:
        course = self.flight.course
        parts = []
        if course.closed and course.laps > 1:
            parts.append(f"lap {min(len(watch.laps) + 1, course.laps)} of {course.laps}")
        if watch.lap_misses:
            parts.append(f"missed {watch.lap_misses}")
        parts.append(f"best {screen.best_s:.2f} s" if screen.best_s is not None else "no best lap yet")
        return "   ".join(parts)

    def _taken(self, screen: Screen) -> list[Rect]:
        area = self.layout.panels["scene"]
        names = ["camera"] + ["caption"] * bool(screen.caption) + ["aids"] * screen.aids_open
        names += ["card"] * bool(screen.end or screen.count or screen.calibration)
        rects = [self.layout.insets[name] for name in names]
        return [Rect(r.x - area.x, r.y - area.y, r.w, r.h) for r in rects]

    def _camera_line(self, canvas: Canvas, screen: Screen, moment: Moment, frozen: bool) -> None:
        """Which view this is, and what it does to the size of things."""
        words = VIEWS[screen.view]
        video = self.flight.craft.camera
        if screen.view == "picture":
            words += f", {video.tilt_deg:g}° up, {video.view_deg:g}° wide"
            words += f", {video.delay_ms:g} ms late" if video.delay_ms else ""
            words += ", PICTURE STANDS STILL" if frozen else ""
        elif screen.view == "place":
            eye = pilot_eye(self.flight.course)
            angle = apparent_deg(eye, moment.position, self.model.span_m)
            away = float(np.linalg.norm(moment.position - eye))
            words += f", {away:.0f} m away, craft {angle:.1f}° wide"
            zoom = screen.orbit.zoom
            true = f"as in the field at {PIXEL_DEG:g}° a pixel"
            words += f", {true}" if abs(zoom - 1.0) < 0.01 else f", {1.0 / zoom:.2f} times the true size"
        ink = palette.ALARM if frozen else palette.INK_SOFT
        name_plate(canvas, self.layout.insets["camera"], words, ink)

    def _paint_chrome(self, placed: list[Placed] | None = None) -> Canvas:
        """Strips and the rules between them."""
        layout = self.layout
        chrome = new_canvas(layout.size, layout.scale, placed)
        chrome.fill(palette.PAPER)
        scene, thin = layout.panels["scene"], max(1, round(layout.scale))
        width = layout.size[0]
        chrome.fill(palette.RULE, Rect(0, scene.y - thin, width, thin))
        chrome.fill(palette.RULE, Rect(0, scene.bottom, width, thin))
        for name in ("ribbon", "figures"):
            box = layout.panels[name]
            chrome.fill(palette.RULE, Rect(box.x, box.y + layout.px(12), thin, box.h - layout.px(24)))
        return chrome


def hint_of(screen: Screen) -> str:
    """The hint that stands out: what it opens is open."""
    return "aids" if screen.aids_open else "help" if screen.help else ""


def ribbon_of(flight: PracticeFlight, ghost: Ghost | None, clock: float | None, place: np.ndarray) -> Ribbon:
    """The ribbon at this moment."""
    course, watch = flight.course, flight.watch
    count = len(course.gates)
    done = watch.laps[-1].splits_s[:count] if watch.finished else watch.splits_s
    at = _places(ghost, count, course.closed)
    differences = [ghost.difference_s(k, done[k]) if ghost and k < len(done) else None for k in range(count)]
    if course.closed:
        differences[0] = None  # both clocks start there
    own = None
    if clock is not None:
        own = 1.0 if watch.finished else _own(flight, at, len(done), place)
    shown_ghost = None
    if ghost is not None and clock is not None and not watch.finished:
        shown_ghost = clock / max(ghost.time_s, 1e-6)
    words = (
        f"gates at the times of the {ghost.name} lap, {ghost.time_s:.2f} s"
        if ghost
        else "gates in flying order"
    )
    if course.closed:  # the line ends where the lap does, at the first gate again
        at = [*at, 1.0]
        lap = watch.laps[-1].time_s if watch.finished else None
        differences.append(lap - ghost.time_s if ghost and lap is not None else None)
    following = None if watch.finished else watch.next
    if course.closed and following == 0 and len(done) == count:
        following = count
    passed = len(done) + (1 if course.closed and watch.finished else 0)
    numbers = [str(k % count + 1) for k in range(len(at))]
    return Ribbon(numbers, at, passed, following, differences, own, shown_ghost, words)


def _places(ghost: Ghost | None, count: int, closed: bool) -> list[float]:
    """Where the gates stand on the ribbon: a closed course comes back to its first gate at the end of the line."""
    if ghost is not None and len(ghost.splits_s) >= count and ghost.time_s > 0.0:
        return [split / ghost.time_s for split in ghost.splits_s[:count]]
    last = count if closed else max(count - 1, 1)
    return [k / last for k in range(count)]


def _own(flight: PracticeFlight, at: list[float], passed: int, place: np.ndarray) -> float:
    """Own place on the ribbon: between two gates by the distances to them."""
    gates = flight.course.gates
    if passed == 0:
        return at[0] * 0.0
    behind = at[passed - 1]
    ahead = at[passed] if passed < len(at) else 1.0
    here = float(np.linalg.norm(place - gates[passed - 1].centre))
    there = float(np.linalg.norm(place - gates[flight.watch.next].centre))
    return behind + (ahead - behind) * here / max(here + there, 1e-6)
