"""What can be taken hold of on the map: things, and the handles of the thing that is chosen."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quadsim.planning.course_plan import (
    BoxPlan,
    Chosen,
    CoursePlan,
    FieldPlan,
    GatePlan,
    StartPlan,
    item_of,
    items,
    place_of,
)
from quadsim.viewer.plan_map import PlanMap

Point = tuple[float, float]
REACH = 9.0
"""How far from a thing the mouse still takes it [px at 1280 x 720]."""
KNOB = 40.0
"""Distance of the knob that turns a gate, ahead of its middle [px]."""
START_RADIUS = 9.0
LEAST_BAR = 11.0
"""Half length of a gate's bar at least [px], so that it can be seen and taken at any scale."""


@dataclass(frozen=True)
class Handle:
    """A place to take hold of: what is `turn`, `left`, `right`, `near` or `far`."""

    what: str
    at: Point


def ahead(heading_deg: float) -> Point:
    """Direction of a heading on the map: x right, y down."""
    angle = math.radians(heading_deg)
    return math.sin(angle), -math.cos(angle)


def gate_bar(view: PlanMap, gate: GatePlan, px: float) -> tuple[Point, Point, Point]:
    """Middle, left end and right end of a gate's opening, seen in flight; never shorter than can be seen."""
    x, y = view.to_px(gate.forward_m, gate.right_m)
    ux, uy = ahead(gate.heading_deg)
    half = max(gate.width_m / 2.0 * view.px_per_m, LEAST_BAR * px)
    return (x, y), (x + uy * half, y - ux * half), (x - uy * half, y + ux * half)


def handles(view: PlanMap, plan: CoursePlan, chosen: Chosen, px: float) -> list[Handle]:
    """The handles of a thing."""
    item = item_of(plan, chosen)
    if isinstance(item, GatePlan):
        _, left, right = gate_bar(view, item, px)
        return [Handle("turn", _knob(view, item, px)), Handle("left", left), Handle("right", right)]
    if isinstance(item, StartPlan):
        return [Handle("turn", _knob(view, item, px))]
    if isinstance(item, BoxPlan | FieldPlan):
        along, across = place_of(plan, chosen)
        return [
            Handle("near", view.to_px(item.forward_m[0], across)),
            Handle("far", view.to_px(item.forward_m[1], across)),
            Handle("left", view.to_px(along, item.right_m[0])),
            Handle("right", view.to_px(along, item.right_m[1])),
        ]
    return []


def handle_at(view: PlanMap, plan: CoursePlan, chosen: Chosen, at: Point, px: float) -> Handle | None:
    """The handle under the mouse."""
    near = [(math.dist(handle.at, at), handle) for handle in handles(view, plan, chosen, px)]
    near = [pair for pair in near if pair[0] <= REACH * px]
    return min(near, key=lambda pair: pair[0])[1] if near else None


def thing_at(view: PlanMap, plan: CoursePlan, at: Point, px: float) -> Chosen | None:
    """What stands under the mouse: the nearest of gates, posts and start, else a box, else the edge of the field."""
    near = []
    for chosen in items(plan):
        if chosen.kind != "box":
            distance = _distance(view, plan, chosen, at, px)
            near.append((distance, chosen))
    near = [pair for pair in near if pair[0] <= REACH * px]
    if near:
        return min(near, key=lambda pair: pair[0])[1]
    forward, right = view.to_m(at)
    for k, box in enumerate(plan.boxes):
        if box.forward_m[0] <= forward <= box.forward_m[1] and box.right_m[0] <= right <= box.right_m[1]:
            return Chosen("box", k)
    return Chosen("field") if _on_edge(view, plan.field, at, 5.0 * px) else None


def _knob(view: PlanMap, item: GatePlan | StartPlan, px: float) -> Point:
    x, y = view.to_px(item.forward_m, item.right_m)
    ux, uy = ahead(item.heading_deg)
    return x + ux * KNOB * px, y + uy * KNOB * px


def _distance(view: PlanMap, plan: CoursePlan, chosen: Chosen, at: Point, px: float) -> float:
    """From the mouse to the outline of a thing [px]."""
    if chosen.kind == "gate":
        _, left, right = gate_bar(view, plan.gates[chosen.index], px)
        return _to_segment(at, left, right)
    apart = math.dist(view.to_px(*place_of(plan, chosen)), at)
    if chosen.kind == "post":
        return max(0.0, apart - plan.posts[chosen.index].radius_m * view.px_per_m)
    return max(0.0, apart - START_RADIUS * px)


def _to_segment(at: Point, a: Point, b: Point) -> float:
    dx, dy = b[0] - a[0], b[1] - a[1]
    share = ((at[0] - a[0]) * dx + (at[1] - a[1]) * dy) / max(dx * dx + dy * dy, 1e-9)
    share = min(max(share, 0.0), 1.0)
    return math.dist(at, (a[0] + share * dx, a[1] + share * dy))


def _on_edge(view: PlanMap, field: FieldPlan, at: Point, reach: float) -> bool:
    left, top = view.to_px(field.forward_m[1], field.right_m[0])
    right, below = view.to_px(field.forward_m[0], field.right_m[1])
    within = left - reach <= at[0] <= right + reach and top - reach <= at[1] <= below + reach
    deep = left + reach < at[0] < right - reach and top + reach < at[1] < below - reach
    return within and not deep
