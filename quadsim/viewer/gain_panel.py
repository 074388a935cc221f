"""The panel of gains: where everything stands, how it is drawn. What it shows is a `PanelState`; `gain_tuning` changes it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from quadsim.viewer import palette
from quadsim.viewer.canvas import Canvas, new_canvas
from quadsim.viewer.fonts import BODY, LABEL, SMALL, STRONG, TINY
from quadsim.viewer.layout import Layout, Rect

if TYPE_CHECKING:  # a replay needs neither the flight loop nor what is built on it
    from quadsim.analysis.predicted_answer import Answer
    from quadsim.simulation.live_gains import LiveGain

HEAD, PLOT, FIGURES, TABS, ROW, FOOT = 24, 150, 74, 24, 21, 46
"""Heights of the parts from the top down [px at 1280 x 720]; the rows of gains take what is left."""
GUTTER, RIGHT, LEFT = 40, 14, 14
NAME, VALUE = 128, 86
"""Widths of a gain's name and of its value with unit; the slider lies between them."""
FINE = 2
BELOW, ABOVE, MORE_ABOVE = 0.3, 0.35, 1.0
"""Room of the plot below the start of a step and above its end, shares of its height; the last where it overshoots by more."""

NOTHING = 0.02
"""Of its range, stands for a gain of zero where a step is chosen."""


@dataclass(frozen=True)
class PanelState:
    """What the panel shows.

    slots : tabs; slot : the one that is open; gains with values : its rows; first : row on top; chosen : row that keys change
    changed : how many gains of the whole flight differ from the craft file
    """

    slots: tuple[str, ...]
    slot: str
    block: str
    gains: tuple[LiveGain, ...]
    values: tuple[float, ...]
    first: int
    chosen: int
    changed: int
    answer: Answer | None
    trouble: str


@dataclass(frozen=True)
class PanelPlaces:
    """Rectangles of the panel: the plot, the figures, a tab for each slot, rows and their sliders, the button that sets back."""

    box: Rect
    plot: Rect
    figures: Rect
    tabs: tuple[Rect, ...]
    rows: tuple[Rect, ...]
    sliders: tuple[Rect, ...]
    reset: Rect


def panel_places(layout: Layout, slots: int) -> PanelPlaces:
    """Lay the panel out over the column of charts."""
    px = layout.px
    scene, times = layout.panels["scene"], layout.panels["times"]
    box = Rect(scene.right + px(1), scene.y, layout.size[0] - scene.right - px(1), times.y - scene.y)
    y = box.y + px(HEAD)
    plot = Rect(box.x + px(GUTTER), y, box.w - px(GUTTER + RIGHT), px(PLOT))
    figures = Rect(box.x + px(LEFT), plot.bottom + px(18), box.w - px(LEFT + RIGHT), px(FIGURES - 18))
    y = plot.bottom + px(FIGURES)
    edges = [box.x + px(LEFT) + round((box.w - px(LEFT + RIGHT)) * k / slots) for k in range(slots + 1)]
    tabs = tuple(Rect(edges[k], y, edges[k + 1] - edges[k], px(TABS - 4)) for k in range(slots))
    y += px(TABS)
    count = max(1, (box.bottom - px(FOOT) - y) // px(ROW))
    rows = tuple(
        Rect(box.x + px(LEFT - 6), y + k * px(ROW), box.w - px(LEFT + RIGHT - 12), px(ROW))
        for k in range(count)
    )
    sliders = tuple(Rect(row.x + px(6 + NAME), row.y, row.w - px(12 + NAME + VALUE), row.h) for row in rows)
    reset = Rect(box.right - px(RIGHT + 60), box.bottom - px(30), px(60), px(22))
    return PanelPlaces(box, plot, figures, tabs, rows, sliders, reset)


def share_of(gain: LiveGain, value: float) -> float:
    """Where on its slider a value stands, 0..1: the cube root of its share of the range, since gains lie low in theirs."""
    span = gain.high - gain.low
    return (min(max((value - gain.low) / span, 0.0), 1.0)) ** (1.0 / 3.0) if span > 0.0 else 0.0


def value_at(gain: LiveGain, share: float) -> float:
    """The value at a place 0..1 on the slider, in steps of about a hundredth of itself."""
    value = gain.low + (gain.high - gain.low) * min(max(share, 0.0), 1.0) ** 3
    return on_step(gain, value, step_at(gain, value))


def step_at(gain: LiveGain, value: float) -> float:
    """A round step about a fiftieth of a value, or of its distance from the least one; small where it is zero."""
    size = min(abs(value), value - gain.low) or abs(value) or NOTHING * (gain.high - gain.low)
    return 10.0 ** (math.floor(math.log10(max(size, 1e-12))) - 1) / 2.0


def on_step(gain: LiveGain, value: float, step: float) -> float:
    """The value on the nearest whole step, within the gain's bounds."""
    return min(max(round(round(value / step) * step, 12), gain.low), gain.high)


class GainPanel:
    """Draws the panel. The plot is painted anew only when there is a new answer."""

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self._painted: tuple[Answer | None, Canvas] | None = None
        self._levels: tuple[tuple[float, float], ...] = ()

    def draw(self, canvas: Canvas, state: PanelState) -> None:
        """Draw everything."""
        places, px = panel_places(self.layout, len(state.slots)), self.layout.px
        canvas.fill(palette.PAPER, places.box)
        self._draw_answer(canvas, places, state)
        for tab, slot in zip(places.tabs, state.slots, strict=True):
            here = slot == state.slot
            canvas.text(
                (tab.x + tab.w // 2, tab.y + tab.h // 2), slot, STRONG if here else LABEL,
                palette.FLOWN if here else palette.INK_SOFT, anchor="cc", width=tab.w,
            )  # fmt: skip
            canvas.fill(
                palette.FLOWN if here else palette.RULE,
                Rect(tab.x, tab.bottom, tab.w, px(2) if here else max(1, px(1))),
            )
        shown = range(state.first, min(state.first + len(places.rows), len(state.gains)))
        for row, slider, k in zip(places.rows, places.sliders, shown, strict=False):
            _draw_row(canvas, self.layout, row, slider, state.gains[k], state.values[k], k == state.chosen)
        self._scroll_mark(canvas, places, state)
        self._foot(canvas, places, state)

    def _draw_answer(self, canvas: Canvas, places: PanelPlaces, state: PanelState) -> None:
        px, plot, answer = self.layout.px, places.plot, state.answer
        title = "Predicted step" if answer is None else f"Predicted: {answer.asked.name} step"
        canvas.text((places.box.x + px(LEFT), places.box.y + px(5)), title, STRONG, palette.INK)
        unit = "" if answer is None else answer.asked.trace.unit
        canvas.text((plot.right, places.box.y + px(6)), unit, LABEL, palette.INK_SOFT, anchor="ne")
        if self._painted is None or self._painted[0] is not answer:
            self._painted = (answer, self._paint(answer, plot, canvas.scale))
        canvas.stamp(self._painted[1], (plot.x, plot.y))
        if answer is not None:
            digits = 2 - math.floor(math.log10(max(abs(answer.craft.size), 1e-9)))
            for value, share in self._levels:
                at = (plot.x - px(5), plot.y + share * plot.h)
                canvas.text(
                    at, f"{round(value, digits):g}".replace("-", "−"), TINY, palette.INK_SOFT, anchor="ce"
                )
            end = float(answer.craft.trace.t_s[-1]) if len(answer.craft.trace.t_s) else 0.0
            canvas.text(
                (plot.right, plot.bottom + px(2)), f"{end:.2g} s", TINY, palette.INK_SOFT, anchor="ne"
            )
        _draw_figures(canvas, self.layout, places.figures, state)

    def _paint(self, answer: Answer | None, plot: Rect, scale: float) -> Canvas:
        """The curves: wanted, the craft's faint, the present one strong."""
        fine = new_canvas((plot.w * FINE, plot.h * FINE), scale * FINE)
        fine.fill(palette.CARD)
        if answer is not None and len(answer.craft.trace.t_s):
            self._curves(fine, answer)
        picture = new_canvas((plot.w, plot.h))
        fine.shrink_onto(picture)
        return picture

    def _curves(self, fine: Canvas, answer: Answer) -> None:
        (w, h), craft = fine.size, answer.craft
        start, size = float(craft.trace.flown[0]), craft.size
        top = start + size
        over = max(float(np.nanmax(t.flown, initial=start)) for t in (craft.trace, answer.asked.trace)) - top
        low, high = start - BELOW * size, top + (ABOVE if over < ABOVE * size else MORE_ABOVE) * size
        end = max(float(craft.trace.t_s[-1]), 1e-6)
        for level in (start, top):
            fine.fill(palette.RULE, Rect(0, round((high - level) / (high - low) * (h - 1)), w, FINE))
        self._levels = tuple((level, (high - level) / (high - low)) for level in (start, top))
        thick = fine.scale / FINE
        lines = [(palette.WANTED, craft.trace.t_s, craft.trace.wanted, 1.2),
                 (palette.TRAIL_OLD, craft.trace.t_s, craft.trace.flown, 1.4),
                 (palette.FLOWN, answer.asked.trace.t_s, answer.asked.trace.flown, 2.2)]  # fmt: skip
        for colour, t_s, values, width in lines:
            known = np.isfinite(values)
            x, down = t_s[known] / end * (w - 1), (high - values[known]) / (high - low) * (h - 1)
            keep = slice(None, None, max(1, len(x) // (2 * w)))
            points = list(zip(x[keep].tolist(), np.clip(down[keep], -50, h + 50).tolist(), strict=True))
            fine.path(colour, points, max(1, round(width * FINE * thick)))

    def _scroll_mark(self, canvas: Canvas, places: PanelPlaces, state: PanelState) -> None:
        """A bar at the right edge where there are more gains than rows."""
        count, rows = len(state.gains), len(places.rows)
        if count <= rows:
            return
        px, top, high = self.layout.px, places.rows[0].y, places.rows[-1].bottom - places.rows[0].y
        x = places.box.right - px(5)
        canvas.fill(palette.RULE, Rect(x, top, px(3), high))
        bar = Rect(x, top + round(high * state.first / count), px(3), max(px(6), round(high * rows / count)))
        canvas.fill(palette.INK_SOFT, bar)

    def _foot(self, canvas: Canvas, places: PanelPlaces, state: PanelState) -> None:
        px = self.layout.px
        x, middle = places.box.x + px(LEFT), places.reset.y + places.reset.h // 2
        changed = state.changed > 0
        verb = "differs" if state.changed == 1 else "differ"
        words = f"{state.changed} {verb} from the craft file" if changed else "as in the craft file"
        canvas.text(
            (x, middle), words, STRONG if changed else LABEL, palette.ALARM if changed else palette.INK_SOFT,
            anchor="cw", width=places.reset.x - x - px(6),
        )  # fmt: skip
        canvas.card(palette.INK_SOFT if changed else palette.RULE, places.reset, px(4))
        canvas.card(palette.CARD, places.reset.inset(1), px(4))
        canvas.text(
            (places.reset.x + places.reset.w // 2, middle), "Reset", SMALL,
            palette.INK if changed else palette.INK_SOFT, anchor="cc", width=places.reset.w,
        )  # fmt: skip


def _draw_figures(canvas: Canvas, layout: Layout, box: Rect, state: PanelState) -> None:
    """Rise, overshoot and settling, and beside them those of the craft's gains."""
    px, answer = layout.px, state.answer
    trouble = state.trouble or ("" if answer is None else answer.asked.trouble)
    if answer is None or trouble:
        words = trouble or "flying it ..."
        half = len(words) // 2
        cut = words.find(" ", half) if canvas.measure(words, BODY)[0] > box.w else -1
        lines = [words] if cut < 0 else [words[:cut], words[cut + 1 :]]
        for k, line in enumerate(lines):
            at = (box.x, box.y + px(2) + k * px(17))
            canvas.text(at, line, BODY, palette.ALARM if trouble else palette.INK_SOFT, width=box.w)
        return
    new, old = answer.asked.figures, answer.craft.figures
    columns = (
        ("rise", _time(new.rise_s), _time(old.rise_s)),
        ("overshoot", _percent(new.overshoot_pct), _percent(old.overshoot_pct)),
        ("within 5 %", _time(new.settle_5_s), _time(old.settle_5_s)),
        ("at limit", _percent(answer.asked.limited_pct), _percent(answer.craft.limited_pct)),
    )
    width = box.w // len(columns)
    for k, (name, value, before) in enumerate(columns):
        x = box.x + k * width
        canvas.text((x, box.y), name, SMALL, palette.INK_SOFT, width=width)
        canvas.text((x, box.y + px(14)), value, STRONG, palette.FLOWN, width=width)
        before = "" if before == value else f"was {before}"
        canvas.text((x, box.y + px(31)), before, SMALL, palette.INK_SOFT, width=width)


def _draw_row(
    canvas: Canvas, layout: Layout, row: Rect, slider: Rect, gain: LiveGain, value: float, chosen: bool
) -> None:
    """Name, slider with the craft's value marked on it, value with unit."""
    px, changed = layout.px, value != gain.craft
    if chosen:
        canvas.card(palette.CARD, row, px(4))
        canvas.fill(palette.FLOWN, Rect(row.x, row.y + px(3), px(3), row.h - px(6)))
    middle = row.y + row.h // 2
    ink = palette.INK if chosen or changed else palette.INK_SOFT
    name = gain.name.replace("_", " ").lower()
    canvas.text(
        (row.x + px(6), middle), name, STRONG if changed else LABEL, ink, anchor="cw", width=px(NAME - 6)
    )
    canvas.fill(palette.RULE, Rect(slider.x, middle - px(1), slider.w, px(2)))
    stood, stands = (slider.x + share_of(gain, v) * slider.w for v in (gain.craft, value))
    left, right = sorted((stood, stands))
    canvas.fill(palette.WANTED, Rect(round(left), middle - px(1), max(0, round(right - left)), px(2)))
    canvas.fill(palette.INK_SOFT, Rect(round(stood), middle - px(5), max(1, px(1)), px(10)))
    canvas.circle(palette.FLOWN, (stands, middle), (5.5 if chosen else 4.0) * canvas.scale)
    unit = "" if gain.unit == "-" else gain.unit
    x = slider.right + px(8)
    shown = canvas.text((x, middle), _figure(value), STRONG if changed else LABEL, ink, anchor="cw")
    canvas.text(
        (shown.right + px(4), middle), unit, SMALL, palette.INK_SOFT, anchor="cw",
        width=row.right - shown.right - px(4),
    )  # fmt: skip


def _figure(value: float) -> str:
    """At most four significant figures."""
    return f"{value:.4g}".replace("-", "−")


def _time(time_s: float) -> str:
    if not math.isfinite(time_s):
        return "never"
    return f"{1e3 * time_s:.0f} ms" if time_s < 0.9995 else f"{time_s:.2f} s"


def _percent(value: float) -> str:
    return "−" if not math.isfinite(value) else f"{value:.0f} %" if value >= 9.95 else f"{value:.1f} %"


def row_under(places: PanelPlaces, at: Sequence[float]) -> int | None:
    """Number of the row under a point, counted from the top one."""
    point = (at[0], at[1])
    return next((k for k, row in enumerate(places.rows) if row.holds(point)), None)
