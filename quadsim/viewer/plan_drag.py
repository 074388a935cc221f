"""Drags on the map and on the strip of heights: from where the mouse went down to what the plan becomes."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quadsim.planning.course_edits import added, bearing_deg, last_of, moved_to, turned_to
from quadsim.planning.course_entries import ENTRIES, Entry, value_of, with_value
from quadsim.planning.course_plan import Chosen, CoursePlan, GatePlan, item_of, place_of
from quadsim.planning.course_snap import GRID_M, Snapped, snapped, snapped_heading, snapped_length
from quadsim.viewer.plan_heights import Strip
from quadsim.viewer.plan_map import PlanMap

Point = tuple[float, float]
STILL = 3.0
"""The mouse must go so far before a press becomes a drag [px]."""
AIM = 14.0
"""From so far on, dragging a gate that is being placed aims it [px]."""
ALIGN = 7.0
"""Within so much of a neighbour's line a thing takes that line [px]."""
FINE_M, FINE_DEG = 0.05, 1.0
"""Steps of a drag with snapping off."""
HEIGHT_STEP_M = 0.25


@dataclass(frozen=True)
class Drag:
    """What is dragged: pan, move, place, turn, left, right, near, far, height, top or foot; and where the mouse went down.

    new : kind of thing that is being placed; after : place in the flying order that it comes behind
    """

    what: str
    chosen: Chosen
    at: Point
    begun: bool = False
    new: str = ""
    after: int | None = None


@dataclass(frozen=True)
class Terms:
    """What a drag needs to know of the screen."""

    view: PlanMap
    scale: float
    snap: bool
    strip: Strip


def dragged(plan: CoursePlan, drag: Drag, at: Point, terms: Terms) -> tuple[CoursePlan, Snapped | None]:
    """The plan as it was when the drag began, with the drag so far; and what it snapped to."""
    chosen = drag.chosen
    match drag.what:
        case "move":
            return _move(plan, drag, at, terms)
        case "place":
            return _place(plan, drag, at, terms), None
        case "turn":
            heading = bearing_deg(place_of(plan, chosen), terms.view.to_m(at))
            return turned_to(plan, chosen, _heading(heading, terms.snap)), None
        case "height":
            return _height(plan, drag, at, terms), None
        case "top" | "foot":
            return _opening(plan, drag, at, terms), None
        case "left" | "right" | "near" | "far":
            return _size(plan, drag, at, terms), None
        case _:
            return plan, None


def _move(plan: CoursePlan, drag: Drag, at: Point, terms: Terms) -> tuple[CoursePlan, Snapped | None]:
    """The thing keeps its distance from the mouse."""
    begin, now = terms.view.to_m(drag.at), terms.view.to_m(at)
    place = place_of(plan, drag.chosen)
    there = place[0] + now[0] - begin[0], place[1] + now[1] - begin[1]
    if not terms.snap:
        fine = snapped_length(there[0], FINE_M), snapped_length(there[1], FINE_M)
        return moved_to(plan, drag.chosen, fine), None
    found = snapped(plan, drag.chosen, there, reach_of(terms))
    return moved_to(plan, drag.chosen, found.at), found


def _place(plan: CoursePlan, drag: Drag, at: Point, terms: Terms) -> CoursePlan:
    """A new thing where the mouse went down; a gate is aimed by going on, other things follow the mouse."""
    spot = drag.at if drag.new == "gate" else at
    plan = added(plan, drag.new, on_grid(terms.view.to_m(spot), terms.snap), drag.after)
    if drag.new == "gate" and math.dist(drag.at, at) > AIM * terms.scale:
        new = last_of(plan, "gate")
        heading = bearing_deg(terms.view.to_m(drag.at), terms.view.to_m(at))
        return turned_to(plan, new, _heading(heading, terms.snap))
    return plan


def _height(plan: CoursePlan, drag: Drag, at: Point, terms: Terms) -> CoursePlan:
    """A gate up and down on the strip."""
    item, entry = item_of(plan, drag.chosen), entry_of(drag.chosen, "height_m")
    if not isinstance(item, GatePlan):
        return plan
    height = item.height_m + terms.strip.metres(drag.at[1] - at[1])
    step = HEIGHT_STEP_M if terms.snap else FINE_M
    return with_value(plan, drag.chosen, entry, snapped_length(height, step))


def _opening(plan: CoursePlan, drag: Drag, at: Point, terms: Terms) -> CoursePlan:
    """The opening of a gate taller or lower on the strip; its other end stays."""
    item, tall = item_of(plan, drag.chosen), entry_of(drag.chosen, "tall_m")
    if not isinstance(item, GatePlan):
        return plan
    way = 1.0 if drag.what == "top" else -1.0
    wish = item.tall_m + way * terms.strip.metres(drag.at[1] - at[1])
    plan = with_value(plan, drag.chosen, tall, snapped_length(wish, 0.1 if terms.snap else 0.01))
    grown = value_of(plan, drag.chosen, tall) - item.tall_m
    height = item.height_m + way * grown / 2.0
    return with_value(plan, drag.chosen, entry_of(drag.chosen, "height_m"), height)


def _size(plan: CoursePlan, drag: Drag, at: Point, terms: Terms) -> CoursePlan:
    """A gate wider or narrower about its middle; an edge of a box or of the field to where the mouse is."""
    item, there = item_of(plan, drag.chosen), terms.view.to_m(at)
    if isinstance(item, GatePlan):
        heading = math.radians(item.heading_deg)
        side = -math.sin(heading) * (there[0] - item.forward_m) + math.cos(heading) * (
            there[1] - item.right_m
        )
        width = snapped_length(2.0 * abs(side), 0.1 if terms.snap else 0.01)
        return with_value(plan, drag.chosen, entry_of(drag.chosen, "width_m"), width)
    key, end = {
        "near": ("forward_m", 0),
        "far": ("forward_m", 1),
        "left": ("right_m", 0),
        "right": ("right_m", 1),
    }[drag.what]
    value = on_grid(there, terms.snap)[0 if key == "forward_m" else 1]
    return with_value(plan, drag.chosen, entry_of(drag.chosen, key, end), value)


def entry_of(chosen: Chosen, key: str, end: int | None = None) -> Entry:
    """The entry of a thing by its key."""
    return next(entry for entry in ENTRIES[chosen.kind] if entry.key == key and entry.end == end)


def on_grid(place: Point, snap: bool) -> Point:
    """A place on the grid, or on the fine one with snapping off."""
    step = GRID_M if snap else FINE_M
    return snapped_length(place[0], step), snapped_length(place[1], step)


def reach_of(terms: Terms) -> float:
    """Within how many metres a neighbour's line is taken: a few pixels, never more than half the grid."""
    return min(ALIGN * terms.scale / terms.view.px_per_m, GRID_M / 2.0)


def _heading(heading_deg: float, snap: bool) -> float:
    return snapped_heading(heading_deg) if snap else round(heading_deg / FINE_DEG) * FINE_DEG
