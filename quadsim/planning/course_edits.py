"""Steps of editing a course: each takes a plan and gives a new one."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from quadsim.config.course_schema import FARTHEST_M
from quadsim.planning.course_entries import ROWS, put, tidy, turned_once
from quadsim.planning.course_plan import (
    COURSE,
    BoxPlan,
    Chosen,
    CoursePlan,
    FieldPlan,
    GatePlan,
    PostPlan,
    StartPlan,
    item_of,
    place_of,
)
from quadsim.planning.course_snap import snapped_heading

FIRST_GATE = GatePlan("gate", 0.0, 0.0, 2.0, 0.0, 2.0, 2.0)
"""Size and height of a gate where there is none to take them from; assumed."""
POST_HEIGHT_M, POST_RADIUS_M = 3.0, 0.05
COPY_M = 4.0
"""How far behind a gate its copy stands [m]; assumed."""
BOX_EDGE_M, BOX_HEIGHT_M = 4.0, 4.0


def added(plan: CoursePlan, kind: str, at: tuple[float, float], after: int | None = None) -> CoursePlan:
    """The plan with a new gate, post or box at a place; it is the last of its kind.

    after : place in the flying order that the gate comes behind (0 before all); the end when None
    """
    forward, right = _within(at)
    if kind == "post":
        name = _free("post", (p.name for p in plan.posts))
        post = PostPlan(name, forward, right, POST_HEIGHT_M, POST_RADIUS_M)
        return replace(plan, posts=(*plan.posts, post))
    if kind == "box":
        edges = (-BOX_EDGE_M / 2.0, BOX_EDGE_M / 2.0)
        box = BoxPlan(_free("box", (b.name for b in plan.boxes)), edges, edges, (0.0, BOX_HEIGHT_M))
        plan = replace(plan, boxes=(*plan.boxes, box))
        return moved_to(plan, last_of(plan, "box"), (forward, right))
    place = len(plan.order) if after is None else after
    flown = plan.flown
    like = flown[max(place - 1, 0)] if flown else FIRST_GATE
    origin = (like.forward_m, like.right_m) if place else (plan.start.forward_m, plan.start.right_m)
    gate = replace(
        like,
        name=_free("gate", (g.name for g in plan.gates)),
        forward_m=forward,
        right_m=right,
        heading_deg=snapped_heading(bearing_deg(origin, (forward, right))),
    )
    order = (*plan.order[:place], gate.name, *plan.order[place:])
    return replace(plan, gates=(*plan.gates, gate), order=order)


def last_of(plan: CoursePlan, kind: str) -> Chosen:
    """The newest thing of a kind."""
    return Chosen(kind, len(getattr(plan, ROWS[kind])) - 1)


def copied(plan: CoursePlan, chosen: Chosen) -> CoursePlan:
    """The plan with a gate of the same size and heading a few metres on, flown next; it is the last of the gates."""
    if chosen.kind != "gate":
        return plan
    gate = plan.gates[chosen.index]
    heading = math.radians(gate.heading_deg)
    at = gate.forward_m + COPY_M * math.cos(heading), gate.right_m + COPY_M * math.sin(heading)
    plan = added(plan, "gate", at, after=plan.numbers(gate.name)[0])
    return put(
        plan, last_of(plan, "gate"), heading_deg=gate.heading_deg, height_m=gate.height_m,
        width_m=gate.width_m, tall_m=gate.tall_m,
    )  # fmt: skip


def removed(plan: CoursePlan, chosen: Chosen) -> CoursePlan:
    """The plan without a gate (and its passages), a post or a box; start, field and course stay."""
    if chosen.kind not in ROWS:
        return plan
    row = getattr(plan, ROWS[chosen.kind])
    order = plan.order
    if chosen.kind == "gate":
        order = tuple(name for name in order if name != row[chosen.index].name)
    left: dict[str, Any] = {ROWS[chosen.kind]: row[: chosen.index] + row[chosen.index + 1 :]}
    return replace(plan, order=order, **left)


def moved_to(plan: CoursePlan, chosen: Chosen, at: tuple[float, float]) -> CoursePlan:
    """The plan with the middle of a thing at a place: forward, right [m]."""
    item = item_of(plan, chosen)
    forward, right = _within(at)
    if isinstance(item, CoursePlan):
        return plan
    if isinstance(item, BoxPlan | FieldPlan):
        there = place_of(plan, chosen)
        return put(
            plan, chosen,
            forward_m=_shifted(item.forward_m, forward - there[0]),
            right_m=_shifted(item.right_m, right - there[1]),
        )  # fmt: skip
    return put(plan, chosen, forward_m=forward, right_m=right)


def turned_to(plan: CoursePlan, chosen: Chosen, heading_deg: float) -> CoursePlan:
    """The plan with a gate or the start looking along a heading; what has none stays."""
    if isinstance(item_of(plan, chosen), GatePlan | StartPlan):
        return put(plan, chosen, heading_deg=turned_once(heading_deg))
    return plan


def renamed(plan: CoursePlan, chosen: Chosen, name: str) -> CoursePlan:
    """The plan with another name for the course or one of its things; a name in use already, or an empty one, changes nothing."""
    name = name.strip()
    if chosen == COURSE:
        return replace(plan, name=name) if name else plan
    if chosen.kind not in ROWS or not name:
        return plan
    row: tuple[GatePlan | PostPlan | BoxPlan, ...] = getattr(plan, ROWS[chosen.kind])
    if name in (other.name for other in row):
        return plan
    old = row[chosen.index].name
    plan = put(plan, chosen, name=name)
    if chosen.kind != "gate":
        return plan
    return replace(plan, order=tuple(name if other == old else other for other in plan.order))


def shifted_in_order(plan: CoursePlan, place: int, way: int) -> CoursePlan:
    """The plan with the passage at a place of the flying order one place later (way 1) or earlier (-1)."""
    other = place + way
    if not (0 <= place < len(plan.order) and 0 <= other < len(plan.order)):
        return plan
    order = list(plan.order)
    order[place], order[other] = order[other], order[place]
    return replace(plan, order=tuple(order))


def flown_again(plan: CoursePlan, chosen: Chosen) -> CoursePlan:
    """The plan with one more passage of a gate, at the end of the flying order."""
    if chosen.kind != "gate":
        return plan
    return replace(plan, order=(*plan.order, plan.gates[chosen.index].name))


def flown_less(plan: CoursePlan, chosen: Chosen) -> CoursePlan:
    """The plan without the last passage of a gate that is flown more than once."""
    if chosen.kind != "gate":
        return plan
    places = plan.numbers(plan.gates[chosen.index].name)
    if len(places) < 2:
        return plan
    return replace(plan, order=plan.order[: places[-1] - 1] + plan.order[places[-1] :])


def bearing_deg(here: tuple[float, float], there: tuple[float, float]) -> float:
    """Direction from one place to another, 0 forward, clockwise from above [deg]."""
    return math.degrees(math.atan2(there[1] - here[1], there[0] - here[0])) % 360.0


def _within(at: tuple[float, float]) -> tuple[float, float]:
    """A place brought within the limits of a course."""
    forward, right = (tidy(min(max(value, -FARTHEST_M), FARTHEST_M)) for value in at)
    return forward, right


def _shifted(pair: tuple[float, float], by: float) -> tuple[float, float]:
    """A pair of edges moved by as much as the limits let it."""
    by = min(max(by, -FARTHEST_M - pair[0]), FARTHEST_M - pair[1])
    return tidy(pair[0] + by), tidy(pair[1] + by)


def _free(stem: str, taken: Iterable[str]) -> str:
    """The first of `stem 1`, `stem 2`, ... that is not in use."""
    used = set(taken)
    return next(name for k in range(1, len(used) + 2) if (name := f"{stem} {k}") not in used)
