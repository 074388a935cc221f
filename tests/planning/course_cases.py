"""Invented courses for tests: as records, and as the text of a file."""

import math
from collections.abc import Sequence

import numpy as np

from quadsim.config.course import Course, Field, Gate, Start


def a_gate(name, north, east=0.0, height=2.0, heading_deg=0.0, width=2.0, tall=2.0) -> Gate:
    """A gate by its middle [m] and its heading."""
    return Gate(name, np.array([north, east, -height]), math.radians(heading_deg), width, tall)


def a_course(
    *gates: Gate, start: Sequence[float] = (0.0, 0.0, 0.0), heading_deg: float = 0.0, closed: bool = False, laps: int = 1,
    posts: tuple = (), boxes: tuple = (), low: Sequence[float] = (-50.0,) * 3, high: Sequence[float] = (50.0, 50.0, 0.0),
    clearance: float = 0.3, name: str = "Invented",
) -> Course:  # fmt: skip
    """A course of gates; start and corners of the field north-east-down [m]."""
    begin = Start(np.array(start, float), math.radians(heading_deg))
    field = Field(np.array(low, float), np.array(high, float))
    return Course(name, "", gates, begin, closed, laps, posts, boxes, field, clearance)


def gate_text(name, forward, right, height=2, heading=0, width=2, tall=2) -> str:
    """A gate's section of a course file."""
    return (
        f'[[gate]]\nname = "{name}"\nforward_m = {forward}\nright_m = {right}\nheight_m = {height}\n'
        f"heading_deg = {heading}\nwidth_m = {width}\ntall_m = {tall}\n"
    )


def course_text(*sections: str, forward=(-5, 40), right=(-15, 15), ceiling=8) -> str:
    """An open course file: start at 0, 0, 0.1 m of clearance, and the sections of its gates and obstacles."""
    return (
        'name = "Invented"\nclosed = false\nclearance_m = 0.1\n'
        f"[field]\nforward_m = {list(forward)}\nright_m = {list(right)}\nceiling_m = {ceiling}\n"
        "[start]\nforward_m = 0\nright_m = 0\nheading_deg = 0\n" + "".join(sections)
    )
