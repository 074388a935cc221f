"""A course as a flight sees it: the flight begins at the origin, so the course is moved until its start lies there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from quadsim.config.course import Course


def from_its_start(course: Course) -> Course:
    """The course moved over the ground so that its start place is north 0 m, east 0 m; heights stay."""
    shift = start_shift(course)
    level = np.array([shift[0], shift[1], 0.0])
    return replace(
        course,
        gates=tuple(replace(gate, centre=gate.centre - level) for gate in course.gates),
        posts=tuple(replace(post, place=post.place - shift) for post in course.posts),
        boxes=tuple(replace(box, low=box.low - level, high=box.high - level) for box in course.boxes),
        field=replace(course.field, low=course.field.low - level, high=course.field.high - level),
        start=replace(course.start, place=course.start.place - level),
    )


def start_shift(course: Course) -> np.ndarray:
    """North and east of the course's start place in the course's own axes [m], shape (2,)."""
    return np.asarray(course.start.place, float)[:2].copy()


def openings(course: Course) -> tuple[int, ...]:
    """For each gate in flying order, the first one in it that is the same opening: one may be flown several times, both ways."""
    found: list[int] = []
    for k, gate in enumerate(course.gates):
        size = (gate.width, gate.height)
        same = (
            n for n in sorted(set(found))
            if size == (course.gates[n].width, course.gates[n].height)
            and np.allclose(course.gates[n].centre, gate.centre)
        )  # fmt: skip
        found.append(next(same, k))
    return tuple(found)
