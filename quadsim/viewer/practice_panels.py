"""Strips of the practice screen: title, lap clock, the ribbon of gates, figures of the flight."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from quadsim.practice.latency import Latency
from quadsim.units import KMH
from quadsim.viewer import palette
from quadsim.viewer.canvas import Canvas
from quadsim.viewer.fonts import BODY, CLOCK, LABEL, SMALL, STRONG, TITLE, VALUE
from quadsim.viewer.layout import Layout, Rect
from quadsim.viewer.panels import number
from quadsim.viewer.practice_layout import HINTS
from quadsim.viewer.track import Moment

LOW_CELL_V = 3.5


@dataclass(frozen=True)
class Ribbon:
    """The lap as a line: one mark per gate, at the time of the reference lap."""

    numbers: Sequence[str]
    at: Sequence[float]
    """Place of each gate on the line, 0..1."""
    passed: int
    """How many gates of this lap are behind."""
    following: int | None
    differences: Sequence[float | None]
    """This lap less the reference at each gate [s]."""
    own: float | None
    ghost: float | None
    reference: str
    """What the differences are against, in words."""


def draw_heading(canvas: Canvas, layout: Layout, title: str, below: str) -> None:
    """Course, and craft with what it is flown in."""
    box, px = layout.panels["title"], layout.px
    canvas.text((box.x, box.y + px(9)), title, TITLE, palette.INK, width=box.w)
    canvas.text((box.x, box.y + px(32)), below, LABEL, palette.INK_SOFT, width=box.w)


def draw_lap_clock(
    canvas: Canvas, layout: Layout, clock_s: float | None, note: str, alarm: bool = False
) -> None:
    """The clock of the lap in progress and what it is to be held against."""
    box, px = layout.panels["clock"], layout.px
    words = "–.––" if clock_s is None else f"{clock_s:.2f}"
    middle = box.x + box.w // 2
    canvas.text((middle, box.y + px(3)), words, CLOCK, palette.ALARM if alarm else palette.INK, anchor="nc")
    canvas.text((middle, box.y + px(35)), note, LABEL, palette.INK_SOFT, anchor="nc", width=box.w)


def draw_hints(canvas: Canvas, layout: Layout, on: str = "") -> None:
    """What can be clicked, each with its key."""
    px = layout.px
    for name, key in HINTS.items():
        box = layout.panels[f"hint_{name}"]
        middle = box.x + box.w // 2
        ink = palette.FLOWN if name == on else palette.INK
        canvas.text((middle, box.y + px(10)), key, STRONG, ink, anchor="nc")
        canvas.text((middle, box.y + px(28)), name, LABEL, palette.INK_SOFT, anchor="nc")


def draw_ribbon(canvas: Canvas, layout: Layout, ribbon: Ribbon) -> None:
    """Gates in flying order along the reference lap; above the line the gates, below it what was lost or won."""
    box, px = layout.panels["ribbon"], layout.px
    left, right, y = box.x + px(26), box.right - px(26), box.y + px(48)
    x_of = [left + share * (right - left) for share in ribbon.at]
    canvas.fill(palette.RULE, Rect(left, y - px(1), right - left, px(3)))
    if ribbon.own is not None:
        canvas.fill(palette.FLOWN, Rect(left, y - px(1), round(ribbon.own * (right - left)), px(3)))
    crowded = len(x_of) > 1 and min(b - a for a, b in pairwise(x_of)) < px(34)
    for k, x in enumerate(x_of):
        done, now = k < ribbon.passed, k == ribbon.following
        tone = palette.FLOWN if done else palette.WANTED if now else palette.INK_SOFT
        wide, tall = (px(5), px(20)) if now else (px(2), px(12))
        canvas.fill(tone, Rect(round(x) - wide // 2, y - tall // 2, wide, tall))
        style = VALUE if now else STRONG
        if not crowded or k % 2 == 0 or now:
            canvas.text((x, y - px(13)), ribbon.numbers[k], style, palette.INK if now else tone, anchor="sc")
        lost = ribbon.differences[k]
        if lost is not None and (not crowded or k == ribbon.passed - 1):
            ink = palette.ALARM if lost > 0.005 else palette.INK
            canvas.text((x, y + px(11)), signed(lost), STRONG if lost <= 0.005 else LABEL, ink, anchor="nc")
    if ribbon.ghost is not None:
        at = (left + min(max(ribbon.ghost, 0.0), 1.0) * (right - left), y)
        canvas.circle(palette.PAPER, at, px(6))
        canvas.circle(palette.WIND, at, px(6), px(2))
    if ribbon.own is not None:
        x = left + ribbon.own * (right - left)
        canvas.polygon(palette.FLOWN, [(x, y + px(2)), (x - px(6), y - px(9)), (x + px(6), y - px(9))])
    canvas.text(
        (left, box.bottom - px(10)),
        ribbon.reference,
        SMALL,
        palette.INK_SOFT,
        anchor="sw",
        width=right - left,
    )


def signed(seconds: float) -> str:
    """A difference of time with its sign."""
    return f"{'+' if seconds >= 0.005 else '−' if seconds <= -0.005 else '±'}{abs(seconds):.2f}"


def draw_figures(
    canvas: Canvas, layout: Layout, moment: Moment, cells: float, latency: Latency, pace: str
) -> None:
    """Speed, height, cell voltage; and from stick to screen with what it is made of."""
    box, px = layout.panels["figures"], layout.px
    cell = moment.volts / max(cells, 1.0)
    columns = (
        ("speed", number(moment.speed_m_s / KMH, 0), "km/h", False),
        ("height", number(moment.height_m), "m", False),
        ("cell", number(cell, 2), "V", cell < LOW_CELL_V),
    )
    wide = (box.w - px(12)) // 3
    for k, (label, value, unit, alarm) in enumerate(columns):
        x = box.x + px(8) + k * wide
        canvas.text((x, box.y + px(9)), label, LABEL, palette.INK_SOFT)
        end = canvas.text((x, box.y + px(23)), value, VALUE, palette.ALARM if alarm else palette.INK).right
        canvas.text((end + px(3), box.y + px(29)), unit, BODY, palette.INK_SOFT, width=x + wide - end - px(3))
    x, room = box.x + px(8), box.w - px(14)
    canvas.text(
        (x, box.y + px(54)),
        f"stick to screen {1e3 * latency.total_s:.0f} ms",
        STRONG,
        palette.INK,
        width=room,
    )
    own = f"{1e3 * latency.computer_s:.0f}" if latency.computer_s > 0.0 else "–"
    parts = f"computer {own}, radio {1e3 * latency.radio_s:.0f}"
    parts += f", video {1e3 * latency.video_s:.0f}" if latency.video_s > 0.0 else ", no video link"
    canvas.text((x, box.y + px(70)), parts, SMALL, palette.INK_SOFT, width=room)
    canvas.text((x, box.y + px(84)), pace, SMALL, palette.INK_SOFT, width=room)
