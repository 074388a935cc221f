"""What can be set of each thing of a course: label, unit, limits and step; and how an entry is read and written."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from quadsim.planning.course_plan import Chosen, CoursePlan, item_of

REACH_M = 500.0
"""Farthest from the origin that anything stands, forward or right [m]."""
DECIMALS = 3
"""A layout works in whole millimetres: no tape on a field reads finer."""


@dataclass(frozen=True)
class Entry:
    """A number of a thing. `end` is 0 or 1 for the lower or upper edge of a pair."""

    key: str
    label: str
    unit: str
    low: float
    high: float
    step: float
    end: int | None = None


def _edges(key: str, labels: tuple[str, str], low: float, high: float) -> tuple[Entry, Entry]:
    return tuple(Entry(key, label, "m", low, high, 0.5, end) for end, label in enumerate(labels))  # type: ignore[return-value]


FORWARD = Entry("forward_m", "forward", "m", -REACH_M, REACH_M, 0.5)
RIGHT = Entry("right_m", "right", "m", -REACH_M, REACH_M, 0.5)
HEADING = Entry("heading_deg", "heading", "°", 0.0, 360.0, 15.0)
ACROSS = (
    *_edges("forward_m", ("back", "front"), -REACH_M, REACH_M),
    *_edges("right_m", ("left", "right"), -REACH_M, REACH_M),
)

ENTRIES: dict[str, tuple[Entry, ...]] = {
    "gate": (
        FORWARD,
        RIGHT,
        Entry("height_m", "height, middle", "m", 0.1, 100.0, 0.25),
        HEADING,
        Entry("inside_width_m", "opening, wide", "m", 0.3, 20.0, 0.1),
        Entry("inside_height_m", "opening, high", "m", 0.3, 20.0, 0.1),
    ),
    "post": (
        FORWARD,
        RIGHT,
        Entry("height_m", "height", "m", 0.1, 100.0, 0.25),
        Entry("radius_m", "radius", "m", 0.005, 5.0, 0.05),
    ),
    "box": (*ACROSS, *_edges("height_m", ("underside", "top"), 0.0, 150.0)),
    "start": (FORWARD, RIGHT, Entry("height_m", "height", "m", 0.0, 20.0, 0.25), HEADING),
    "field": (*ACROSS, Entry("height_m", "ceiling", "m", 0.5, 150.0, 0.5)),
    "course": (
        Entry("clearance_m", "clearance", "m", 0.0, 5.0, 0.05),
        Entry("laps", "laps", "", 1.0, 100.0, 1.0),
    ),
}
"""In the order of the panel. Limits are those of the file's schema; a heading goes round."""

ROWS = {"gate": "gates", "post": "posts", "box": "boxes"}
"""Where a plan keeps the things of which there are several; these have names."""


def value_of(plan: CoursePlan, chosen: Chosen, entry: Entry) -> float:
    """The number that an entry has."""
    value = getattr(item_of(plan, chosen), entry.key)
    return float(value if entry.end is None else value[entry.end])


def with_value(plan: CoursePlan, chosen: Chosen, entry: Entry, value: float) -> CoursePlan:
    """The plan with one number set, brought within its limits; the edge of a pair stops at the other edge."""
    item = item_of(plan, chosen)
    if entry.key == "heading_deg":
        value = turned_once(value)
    value = tidy(min(max(value, entry.low), entry.high))
    if entry.end is not None:
        low, high = getattr(item, entry.key)
        pair = (min(value, high), high) if entry.end == 0 else (low, max(value, low))
        return put(plan, chosen, **{entry.key: pair})
    return put(plan, chosen, **{entry.key: round(value) if entry.key == "laps" else value})


def put(plan: CoursePlan, chosen: Chosen, **changes: Any) -> CoursePlan:
    """The plan with changes to one thing."""
    item = replace(item_of(plan, chosen), **changes)
    if isinstance(item, CoursePlan):
        return item
    k, place = chosen.index, ROWS.get(chosen.kind, chosen.kind)
    row = getattr(plan, place)
    whole: dict[str, Any] = {place: (*row[:k], item, *row[k + 1 :]) if chosen.kind in ROWS else item}
    return replace(plan, **whole)


def tidy(value: float) -> float:
    """A number in whole thousandths, without a negative zero."""
    return round(value, DECIMALS) + 0.0


def turned_once(heading_deg: float) -> float:
    """A heading brought into 0 to below 360 degrees."""
    return tidy(heading_deg % 360.0) % 360.0
