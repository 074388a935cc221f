"""One picture of a flight at one time: puts scene, panels, charts and time bar together."""

from __future__ import annotations

from dataclasses import dataclass, field

from quadsim.practice.course_record import flown_course
from quadsim.simulation.run import Event
from quadsim.viewer import palette
from quadsim.viewer.cameras import Orbit, check_camera
from quadsim.viewer.canvas import Canvas, new_canvas
from quadsim.viewer.charts import ChartColumn
from quadsim.viewer.course_drawing import gate_looks
from quadsim.viewer.course_model import make_course_model
from quadsim.viewer.craft_model import CraftModel, hanging, make_model
from quadsim.viewer.gain_panel import GainPanel, PanelState
from quadsim.viewer.help_card import draw_help
from quadsim.viewer.layout import Rect, make_layout
from quadsim.viewer.panels import Pace, draw_clock, draw_readouts, draw_sticks, draw_title
from quadsim.viewer.scene import CAPTION_S, Caption, Standing, draw_scene
from quadsim.viewer.timebar import TimeBar, draw_timebar
from quadsim.viewer.track import Track
from quadsim.viewer.verdict import draw_verdict


@dataclass(frozen=True)
class Outlook:
    """How the flight is looked at: everything that is not the flight itself."""

    camera: str = "chase"
    orbit: Orbit = field(default_factory=Orbit)
    pace: Pace | None = None
    help: bool = False
    verdict: bool | None = None
    """True and False show and hide the verdict; None shows it at the end."""
    pointed_at: Event | None = None
    live: bool = False
    by_hand: bool = False
    gains: PanelState | None = None
    """The panel of gains, in place of the charts."""
    tunable: bool = False
    """True where the panel of gains can be opened."""


HINT, CAMERA_NAME = 64, 130
"""Width of one hint, such as "H help", in the title line, and of the camera's name in the scene [px at 1280 x 720]."""


def hints_of(outlook: Outlook) -> tuple[tuple[str, str], ...]:
    """What the title line offers from its right edge on: key and word."""
    gains = (("G", "gains"),) if outlook.tunable else ()
    return ("H", "help"), *gains, ("V", "verdict")


class View:
    """Draws frames of one size. What does not change from frame to frame is painted once."""

    def __init__(
        self, track: Track, size: tuple[int, int], camera: str = "chase", live: bool = False
    ) -> None:
        check_camera(camera)
        self.layout = make_layout(size)
        self.track = track
        self.refresh_craft()
        self._flown = flown_course(track.run.meta)
        self._course = make_course_model(self._flown.course) if self._flown else None
        self.charts = ChartColumn(self.layout, None if live else track.end_s)
        self.gain_panel = GainPanel(self.layout)
        self._chrome = self._paint_chrome()

    def refresh_craft(self) -> None:
        """Forget the models, when the craft's view has changed."""
        self._models: dict[tuple[float, ...], CraftModel] = {}

    def model_at(self, t_s: float) -> CraftModel:
        """The craft with what hangs on it at that time."""
        view = self.track.run.view
        loads = hanging(view, t_s)
        key = tuple(load["from_s"] for load in loads)
        if key not in self._models:
            self._models[key] = make_model({**view, "parts": [*view.get("parts", ()), *loads]})
        return self._models[key]

    @property
    def timebar(self) -> TimeBar:
        """The time bar as it stands; a live flight gets room to grow."""
        return TimeBar(self.layout, max(self.track.end_s, 1e-3))

    def key_at(self, at: tuple[int, int], outlook: Outlook) -> str:
        """The key that a click stands for: on a hint, the clock, the sticks of a live flight, the camera's name; else none."""
        panels, px = self.layout.panels, self.layout.px
        title, clock, camera = panels["title"], panels["clock"], self.layout.insets["camera"]
        if title.holds(at):
            place, hints = (title.right - at[0] - 1) // px(HINT), hints_of(outlook)
            return hints[place][0].lower() if place < len(hints) else ""
        if clock.holds(at):
            return "space" if at[0] < clock.x + 0.7 * clock.w else "0"
        if panels["sticks"].holds(at):
            return "m" if outlook.by_hand else "t"
        return "c" if camera.holds(at) and at[0] < camera.x + px(CAMERA_NAME) else ""

    def draw(self, canvas: Canvas, t_s: float, outlook: Outlook) -> None:
        """Draw the whole frame."""
        moment = self.track.at(t_s)
        canvas.stamp(self._chrome)
        verdict = self.verdict_shown(t_s, outlook)
        draw_scene(canvas, self.layout, self.track, moment, self.model_at(t_s), outlook.camera, outlook.orbit,
                   self._caption(t_s, outlook), verdict, self._standing(t_s))  # fmt: skip
        draw_title(canvas, self.layout, self.track, hints_of(outlook) if outlook.pace else (), HINT)
        draw_clock(canvas, self.layout, t_s, self.track.end_s, outlook.pace)
        draw_readouts(canvas, self.layout, self.track, moment)
        draw_sticks(canvas, self.layout, self.track, moment, outlook.by_hand)
        if outlook.gains is None:
            self.charts.draw(canvas, self.track, moment)
        else:
            self.gain_panel.draw(canvas, outlook.gains)
        newest = self.track.end_s if outlook.live else None
        draw_timebar(canvas, self.timebar, t_s, self.track.events, newest)
        if verdict and not outlook.help:
            draw_verdict(canvas, self.layout, self.track.run)
        if outlook.help:
            draw_help(canvas, self.layout, outlook.live)

    def verdict_shown(self, t_s: float, outlook: Outlook) -> bool:
        """The verdict shows at the end of a flight that has ended, unless asked otherwise."""
        if outlook.verdict is not None:
            return outlook.verdict
        ended = not outlook.live or self.track.run.status != "flying"
        return ended and t_s >= self.track.end_s - 1e-6

    def _standing(self, t_s: float) -> Standing | None:
        """The course of a practised run, with the gate that was next."""
        if self._flown is None or self._course is None:
            return None
        following = self._flown.next_at(t_s)
        begun = any(t <= t_s for _, t in self._flown.passages)
        return Standing(self._course, gate_looks(self._flown.course, following, True, begun))

    def _caption(self, t_s: float, outlook: Outlook) -> Caption | None:
        """What the mouse points at, or the newest event."""
        event = outlook.pointed_at
        if event is None:
            past = [e for e in self.track.events if 0.0 <= t_s - e.t_s < CAPTION_S and e.kind != "status"]
            event = max(past, key=lambda e: e.t_s, default=None)
        return Caption(f"{event.t_s:.2f} s   {event.text}", event.kind == "fault") if event else None

    def _paint_chrome(self) -> Canvas:
        """Panels and the rules between them."""
        layout = self.layout
        chrome = new_canvas(layout.size, layout.scale)
        chrome.fill(palette.PAPER)
        width = layout.size[0]
        scene, times = layout.panels["scene"], layout.panels["times"]
        thin = max(1, round(layout.scale))
        chrome.fill(palette.RULE, Rect(0, scene.y - thin, width, thin))
        chrome.fill(palette.RULE, Rect(scene.right, scene.y, thin, times.y - scene.y))
        chrome.fill(palette.RULE, Rect(0, times.y, width, thin))
        for name in ("speed", "heading", "tilt", "wind", "cell", "pack", "charge", "sticks"):
            box = layout.panels[name]
            chrome.fill(palette.RULE, Rect(box.x, box.y + layout.px(12), thin, box.h - layout.px(24)))
        return chrome
