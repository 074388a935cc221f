"""The time bar: the whole flight, where we are, and what happened when."""

from __future__ import annotations

from dataclasses import dataclass

from quadsim.simulation.run import Event
from quadsim.viewer import palette
from quadsim.viewer.canvas import Canvas
from quadsim.viewer.fonts import SMALL, TINY
from quadsim.viewer.layout import Layout, Rect
from quadsim.viewer.palette import Colour

LANES = 2
LONGEST, LONGEST_END = 210, 420
"""Longest label, and longest label of how the flight ended [px at 1280 x 720]."""
COLOURS: dict[str, Colour] = {
    "timeline": palette.INK,
    "ground": palette.INK_SOFT,
    "fault": palette.ALARM,
    "payload": palette.WIND,
    "air": palette.WIND,
    "drive": palette.ALARM,
    "status": palette.INK,
}
TICKS = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 30.0, 60.0, 120.0, 300.0, 600.0, 1800.0, 3600.0)


@dataclass(frozen=True)
class TimeBar:
    """Maps time to the bar and back."""

    layout: Layout
    end_s: float

    @property
    def track(self) -> Rect:
        """The bar itself."""
        box, px = self.layout.panels["times"], self.layout.px
        return Rect(box.x + px(24), box.y + px(44), box.w - px(48), px(8))

    def x_of(self, t_s: float) -> float:
        """Column of a time [px]."""
        return self.track.x + self.track.w * min(max(t_s / max(self.end_s, 1e-9), 0.0), 1.0)

    def t_at(self, x: float) -> float:
        """Time of a column [s]."""
        return min(max((x - self.track.x) / self.track.w, 0.0), 1.0) * self.end_s

    def grabs(self, at: tuple[float, float]) -> bool:
        """True where a press starts to scrub."""
        return self.layout.panels["times"].holds(at)

    def event_at(self, events: list[Event], at: tuple[float, float]) -> Event | None:
        """The event whose mark the mouse is on."""
        reach = self.layout.px(6)
        near = [e for e in events if abs(self.x_of(e.t_s) - at[0]) <= reach] if self.grabs(at) else []
        return min(near, key=lambda e: abs(self.x_of(e.t_s) - at[0]), default=None)


def draw_timebar(
    canvas: Canvas, bar: TimeBar, t_s: float, events: list[Event], live_from_s: float | None
) -> None:
    """Draw it; `live_from_s` is the newest time of a live flight, None in a replay."""
    px, track = bar.layout.px, bar.track
    canvas.card(palette.RULE, track, px(4))
    now = bar.x_of(t_s)
    if live_from_s is not None:
        canvas.card(
            palette.TRAIL_OLD, Rect(track.x, track.y, round(bar.x_of(live_from_s)) - track.x, track.h), px(4)
        )
    canvas.card(palette.FLOWN, Rect(track.x, track.y, max(round(now) - track.x, px(4)), track.h), px(4))
    _ticks(canvas, bar)
    _events(canvas, bar, events)
    handle = Rect(round(now) - px(4), track.y - px(5), px(8), track.h + px(10))
    canvas.card(palette.CARD, handle.inset(-1), px(4))
    canvas.card(palette.INK, handle, px(3))


def _ticks(canvas: Canvas, bar: TimeBar) -> None:
    step = next((s for s in TICKS if bar.end_s / s <= 16), TICKS[-1])
    track, px = bar.track, bar.layout.px
    n = 0
    while n * step <= bar.end_s * (1.0 + 1e-9):
        x = bar.x_of(n * step)
        canvas.line(palette.INK_SOFT, (x, track.bottom + px(2)), (x, track.bottom + px(5)))
        words = f"{n * step:g} s" if step < 60.0 else f"{n * step / 60.0:g} min"
        canvas.text((x, track.bottom + px(6)), words, TINY, palette.INK_SOFT, anchor="nc")
        n += 1


def _events(canvas: Canvas, bar: TimeBar, events: list[Event]) -> None:
    """Marks for all events, labels for those that have room; faults and the end come first."""
    px, track = bar.layout.px, bar.track
    box = bar.layout.panels["times"]
    taken: list[list[Rect]] = [[] for _ in range(LANES)]
    for event in sorted(events, key=lambda e: (e.kind not in ("fault", "status", "payload"), e.t_s)):
        x, colour = bar.x_of(event.t_s), COLOURS.get(event.kind, palette.INK)
        _mark(canvas, event.kind, colour, x, track.y - px(7), px(4))
        most = px(LONGEST_END if event.kind == "status" else LONGEST)
        wide = min(canvas.measure(event.text, SMALL)[0], most) + px(10)
        left = min(x, box.right - px(12) - wide)
        for lane in reversed(range(LANES)):
            top = box.y + px(4) + lane * px(15)
            spot = Rect(round(left), top, wide, px(14))
            if any(spot.meets(other) for other in taken[lane]) or _crossed(spot, x, lane, taken):
                continue
            taken[lane].append(spot)
            canvas.line(palette.mix(colour, palette.PAPER, 0.5), (x, top + px(13)), (x, track.y - px(11)))
            canvas.text((left, top), event.text, SMALL, colour, width=most)
            break


def _crossed(spot: Rect, x: float, lane: int, taken: list[list[Rect]]) -> bool:
    """True when the leader line of a label would run through a label in a lower lane."""
    return any(other.x - 2 <= x <= other.right for lower in taken[lane + 1 :] for other in lower)


def _mark(canvas: Canvas, kind: str, colour: Colour, x: float, y: float, r: float) -> None:
    """A shape for each kind: cross for a fault, square for payload, triangle for the ground, bar for the end."""
    if kind == "fault":
        canvas.thick_line(colour, (x - r, y - r), (x + r, y + r), 0.6 * r)
        canvas.thick_line(colour, (x - r, y + r), (x + r, y - r), 0.6 * r)
    elif kind == "payload":
        canvas.polygon(colour, [(x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r)])
    elif kind == "ground":
        canvas.polygon(colour, [(x - r, y - r), (x + r, y - r), (x, y + r)])
    elif kind == "status":
        canvas.thick_line(colour, (x, y - 1.4 * r), (x, y + 1.4 * r), 0.8 * r)
    else:
        canvas.polygon(colour, [(x, y - r), (x + r, y), (x, y + r), (x - r, y)])
