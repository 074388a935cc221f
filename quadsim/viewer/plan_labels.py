"""Words and figures on the map: numbers of the gates, names, lengths of legs, distances, guides, handles, north."""

from __future__ import annotations

import math

from quadsim.planning.course_plan import Chosen, place_of
from quadsim.planning.course_snap import distances
from quadsim.viewer import palette
from quadsim.viewer.canvas import Canvas, Point
from quadsim.viewer.fonts import LABEL, SMALL, STRONG, Style
from quadsim.viewer.labels import LabelSpace
from quadsim.viewer.layout import Rect
from quadsim.viewer.palette import Colour, mix
from quadsim.viewer.plan_drag import on_grid
from quadsim.viewer.plan_drawing import dashes, gate_tag
from quadsim.viewer.plan_layout import PlanLayout
from quadsim.viewer.plan_line import legs_of
from quadsim.viewer.plan_places import START_RADIUS, ahead, gate_bar, handles
from quadsim.viewer.plan_state import PlanState, figure

Ways = tuple[tuple[float, float, float], ...]
LEG_ROOM = 84.0
"""A leg shorter than this on the map carries no figure [px]."""


def draw_labels(canvas: Canvas, layout: PlanLayout, state: PlanState) -> None:
    """Everything that is read on the map; nothing is written over what is there already."""
    part = canvas.part(layout.map)
    writer = _Writer(part, layout, state)
    writer.guides()
    writer.distance_lines()
    writer.tags()
    writer.distance_figures()
    writer.names()
    writer.legs()
    writer.handles()
    writer.ghost()
    writer.north()


class _Writer:
    """Writes on the map, in its own coordinates."""

    def __init__(self, canvas: Canvas, layout: PlanLayout, state: PlanState) -> None:
        self.canvas, self.layout, self.state, self.plan, self.view = (
            canvas, layout, state, state.plan, state.view,
        )  # fmt: skip
        origin = layout.map
        self.space = LabelSpace(
            Rect(tool.x - origin.x, tool.y - origin.y, tool.w, tool.h) for tool in layout.tools.values()
        )

    def at(self, point: Point) -> Point:
        return point[0] - self.layout.map.x, point[1] - self.layout.map.y

    def place(self, chosen: Chosen) -> Point:
        return self.at(self.view.to_px(*place_of(self.plan, chosen)))

    def write(self, at: Point, string: str, style: Style, colour: Colour, anchor: str = "cc") -> bool:
        """A text on a light plate, where there is room for it."""
        return self.space.write(self.canvas, at, string, style, colour, anchor=anchor, plate=True)

    def write_beside(self, at: Point, ways: Ways, string: str, style: Style, colour: Colour) -> None:
        """A text beside a place, on the first side with room; `ways` are directions with the distance to be kept [px]."""
        w, h = self.canvas.measure(string, style)
        for ux, uy, gap in ways:
            away = gap * self.layout.scale + abs(ux) * w / 2.0 + abs(uy) * h / 2.0
            if self.write((at[0] + ux * away, at[1] + uy * away), string, style, colour):
                return

    def guides(self) -> None:
        """Dashed lines through the thing that a drag has lined up with."""
        guide, here = self.state.guide, self.state.chosen
        if guide is None:
            return
        w, h = self.canvas.size
        x, y = self.place(here)
        lines: list[tuple[Point, Point]] = []
        if guide.forward_of is not None:
            lines += dashes((0.0, y), (float(w), y), self.layout.px(4), self.layout.px(4))
        if guide.right_of is not None:
            lines += dashes((x, 0.0), (x, float(h)), self.layout.px(4), self.layout.px(4))
        for a, b in lines:
            self.canvas.line(mix(palette.FLOWN, palette.CARD, 0.35), a, b)

    def distance_lines(self) -> None:
        """Straight lines over the ground from the chosen thing to its neighbours."""
        for distance in distances(self.plan, self.state.chosen):
            a, b = self.place(self.state.chosen), self.place(distance.to)
            for piece in dashes(a, b, self.layout.px(3), self.layout.px(3))[:400]:
                self.canvas.smooth_line(palette.FLOWN, *piece)

    def distance_figures(self) -> None:
        """Their lengths, beside the middle where that is taken."""
        for distance in distances(self.plan, self.state.chosen):
            a, b = self.place(self.state.chosen), self.place(distance.to)
            middle, length = ((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0), max(math.dist(a, b), 1e-6)
            nx, ny = (b[1] - a[1]) / length, (a[0] - b[0]) / length
            ways = tuple((sign * nx, sign * ny, gap) for gap in (0.0, 14.0, 26.0) for sign in (1.0, -1.0))
            shown = f"{figure(round(distance.length_m, 2))} m"
            self.write_beside(middle, ((0.0, 0.0, 0.0), *ways), shown, STRONG, palette.FLOWN)

    def tags(self) -> None:
        """The number of each gate in flying order, at its right end."""
        origin = self.layout.map
        self.space.taken += [self._spot(Chosen("post", k), 5.0) for k in range(len(self.plan.posts))]
        self.space.taken.append(self._spot(Chosen("start"), START_RADIUS))
        for k, gate in enumerate(self.plan.gates):
            tag = gate_tag(self.canvas, self.layout, self.state, k)
            box = Rect(tag.box.x - origin.x, tag.box.y - origin.y, tag.box.w, tag.box.h)
            middle, _, right = (self.at(p) for p in gate_bar(self.view, gate, self.layout.scale))
            self.space.taken += [box, _around_bar(middle, right, self.layout.px(4))]
            at = (box.x + box.w / 2, box.y + box.h / 2)
            self.canvas.text(at, tag.mark, STRONG, palette.CARD, anchor="cc")

    def _spot(self, chosen: Chosen, radius: float) -> Rect:
        """The box around a small round thing."""
        (x, y), half = self.place(chosen), self.layout.px(radius)
        return Rect(round(x) - half, round(y) - half, 2 * half, 2 * half)

    def legs(self) -> None:
        """Length of each leg along its curve, where nothing is chosen that shows distances."""
        if self.state.chosen.kind in ("gate", "post", "box"):
            return
        for leg in legs_of(self.plan):
            if leg.length_m * self.view.px_per_m < LEG_ROOM * self.layout.scale:
                continue
            for share in (0.33, 0.67, 0.42, 0.58):
                f, r, _ = leg.points[round(share * (len(leg.points) - 1))].tolist()
                text = f"{figure(round(leg.length_m, 1))} m"
                if self.write(self.at(self.view.to_px(f, r)), text, SMALL, _ochre()):
                    break

    def names(self) -> None:
        """Names of posts, boxes and start, and of the gate that is chosen or pointed at."""
        px = self.layout.px
        for box in self.plan.boxes:
            at = self.at(self.view.to_px(box.forward_m[1], box.right_m[0]))
            low, high = (figure(h) for h in box.height_m)
            self.write(
                (at[0] + px(4), at[1] - px(4)), f"{box.name}, {low} to {high} m", SMALL, palette.ALARM, "sw"
            )
        for k, post in enumerate(self.plan.posts):
            gap = max(post.radius_m * self.view.px_per_m / self.layout.scale, 6.0) + 6.0
            shown = f"{post.name}, {figure(post.height_m)} m tall"
            self.write_beside(self.place(Chosen("post", k)), _around(gap), shown, SMALL, palette.INK_SOFT)
        self.write_beside(self.place(Chosen("start")), _around(15.0), "start", SMALL, palette.INK_SOFT)
        for k, gate in enumerate(self.plan.gates):
            chosen = Chosen("gate", k)
            middle, left, _ = (self.at(p) for p in gate_bar(self.view, gate, self.layout.scale))
            ux, uy = ahead(gate.heading_deg)
            half = math.dist(middle, left) / self.layout.scale
            ways = ((-ux, -uy, 12.0), (uy, -ux, half + 9.0), (ux, uy, 28.0))
            strong = chosen in (self.state.hovered, self.state.chosen)
            style, colour = (LABEL, palette.INK) if strong else (SMALL, palette.INK_SOFT)
            named = gate.name != " ".join(map(str, self.plan.numbers(gate.name)))
            shown = f"{gate.name}, {figure(gate.height_m)} m up" if named else f"{figure(gate.height_m)} m up"
            self.write_beside(middle, ways, shown, style, colour)

    def handles(self) -> None:
        """Small squares to size, a round knob to turn."""
        px = self.layout.px
        for handle in handles(self.view, self.plan, self.state.chosen, self.layout.scale):
            x, y = self.at(handle.at)
            held = self.state.dragging == handle.what
            inside = palette.FLOWN if held else palette.CARD
            if handle.what == "turn":
                self.canvas.circle(palette.FLOWN, (x, y), px(6))
                self.canvas.circle(inside, (x, y), px(6) - max(2, px(2)))
            else:
                half = px(4)
                box = Rect(round(x) - half, round(y) - half, 2 * half + 1, 2 * half + 1)
                self.canvas.fill(palette.FLOWN, box)
                self.canvas.fill(inside, box.inset(max(1, px(1.6))))

    def ghost(self) -> None:
        """What the next click places, under the mouse."""
        if not self.state.tool or not self.layout.map.holds(self.state.pointed):
            return
        px = self.layout.px
        forward, right = on_grid(self.view.to_m(self.state.pointed), self.state.snap)
        x, y = self.at(self.view.to_px(forward, right))
        self.canvas.circle(palette.FLOWN, (x, y), px(9), max(1, px(2)))
        for a, b in (((x - px(14), y), (x + px(14), y)), ((x, y - px(14)), (x, y + px(14)))):
            self.canvas.line(palette.FLOWN, a, b)
        shown = f"{self.state.tool} at {figure(forward)}, {figure(right)} m"
        self.write((x + px(16), y - px(12)), shown, STRONG, palette.FLOWN, "sw")

    def north(self) -> None:
        """Which way is forward, and the scale."""
        px, (w, h) = self.layout.px, self.canvas.size
        x, y = w - px(30), px(18)
        self.canvas.polygon(palette.INK, ((x, y), (x - px(7), y + px(24)), (x, y + px(18))))
        self.canvas.polygon(
            mix(palette.INK, palette.CARD, 0.55), ((x, y), (x + px(7), y + px(24)), (x, y + px(18)))
        )
        self.canvas.text((x, y + px(28)), "forward", SMALL, palette.INK_SOFT, anchor="nc")
        self.canvas.text((x, y - px(1)), "N", STRONG, palette.INK, anchor="sc")
        metres = self.view.step_m(70.0 * self.layout.scale)
        length = round(metres * self.view.px_per_m)
        bar = Rect(w - px(14) - length, h - px(16), length, max(2, px(3)))
        self.canvas.fill(palette.INK_SOFT, bar)
        self.canvas.text(
            (bar.x + length / 2, bar.y - px(2)), f"{figure(metres)} m", SMALL, palette.INK_SOFT, anchor="sc"
        )


def _around(gap: float) -> Ways:
    """Below, above, right, left."""
    return (0.0, 1.0, gap), (0.0, -1.0, gap), (1.0, 0.0, gap), (-1.0, 0.0, gap)


def _around_bar(middle: Point, right: Point, pad: int) -> Rect:
    """The box around a gate's bar."""
    w, h = abs(right[0] - middle[0]) + pad, abs(right[1] - middle[1]) + pad
    return Rect(round(middle[0] - w), round(middle[1] - h), round(2 * w), round(2 * h))


def _ochre() -> Colour:
    return mix(palette.WANTED, palette.INK, 0.35)
