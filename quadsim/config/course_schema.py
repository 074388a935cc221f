"""Schema of a course file: gates, posts, no-fly boxes, start, limits. README: scenarios/courses/README.md."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Annotated

import numpy as np
from pydantic import Field as Described

from quadsim.config.course import Box, Course, Field, Gate, Post, Start
from quadsim.config.course_rules import RULES
from quadsim.config.find_data import find_file
from quadsim.config.listing import Section, checked
from quadsim.config.quantity import Quantity, Triple
from quadsim.config.toml_reader import Document, parse_toml, read_toml

FARTHEST_M = 1000.0
Forward = Annotated[float, Quantity(-FARTHEST_M, FARTHEST_M, "m", "along the base line, from the origin")]
Right = Annotated[float, Quantity(-FARTHEST_M, FARTHEST_M, "m", "to the right of the base line")]
Heading = Annotated[float, Quantity(-360.0, 360.0, "deg", "clockwise from the base line, seen from above")]


class GateSection(Section):
    """An upright opening."""

    name: str = Described(min_length=1, description="what it is called on the field")
    forward_m: Forward
    right_m: Right
    height_m: Annotated[float, Quantity(0.1, 200.0, "m", "middle of the opening over the ground")]
    heading_deg: Heading
    width_m: Annotated[float, Quantity(0.2, 50.0, "m", "inside width")]
    tall_m: Annotated[float, Quantity(0.2, 50.0, "m", "inside height of the opening")]


class PostSection(Section):
    """A post on the ground."""

    name: str = Described(min_length=1, description="what it is called")
    forward_m: Forward
    right_m: Right
    height_m: Annotated[float, Quantity(0.1, 200.0, "m", "its top over the ground")]
    radius_m: Annotated[float, Quantity(0.005, 20.0, "m", "of the post")] = 0.05


class BoxSection(Section):
    """A space that must not be entered, from the ground or from a height up."""

    name: str = Described(min_length=1, description="what it is")
    forward_m: Annotated[
        tuple[float, ...], Triple(-FARTHEST_M, FARTHEST_M, "m", "from, to along the base line", count=2)
    ]
    right_m: Annotated[
        tuple[float, ...], Triple(-FARTHEST_M, FARTHEST_M, "m", "from, to right of the base line", count=2)
    ]
    height_m: Annotated[tuple[float, ...], Triple(0.0, 500.0, "m", "from, to over the ground", count=2)]


class FieldSection(Section):
    """The flying space: a net, or limits that the crew declares."""

    forward_m: Annotated[
        tuple[float, ...], Triple(-FARTHEST_M, FARTHEST_M, "m", "from, to along the base line", count=2)
    ]
    right_m: Annotated[
        tuple[float, ...], Triple(-FARTHEST_M, FARTHEST_M, "m", "from, to right of the base line", count=2)
    ]
    ceiling_m: Annotated[float, Quantity(0.5, 500.0, "m", "greatest height over the ground")]
    net: bool = Described(False, description="whether its sides are a net or walls")


class StartSection(Section):
    """Where the craft stands before the start signal."""

    forward_m: Forward
    right_m: Right
    height_m: Annotated[float, Quantity(0.0, 50.0, "m", "of the pad over the ground")] = 0.0
    heading_deg: Heading


class CourseFile(Section):
    """A whole course file."""

    name: str = Described(min_length=1, description="what the course is called")
    about: str = Described("", description="one sentence for whoever opens the file")
    closed: bool = Described(description="true: a lap leads from the first gate to the first gate again")
    laps: Annotated[int, Quantity(1, 100, "-", "flown in one go", whole=True)] = 1
    clearance_m: Annotated[
        float, Quantity(0.0, 10.0, "m", "kept from the craft's outline to frames, posts, boxes and limits")
    ]
    order: tuple[str, ...] = Described(
        (), description="names of the gates as they are flown; as listed if absent"
    )
    field: FieldSection
    start: StartSection
    gate: tuple[GateSection, ...] = Described(min_length=1, description="the gates")
    post: tuple[PostSection, ...] = Described((), description="posts, if any")
    box: tuple[BoxSection, ...] = Described((), description="spaces that must not be entered, if any")


def load_course(path_or_name: str | Path) -> Course:
    """A checked course from a file, or from the name of a shipped one. InputError lists every problem."""
    return course_of(_checked(read_toml(find_file(path_or_name, "courses"))))


def parse_course(text: str, source: str = "course") -> Course:
    """The same from TOML text."""
    return course_of(_checked(parse_toml(text, source)))


def _checked(document: Document) -> CourseFile:
    return checked(CourseFile, document, RULES)


def course_of(file: CourseFile) -> Course:
    """The course that a checked file describes."""
    gates = {one.name: _gate(one) for one in file.gate}
    space = file.field
    return Course(
        name=file.name,
        about=file.about,
        gates=tuple(gates[name] for name in file.order or gates),
        start=Start(
            np.array([file.start.forward_m, file.start.right_m, -file.start.height_m]),
            math.radians(file.start.heading_deg),
        ),
        closed=file.closed,
        laps=file.laps,
        posts=tuple(
            Post(one.name, np.array([one.forward_m, one.right_m]), float(one.height_m), float(one.radius_m))
            for one in file.post
        ),
        boxes=tuple(Box(one.name, *_corners(one.forward_m, one.right_m, one.height_m)) for one in file.box),
        field=Field(*_corners(space.forward_m, space.right_m, (0.0, space.ceiling_m))),
        clearance=float(file.clearance_m),
    )


def _gate(one: GateSection) -> Gate:
    centre = np.array([one.forward_m, one.right_m, -one.height_m])
    return Gate(one.name, centre, math.radians(one.heading_deg), float(one.width_m), float(one.tall_m))


def _corners(
    forward: tuple[float, ...], right: tuple[float, ...], height: tuple[float, ...]
) -> tuple[np.ndarray, np.ndarray]:
    low = np.array([forward[0], right[0], -height[1]])
    return low, np.array([forward[1], right[1], -height[0]])
