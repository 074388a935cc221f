"""The course in the run file of a practice flight: its text as a course file has it, and when each gate was flown through."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from quadsim.config.course import Box, Course, Gate, Post
from quadsim.config.course_schema import parse_course
from quadsim.errors import InputError
from quadsim.planning.course_plan import BoxPlan, CoursePlan, FieldPlan, GatePlan, PostPlan, StartPlan
from quadsim.planning.course_text import text_of
from quadsim.practice.course_frame import from_its_start
from quadsim.practice.lap_watch import Passage

DIGITS = 9
"""Decimals of a length or an angle in the text: what turning degrees into radians and back costs is less."""


@dataclass(frozen=True)
class FlownCourse:
    """A course in the flight's axes, and the passages of its gates: place in the flying order, time [s]."""

    course: Course
    passages: tuple[tuple[int, float], ...]

    def next_at(self, t_s: float) -> int:
        """Place of the next gate at a time; -1 once all laps are flown."""
        passed = bisect_right([t for _, t in self.passages], t_s)
        count = len(self.course.gates)
        whole = max(self.course.laps, 1) * count + 1 if self.course.closed else count
        if passed >= whole:
            return -1
        return (self.passages[passed - 1][0] + 1) % count if passed else 0


def course_record(course: Course, passages: Iterable[Passage]) -> dict[str, Any]:
    """What `meta["practice"]` of a run keeps of the course, which is in its own axes."""
    return {"course_file": course_text(course), "passages": [[one.index, one.t_s] for one in passages]}


def flown_course(meta: dict[str, Any]) -> FlownCourse | None:
    """The course of a run from its `meta`; None for a run that has none or whose course cannot be read."""
    stated = meta.get("practice")
    if not isinstance(stated, dict) or not isinstance(stated.get("course_file"), str):
        return None
    try:
        course = parse_course(stated["course_file"], "the run's course")
        passages = tuple((int(index), float(t)) for index, t in stated.get("passages", ()))
    except (InputError, TypeError, ValueError):
        return None
    return FlownCourse(from_its_start(course), passages)


def course_text(course: Course) -> str:
    """A course as TOML that `parse_course` reads."""
    gates = {gate.name: gate for gate in course.gates}
    low, high = course.field.low, course.field.high
    start = course.start
    plan = CoursePlan(
        name=course.name,
        gates=tuple(_gate(gate) for gate in gates.values()),
        order=tuple(gate.name for gate in course.gates),
        posts=tuple(_post(post) for post in course.posts),
        boxes=tuple(_box(box) for box in course.boxes),
        start=StartPlan(*_place(start.place), _degrees(start.heading)),
        field=FieldPlan(_span(low[0], high[0]), _span(low[1], high[1]), _length(-low[2]), course.field.net),
        closed=course.closed,
        laps=course.laps,
        clearance_m=course.clearance,
        about=course.about,
    )
    return text_of(plan)


def _gate(gate: Gate) -> GatePlan:
    return GatePlan(gate.name, *_place(gate.centre), _degrees(gate.heading), gate.width, gate.height)


def _post(post: Post) -> PostPlan:
    return PostPlan(post.name, _length(post.place[0]), _length(post.place[1]), post.height, post.radius)


def _box(box: Box) -> BoxPlan:
    low, high = box.low, box.high
    return BoxPlan(box.name, _span(low[0], high[0]), _span(low[1], high[1]), _span(abs(high[2]), abs(low[2])))


def _place(place: np.ndarray) -> tuple[float, float, float]:
    """Forward, right and height of a place north-east-down [m]."""
    return _length(place[0]), _length(place[1]), _length(-place[2])


def _span(low: float, high: float) -> tuple[float, float]:
    return _length(low), _length(high)


def _length(metres: float) -> float:
    return round(float(metres), DIGITS) + 0.0


def _degrees(angle: float) -> float:
    return round(math.degrees(angle), DIGITS) + 0.0
