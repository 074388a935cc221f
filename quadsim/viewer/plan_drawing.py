"""The map of the layout screen: sheet with grid and rulers, the field, everything that stands on it, the line of flight."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

from quadsim.planning.course_plan import Chosen, CoursePlan, GatePlan, items, place_of
from quadsim.viewer import palette
from quadsim.viewer.canvas import Canvas, Point
from quadsim.viewer.fonts import SMALL, STRONG, TINY
from quadsim.viewer.layout import Rect
from quadsim.viewer.palette import Colour, mix
from quadsim.viewer.plan_layout import PlanLayout
from quadsim.viewer.plan_line import legs_of
from quadsim.viewer.plan_map import PlanMap, grid_lines
from quadsim.viewer.plan_places import KNOB, START_RADIUS, ahead, gate_bar
from quadsim.viewer.plan_state import PlanState, figure

FINE = 2
"""Everything that stands is drawn at so many times the resolution and scaled down."""
OUTSIDE: Colour = mix(palette.PAPER, palette.RULE, 0.55)
LINES: Colour = mix(palette.CARD, palette.RULE, 0.6)
MAIN_LINES: Colour = mix(palette.RULE, palette.GRID_FINE, 0.55)
TAG = 18
"""Height of the plate with a gate's number."""
EDGE: Colour = palette.DROP_LINE
POST: Colour = mix(palette.INK, palette.BATTERY, 0.45)
FINE_PX, MAIN_PX = 11.0, 56.0
"""Least distance of fine lines, and of main lines, which are the ones with figures."""


def draw_sheet(canvas: Canvas, layout: PlanLayout, state: PlanState) -> None:
    """Ground, grid and rulers."""
    view, area, plan = state.view, layout.map, state.plan
    canvas.fill(OUTSIDE, area)
    inner = _field_rect(view, plan)
    canvas.fill(palette.CARD, canvas.clip(_overlap(inner, area)))
    part = canvas.part(area)
    low, high, left, right = view.span_m
    fine, main = view.step_m(FINE_PX * layout.scale), view.step_m(MAIN_PX * layout.scale)
    for step, colour in ((fine, LINES), (main, MAIN_LINES)):
        for value in grid_lines(left, right, step):
            x = round(view.to_px(0.0, value)[0]) - area.x
            part.fill(colour, Rect(x, 0, 1, area.h))
        for value in grid_lines(low, high, step):
            y = round(view.to_px(value, 0.0)[1]) - area.y
            part.fill(colour, Rect(0, y, area.w, 1))
    _draw_rulers(canvas, layout, view, main)


def _draw_rulers(canvas: Canvas, layout: PlanLayout, view: PlanMap, step: float) -> None:
    """Metres along the left and lower edge."""
    low, high, left, right = view.span_m
    beside, below, px = layout.ruler_left, layout.ruler_below, layout.px
    canvas.fill(palette.PAPER, beside)
    canvas.fill(palette.PAPER, Rect(0, below.y, below.right, below.h))
    for value in grid_lines(left, right, step):
        x = view.to_px(0.0, value)[0]
        if below.x + px(12) < x < below.right - px(56):
            canvas.text((x, below.y + px(5)), figure(value), SMALL, palette.INK_SOFT, anchor="nc")
    canvas.text((below.right - px(6), below.y + px(5)), "right, m", SMALL, palette.INK_SOFT, anchor="ne")
    for value in grid_lines(low, high, step):
        y = view.to_px(value, 0.0)[1]
        if beside.y + px(24) < y < beside.bottom - px(8):
            canvas.text((beside.right - px(3), y), figure(value), TINY, palette.INK_SOFT, anchor="ce")
    canvas.text((px(4), beside.y + px(5)), "m", SMALL, palette.INK_SOFT)


def draw_standing(canvas: Canvas, layout: PlanLayout, state: PlanState) -> None:
    """Field edge, boxes, line of flight, posts, start and gates, with soft edges."""
    area = canvas.clip(_overlap(_extent(layout, state), layout.map))
    tags = [gate_tag(canvas, layout, state, k) for k in range(len(state.plan.gates))]
    with canvas.refined(area, FINE) as fine:
        brush = _Brush(fine, area, layout, state)
        brush.boxes()
        brush.field()
        brush.line()
        brush.posts()
        brush.start()
        brush.gates()
        brush.tags(tags)


class _Brush:
    """Draws on a canvas `FINE` times as fine as the map."""

    def __init__(self, canvas: Canvas, area: Rect, layout: PlanLayout, state: PlanState) -> None:
        self.canvas, self.area, self.state, self.plan, self.view = (
            canvas, area, state, state.plan, state.view,
        )  # fmt: skip
        self.unit = layout.scale
        self.bad = {fault.chosen for fault in state.faults}

    def at(self, point: Point) -> Point:
        return (point[0] - self.area.x) * FINE, (point[1] - self.area.y) * FINE

    def px(self, length: float) -> float:
        return length * self.unit * FINE

    def wide(self, length: float) -> int:
        return max(1, round(self.px(length)))

    def colour(self, chosen: Chosen, usual: Colour) -> Colour:
        """Alarm where something is wrong, blue where chosen."""
        if chosen in self.bad:
            return palette.ALARM
        return palette.FLOWN if chosen == self.state.chosen else usual

    def boxes(self) -> None:
        for k, box in enumerate(self.plan.boxes):
            left, top = self.at(self.view.to_px(box.forward_m[1], box.right_m[0]))
            right, below = self.at(self.view.to_px(box.forward_m[0], box.right_m[1]))
            corners = ((left, top), (right, top), (right, below), (left, below))
            self.canvas.glass(palette.ALARM_PALE, 150, corners)
            for a, b in _hatching(left, top, right, below, self.px(9.0)):
                self.canvas.line(mix(palette.ALARM_PALE, palette.ALARM, 0.35), a, b, self.wide(0.8))
            here = Chosen("box", k) == self.state.chosen
            usual = mix(palette.ALARM_PALE, palette.ALARM, 0.65)
            self.canvas.polygon(palette.FLOWN if here else usual, corners, self.wide(1.8 if here else 1.0))

    def field(self) -> None:
        """A net is a full line, limits are dashed."""
        field = self.plan.field
        left, top = self.at(self.view.to_px(field.forward_m[1], field.right_m[0]))
        right, below = self.at(self.view.to_px(field.forward_m[0], field.right_m[1]))
        corners = [(left, top), (right, top), (right, below), (left, below), (left, top)]
        chosen = Chosen("field")
        colour = self.colour(chosen, EDGE)
        width = self.wide(2.2 if chosen == self.state.chosen else 1.4)
        for a, b in itertools.pairwise(corners):
            pieces = [(a, b)] if field.net else dashes(self.near(a), self.near(b), self.px(9.0), self.px(5.0))
            for piece in pieces:
                self.canvas.thick_line(colour, *piece, width)

    def near(self, point: Point) -> Point:
        """A point brought close to the map: dashes of a long edge far outside are not drawn."""
        w, h = self.area.w * FINE, self.area.h * FINE
        return min(max(point[0], -w), 2.0 * w), min(max(point[1], -h), 2.0 * h)

    def line(self) -> None:
        for leg in legs_of(self.plan):
            points = [self.at(self.view.to_px(f, r)) for f, r, _ in leg.points.tolist()]
            self.canvas.path(mix(palette.WANTED, palette.CARD, 0.25), points, self.wide(1.6))
            middle = len(points) // 2
            a, b = points[middle - 1], points[middle + 1]
            if math.dist(points[0], points[-1]) > self.px(60.0):
                self.arrow(palette.WANTED, points[middle], math.atan2(b[1] - a[1], b[0] - a[0]), self.px(5.5))

    def arrow(self, colour: Colour, at: Point, angle: float, size: float) -> None:
        c, s = math.cos(angle), math.sin(angle)
        corners = ((size, 0.0), (-0.7 * size, 0.75 * size), (-0.7 * size, -0.75 * size))
        self.canvas.polygon(colour, [(at[0] + x * c - y * s, at[1] + x * s + y * c) for x, y in corners])

    def posts(self) -> None:
        for k, post in enumerate(self.plan.posts):
            at = self.at(self.view.to_px(post.forward_m, post.right_m))
            radius = max(post.radius_m * self.view.px_per_m * FINE, self.px(4.5))
            chosen = Chosen("post", k)
            self.canvas.circle(palette.CARD, at, radius + self.px(2.0))
            self.canvas.circle(self.colour(chosen, POST), at, radius)
            self.canvas.circle(palette.CARD, at, max(radius * 0.35, self.px(1.4)))

    def start(self) -> None:
        start = self.plan.start
        colour = self.colour(Chosen("start"), palette.INK)
        at = self.at(self.view.to_px(start.forward_m, start.right_m))
        self.canvas.circle(palette.CARD, at, self.px(START_RADIUS + 1.5))
        self.canvas.circle(colour, at, self.px(START_RADIUS), self.wide(1.8))
        x, y = ahead(start.heading_deg)
        self.arrow(colour, at, math.atan2(y, x), self.px(6.0))

    def gates(self) -> None:
        for k, gate in enumerate(self.plan.gates):
            self.gate(Chosen("gate", k), gate)

    def tags(self, tags: list[Tag]) -> None:
        """Plates for the numbers; the letters come later, at their own size."""
        for tag in tags:
            x, y = self.at((tag.box.x, tag.box.y))
            plate = Rect(round(x), round(y), tag.box.w * FINE, tag.box.h * FINE)
            self.canvas.card(tag.colour, plate, plate.h // 2)

    def gate(self, chosen: Chosen, gate: GatePlan) -> None:
        """A bar as wide as the opening, its two uprights, and an arrow through it."""
        middle, left, right = (self.at(p) for p in gate_bar(self.view, gate, self.unit))
        here = chosen == self.state.chosen
        colour = self.colour(chosen, palette.INK)
        if chosen == self.state.hovered and not here:
            colour = mix(colour, palette.FLOWN, 0.6)
        x, y = ahead(gate.heading_deg)
        tip = self.px(17.0)
        if here:
            knob = (middle[0] + x * self.px(KNOB), middle[1] + y * self.px(KNOB))
            self.canvas.thick_line(mix(palette.FLOWN, palette.CARD, 0.4), middle, knob, self.px(1.2))
        self.canvas.thick_line(palette.CARD, left, right, self.px(7.0))
        self.canvas.thick_line(colour, left, right, self.px(3.6 if here else 3.0))
        for end in (left, right):
            a = (end[0] - x * self.px(5.0), end[1] - y * self.px(5.0))
            b = (end[0] + x * self.px(5.0), end[1] + y * self.px(5.0))
            self.canvas.thick_line(colour, a, b, self.px(3.0))
        stem = (middle[0] + x * tip * 0.6, middle[1] + y * tip * 0.6)
        self.canvas.thick_line(colour, middle, stem, self.px(2.2))
        self.arrow(
            colour, (middle[0] + x * tip * 0.8, middle[1] + y * tip * 0.8), math.atan2(y, x), self.px(5.5)
        )


def dashes(a: Point, b: Point, on: float, off: float) -> list[tuple[Point, Point]]:
    """A straight line in pieces."""
    length = math.dist(a, b)
    if length < 1e-6:
        return []
    ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    pieces, s = [], 0.0
    while s < length:
        e = min(s + on, length)
        pieces.append(((a[0] + ux * s, a[1] + uy * s), (a[0] + ux * e, a[1] + uy * e)))
        s += on + off
    return pieces


@dataclass(frozen=True)
class Tag:
    """The plate with a gate's numbers: where on the frame, what stands on it."""

    box: Rect
    mark: str
    colour: Colour


def gate_tag(canvas: Canvas, layout: PlanLayout, state: PlanState, k: int) -> Tag:
    """The plate of gate `k`, beyond its right end; `canvas` measures the letters at the size of the frame."""
    gate, chosen, px = state.plan.gates[k], Chosen("gate", k), layout.px
    middle, _, right = gate_bar(state.view, gate, layout.scale)
    bad = any(fault.chosen == chosen for fault in state.faults)
    mark = " ".join(str(n) for n in state.plan.numbers(gate.name)) + (" !" if bad else "")
    usual = palette.FLOWN if chosen == state.chosen else palette.INK
    w, h = max(px(TAG), canvas.measure(mark, STRONG)[0] + px(9)), px(TAG)
    length = max(math.dist(middle, right), 1e-6)
    ux, uy = (right[0] - middle[0]) / length, (right[1] - middle[1]) / length
    away = px(9) + abs(ux) * w / 2.0 + abs(uy) * h / 2.0
    x, y = right[0] + ux * away, right[1] + uy * away
    return Tag(Rect(round(x - w / 2), round(y - h / 2), w, h), mark, palette.ALARM if bad else usual)


def _hatching(left: float, top: float, right: float, below: float, step: float) -> list[tuple[Point, Point]]:
    """Lines at 45 degrees within a rectangle, fixed to its corner."""
    w, h = right - left, below - top
    lines: list[tuple[Point, Point]] = []
    s = step
    while s < w + h and len(lines) < 400:
        a = (left + min(s, w), top + max(0.0, s - w))
        b = (left + max(0.0, s - h), top + min(s, h))
        lines.append((a, b))
        s += step
    return lines


def _field_rect(view: PlanMap, plan: CoursePlan) -> Rect:
    left, top = view.to_px(plan.field.forward_m[1], plan.field.right_m[0])
    right, below = view.to_px(plan.field.forward_m[0], plan.field.right_m[1])
    return Rect(round(left), round(top), round(right) - round(left), round(below) - round(top))


def _extent(layout: PlanLayout, state: PlanState) -> Rect:
    """Where anything is drawn: the field, and what stands or leads beyond it."""
    corners = [(f, r) for f in state.plan.field.forward_m for r in state.plan.field.right_m]
    corners += [place_of(state.plan, chosen) for chosen in items(state.plan)]
    corners += [(f, r) for box in state.plan.boxes for f in box.forward_m for r in box.right_m]
    corners += [(f, r) for leg in legs_of(state.plan) for f, r, _ in leg.points[::4].tolist()]
    xs, ys = zip(*(state.view.to_px(*corner) for corner in corners), strict=True)
    widest = max((gate.width_m for gate in state.plan.gates), default=0.0) * state.view.px_per_m
    pad = layout.px(40) + round(widest / 2.0)
    x, y = round(min(xs)) - pad, round(min(ys)) - pad
    return Rect(x, y, round(max(xs)) + pad - x, round(max(ys)) + pad - y)


def _overlap(a: Rect, b: Rect) -> Rect:
    x, y = max(a.x, b.x), max(a.y, b.y)
    return Rect(x, y, max(0, min(a.right, b.right) - x), max(0, min(a.bottom, b.bottom) - y))
