"""A course as it is flown: gates in order, obstacles, the flying space. Made of a file by `course_schema`."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Gate:
    """An upright rectangular opening.

    centre : (3,) of the opening, north-east-down [m]
    heading : direction in which it is flown through, clockwise from north [rad]
    width, height : of the opening, between the insides of its frame [m]
    """

    name: str
    centre: Array
    heading: float
    width: float
    height: float

    @property
    def forward(self) -> Array:
        """Unit vector (3,) of the flight through it."""
        return np.array([math.cos(self.heading), math.sin(self.heading), 0.0])

    @property
    def right(self) -> Array:
        """Unit vector (3,) to its right, seen in flight."""
        return np.array([-math.sin(self.heading), math.cos(self.heading), 0.0])


@dataclass(frozen=True)
class Post:
    """An upright post on the ground: place (2,) north, east, height and radius [m]."""

    name: str
    place: Array
    height: float
    radius: float


@dataclass(frozen=True)
class Box:
    """A space that must not be entered: its corners (3,) with the least and greatest north, east, down [m]."""

    name: str
    low: Array
    high: Array


@dataclass(frozen=True)
class Field:
    """The flying space: corners (3,) with the least and greatest north, east, down [m]; the ground is at down 0."""

    low: Array
    high: Array


@dataclass(frozen=True)
class Start:
    """Where the craft stands before the start signal: place (3,) [m], heading [rad]."""

    place: Array
    heading: float


@dataclass(frozen=True)
class Course:
    """A course.

    gates : in the order in which they are flown; a gate that is flown twice stands in it twice
    closed : the lap's clock runs from the first gate to the first gate again; else from the start to the last gate
    clearance : declared distance from the craft's outline to frames, posts, boxes and limits [m]
    """

    name: str
    about: str
    gates: tuple[Gate, ...]
    start: Start
    closed: bool
    laps: int
    posts: tuple[Post, ...]
    boxes: tuple[Box, ...]
    field: Field
    clearance: float
