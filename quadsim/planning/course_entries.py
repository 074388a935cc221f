"""What can be set of each thing of a course: label, unit, limits and step; and how an entry is read and written."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from quadsim.config.course_schema import (
    BoxSection,
    CourseFile,
    FieldSection,
    GateSection,
    PostSection,
    StartSection,
)
from quadsim.config.listing import Section
from quadsim.config.quantity import Quantity
from quadsim.planning.course_plan import Chosen, CoursePlan, item_of

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


def _entry(
    section: type[Section], key: str, label: str, step: float, unit: str = "m", end: int | None = None
) -> Entry:
    """An entry with the limits that the file's schema gives the key."""
    limits = next(part for part in section.model_fields[key].metadata if isinstance(part, Quantity))
    return Entry(key, label, unit, limits.low, limits.high, step, end)


def _pair(section: type[Section], key: str, low: str, high: str, step: float = 0.5) -> tuple[Entry, Entry]:
    return _entry(section, key, low, step, end=0), _entry(section, key, high, step, end=1)


ENTRIES: dict[str, tuple[Entry, ...]] = {
    "gate": (
        _entry(GateSection, "forward_m", "Forward", 0.5),
        _entry(GateSection, "right_m", "Right", 0.5),
        _entry(GateSection, "height_m", "Height of middle", 0.25),
        _entry(GateSection, "heading_deg", "Heading", 15.0, "°"),
        _entry(GateSection, "width_m", "Opening, wide", 0.1),
        _entry(GateSection, "tall_m", "Opening, tall", 0.1),
    ),
    "post": (
        _entry(PostSection, "forward_m", "Forward", 0.5),
        _entry(PostSection, "right_m", "Right", 0.5),
        _entry(PostSection, "height_m", "Height of top", 0.25),
        _entry(PostSection, "radius_m", "Radius", 0.05),
    ),
    "box": (
        *_pair(BoxSection, "forward_m", "Near edge", "Far edge"),
        *_pair(BoxSection, "right_m", "Left edge", "Right edge"),
        *_pair(BoxSection, "height_m", "Underside", "Top", 0.25),
    ),
    "start": (
        _entry(StartSection, "forward_m", "Forward", 0.5),
        _entry(StartSection, "right_m", "Right", 0.5),
        _entry(StartSection, "height_m", "Height of pad", 0.25),
        _entry(StartSection, "heading_deg", "Heading", 15.0, "°"),
    ),
    "field": (
        *_pair(FieldSection, "forward_m", "Near edge", "Far edge"),
        *_pair(FieldSection, "right_m", "Left edge", "Right edge"),
        _entry(FieldSection, "ceiling_m", "Ceiling", 0.5),
    ),
    "course": (
        _entry(CourseFile, "clearance_m", "Clearance", 0.05),
        _entry(CourseFile, "laps", "Laps", 1.0, ""),
    ),
}
"""In the order of the panel. A heading goes round, within 0 to 360 degrees."""
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
