"""The strip of heights: the course unrolled along its line of flight, gates as upright bars that can be dragged."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from quadsim.planning.course_plan import Chosen, CoursePlan, GatePlan
from quadsim.viewer import palette
from quadsim.viewer.canvas import Canvas
from quadsim.viewer.fonts import SMALL, STRONG, TINY
from quadsim.viewer.labels import LabelSpace
from quadsim.viewer.layout import Rect
from quadsim.viewer.palette import mix
from quadsim.viewer.plan_layout import PlanLayout
from quadsim.viewer.plan_line import legs_of
from quadsim.viewer.plan_map import grid_lines
from quadsim.viewer.plan_state import PlanState, figure

HEAD, FOOT, LEFT, RIGHT = 24, 20, 34, 26
GRIP = 12.0
"""Half width in which the mouse takes a bar [px]."""
END = 6.0
"""An end of a bar is taken from so far outside it [px]."""
INSET = 0.2
"""Free at each end of the strip, of its height."""
ROOM = 1.4
"""Height shown, of the highest opening edge."""


@dataclass(frozen=True)
class Bar:
    """A passage of a gate on the strip: middle of the bar, and its upper and lower end [px]."""

    chosen: Chosen
    number: int
    x: float
    top: float
    below: float


@dataclass(frozen=True)
class Strip:
    """The strip for one plan: `box` is the plot, `far_m` the length of the line, `high_m` the greatest height shown."""

    box: Rect
    far_m: float
    high_m: float
    bars: tuple[Bar, ...]
    line: tuple[tuple[float, float], ...]

    def x_at(self, along_m: float) -> float:
        """Column of a place along the line."""
        inset = INSET * self.box.h
        return self.box.x + inset + along_m / self.far_m * (self.box.w - 2.0 * inset)

    def y_at(self, height_m: float) -> float:
        """Row of a height."""
        return self.box.bottom - height_m / self.high_m * self.box.h

    def metres(self, pixels: float) -> float:
        """Height [m] of so many rows."""
        return pixels / self.box.h * self.high_m


def make_strip(layout: PlanLayout, plan: CoursePlan) -> Strip:
    """Unroll the course."""
    px, area = layout.px, layout.heights
    box = Rect(area.x + px(LEFT), area.y + px(HEAD), area.w - px(LEFT + RIGHT), area.h - px(HEAD + FOOT))
    legs = legs_of(plan)
    ends = [0.0, *np.cumsum([leg.length_m for leg in legs]).tolist()]
    far = max(ends[-1], 1.0)
    tops = [gate.height_m + gate.tall_m / 2.0 for gate in plan.gates] or [3.0]
    strip = Strip(box, far, max(ROOM * max(tops), 2.0), (), ())
    at = ends if plan.closed else ends[1:]
    if plan.closed and not legs:
        at = [0.5 * far] * len(plan.order)
    flown = [*plan.flown, *plan.flown[:1]] if plan.closed and legs else plan.flown
    bars = [
        _bar(strip, plan, gate, k, strip.x_at(s))
        for k, (gate, s) in enumerate(zip(flown, at, strict=True), start=1)
    ]
    line = []
    for leg, begin in zip(legs, ends, strict=False):
        along = np.linspace(begin, begin + leg.length_m, len(leg.points))
        line += [
            (strip.x_at(s), strip.y_at(h))
            for s, h in zip(along.tolist(), leg.points[:, 2].tolist(), strict=True)
        ]
    return Strip(box, far, strip.high_m, tuple(bars), tuple(line))


def bar_at(strip: Strip, at: tuple[float, float], scale: float) -> Bar | None:
    """The bar under the mouse, at any height."""
    near = [bar for bar in strip.bars if abs(bar.x - at[0]) <= GRIP * scale]
    return min(near, key=lambda bar: abs(bar.x - at[0])) if near and strip.box.inset(-8).holds(at) else None


def grip_at(bar: Bar, at: tuple[float, float], scale: float) -> str:
    """What the mouse takes of a bar: its `top` or its `foot`, which change the opening, else the bar itself, its `height`."""
    inner = (bar.below - bar.top) / 4.0
    if -END * scale <= at[1] - bar.top <= inner:
        return "top"
    return "foot" if -inner <= at[1] - bar.below <= END * scale else "height"


def draw_heights(canvas: Canvas, layout: PlanLayout, state: PlanState) -> None:
    """Draw the strip."""
    px, area = layout.px, layout.heights
    strip = make_strip(layout, state.plan)
    canvas.fill(palette.PAPER, area)
    canvas.fill(palette.RULE, Rect(area.x, area.y, area.w, max(1, px(1))))
    canvas.text((px(14), area.y + px(6)), "Heights along the lap", STRONG, palette.INK)
    about = f"{figure(round(strip.far_m, 1))} m of line" if strip.line else "place gates to see them here"
    canvas.text((strip.box.right, area.y + px(6)), about, SMALL, palette.INK_SOFT, anchor="ne")
    canvas.fill(palette.CARD, strip.box)
    _draw_scales(canvas, layout, strip)
    bad = {fault.chosen for fault in state.faults}
    for bar in strip.bars:
        here = bar.chosen == state.chosen
        colour = palette.ALARM if bar.chosen in bad else (palette.FLOWN if here else palette.INK)
        width = px(9 if here else 7)
        shown = Rect(
            round(bar.x) - width // 2,
            round(bar.top),
            width,
            max(2, round(min(bar.below, strip.box.bottom) - bar.top)),
        )
        canvas.card(mix(colour, palette.CARD, 0.72), shown, px(2))
        canvas.fill(colour, Rect(shown.x - px(2), shown.y, shown.w + px(4), max(2, px(2))))
        canvas.fill(colour, Rect(shown.x - px(2), shown.bottom - px(2), shown.w + px(4), max(2, px(2))))
        for y in (shown.y, shown.bottom) if here else ():  # the same squares as size things on the map
            square = Rect(round(bar.x) - px(3), y - px(3), px(6), px(6))
            canvas.fill(palette.CARD, square)
            canvas.frame(colour, square, max(1, px(1.5)))
    canvas.path(palette.WANTED, strip.line, max(1, px(1.6)))
    _draw_figures(canvas, layout, state, strip)


def _draw_scales(canvas: Canvas, layout: PlanLayout, strip: Strip) -> None:
    px, box = layout.px, strip.box
    step = next(
        s for s in (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0) if s / strip.high_m * box.h >= px(22)
    )
    for height in grid_lines(0.0, strip.high_m, step):
        y = round(strip.y_at(height))
        canvas.fill(mix(palette.CARD, palette.RULE, 0.7), Rect(box.x, y, box.w, 1))
        canvas.text((box.x - px(5), y), figure(height), TINY, palette.INK_SOFT, anchor="ce")
    canvas.fill(palette.DROP_LINE, Rect(box.x, box.bottom, box.w, max(1, px(1.5))))


def _draw_figures(canvas: Canvas, layout: PlanLayout, state: PlanState, strip: Strip) -> None:
    """Number below each bar, height of its middle above it; the chosen one first, others where there is room."""
    px, space = layout.px, LabelSpace()
    count = len(state.plan.order)
    ordered = sorted(strip.bars, key=lambda bar: bar.chosen != state.chosen)
    for bar in ordered:
        here = bar.chosen == state.chosen
        colour = palette.FLOWN if here else palette.INK_SOFT
        number = str((bar.number - 1) % count + 1)
        canvas.text((bar.x, strip.box.bottom + px(3)), number, STRONG if here else SMALL, colour, anchor="nc")
        gate = state.plan.gates[bar.chosen.index]
        style, above = (STRONG if here else SMALL), (bar.x, bar.top - px(5 if here else 2))
        space.write(canvas, above, figure(gate.height_m), style, colour, anchor="sc")


def _bar(strip: Strip, plan: CoursePlan, gate: GatePlan, number: int, x: float) -> Bar:
    half = gate.tall_m / 2.0
    chosen = Chosen("gate", plan.gates.index(gate))
    return Bar(chosen, number, x, strip.y_at(gate.height_m + half), strip.y_at(gate.height_m - half))
