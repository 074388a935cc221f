"""How a course is laid out with tape and pegs: base line, pegs by offsets and by tape distances, squareness, material.

The base line runs from the origin O of the course file straight along its first axis to a far peg E. A peg is found by its place
along the line and its offset square to it, and checked by its tape distances from O and E. A right angle is pegged with the sides
3, 4, 5 (Euclid, Elements I.48), and a rectangle is square when its diagonals are equal.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicHermiteSpline
from scipy.spatial import ConvexHull

from quadsim.config.course import Course, Gate

Array = NDArray[np.float64]

SHORTEST_BASE_M = 10.0
TAPE_STEP_M = 10.0
"""Tapes are sold in lengths of whole tens of metres; common practice, no source."""
ON_GROUND_M = 0.02
"""A lower edge at most this high needs no lower bar [m]."""
PULL = 0.8
"""Length of the tangents over the distance of two gates, for a way that looks like a flight."""
CIRCLE = 64


@dataclass(frozen=True)
class Peg:
    """A place on the ground: along the base line and to its right [m], and its distances from both ends of the line [m]."""

    name: str
    forward: float
    right: float
    from_origin: float
    from_end: float


@dataclass(frozen=True)
class Frame:
    """A gate to be built: numbers of its passages, heading [deg], left and right peg, edges over the ground and width [m]."""

    name: str
    passages: tuple[int, ...]
    heading_deg: float
    left: Peg
    right: Peg
    lower: float
    upper: float
    width: float

    @property
    def diagonal(self) -> float:
        """Of the opening [m]: both are that long, or its frame leans."""
        return math.hypot(self.width, self.upper - self.lower)


@dataclass(frozen=True)
class Square:
    """A right angle at the origin: `along` the base line, `across` it, and the tape between the two marks [m]."""

    along: float
    across: float
    between: float


@dataclass(frozen=True)
class Item:
    """A line of the list of material: how many, of what, of which length [m] (0 where it has none)."""

    count: int
    what: str
    length: float = 0.0


@dataclass(frozen=True)
class Setout:
    """Everything that a crew needs to lay a course out.

    base : length of the base line [m]; diagonal : of the field's rectangle [m]
    """

    course: Course
    base: float
    square: Square
    frames: tuple[Frame, ...]
    others: tuple[Peg, ...]
    corners: tuple[Peg, ...]
    diagonal: float
    material: tuple[Item, ...]


def setout(course: Course) -> Setout:
    """The layout of a course."""
    base = _base(course)
    frames = tuple(_frame(course, gate, base) for gate in {gate.name: gate for gate in course.gates}.values())
    others, corners = tuple(_others(course, base)), tuple(_corners(course, base))
    sides = (course.field.high - course.field.low)[:2]
    return Setout(
        course=course,
        base=base,
        square=_square(base),
        frames=frames,
        others=others,
        corners=corners,
        diagonal=math.hypot(*sides.tolist()),
        material=tuple(_material(course, frames, others, corners)),
    )


def _base(course: Course) -> float:
    """To the farthest gate along the line, up to a whole metre, or as far as the field goes."""
    farthest = max(float(gate.centre[0]) for gate in course.gates)
    return float(max(math.ceil(farthest), SHORTEST_BASE_M))


def _square(base: float) -> Square:
    """The greatest 3-4-5 in whole metres of three with its longer side within half the base line."""
    unit = float(max(min(math.floor(base / 8.0), 5), 1))
    return Square(4.0 * unit, 3.0 * unit, 5.0 * unit)


def _peg(name: str, place: Array, base: float) -> Peg:
    forward, right = float(place[0]), float(place[1])
    return Peg(name, forward, right, math.hypot(forward, right), math.hypot(forward - base, right))


def _frame(course: Course, gate: Gate, base: float) -> Frame:
    half = 0.5 * gate.width * gate.right[:2]
    middle = gate.centre[:2]
    over = -float(gate.centre[2])
    return Frame(
        name=gate.name,
        passages=tuple(k + 1 for k, one in enumerate(course.gates) if one.name == gate.name),
        heading_deg=math.degrees(gate.heading) % 360.0,
        left=_peg(f"{gate.name} left", middle - half, base),
        right=_peg(f"{gate.name} right", middle + half, base),
        lower=over - 0.5 * gate.height,
        upper=over + 0.5 * gate.height,
        width=gate.width,
    )


def _others(course: Course, base: float) -> list[Peg]:
    """Start, posts and corners of boxes."""
    found = [_peg("start", course.start.place, base)]
    found += [_peg(post.name, post.place, base) for post in course.posts]
    for box in course.boxes:
        for number, corner in enumerate(_rectangle(box.low, box.high), start=1):
            found.append(_peg(f"{box.name} {number}", corner, base))
    return found


def _corners(course: Course, base: float) -> list[Peg]:
    rectangle = _rectangle(course.field.low, course.field.high)
    return [_peg(f"field {number}", corner, base) for number, corner in enumerate(rectangle, start=1)]


def _rectangle(low: Array, high: Array) -> list[Array]:
    """Corners (2,) in a round: near left, far left, far right, near right, seen along the base line."""
    ends = ((low[0], low[1]), (high[0], low[1]), (high[0], high[1]), (low[0], high[1]))
    return [np.array(end, float) for end in ends]


def _material(
    course: Course, frames: tuple[Frame, ...], others: tuple[Peg, ...], corners: tuple[Peg, ...]
) -> list[Item]:
    """What to bring, the longest first; lengths are those of the openings, without what goes into the ground or a joint."""
    uprights: Counter[float] = Counter()
    bars: Counter[float] = Counter()
    for frame in frames:
        uprights[round(frame.upper, 2)] += 2
        bars[round(frame.width, 2)] += 1 + (frame.lower > ON_GROUND_M)
    posts = Counter(round(post.height, 2) for post in course.posts)
    found = [Item(count, "upright of a gate", length) for length, count in _longest(uprights)]
    found += [Item(count, "bar of a gate", length) for length, count in _longest(bars)]
    found += [Item(count, "post", length) for length, count in _longest(posts)]
    # two ends of the base line, two marks of the right angle
    pegs = 4 + 2 * len(frames) + len(others) + len(corners)
    found.append(Item(pegs, "peg"))
    found.append(Item(2, "tape, at least", tape_length(frames, others, corners)))
    around = math.ceil(2.0 * float(np.sum((course.field.high - course.field.low)[:2])))
    if course.field.net:
        found.append(Item(1, f"net or wall around the field, {-course.field.low[2]:g} m high", around))
    else:
        found.append(Item(1, "line around the field", around))
    return found


def _longest(lengths: Counter[float]) -> list[tuple[float, int]]:
    return sorted(lengths.items(), reverse=True)


def tape_length(frames: tuple[Frame, ...], others: tuple[Peg, ...], corners: tuple[Peg, ...]) -> float:
    """The tape that reaches every peg from both ends of the base line [m]."""
    pegs = [peg for frame in frames for peg in (frame.left, frame.right)] + [*others, *corners]
    farthest = max(max(peg.from_origin, peg.from_end) for peg in pegs)
    return TAPE_STEP_M * math.ceil(farthest / TAPE_STEP_M)


def way_through(course: Course, samples: int = 24) -> Array:
    """A smooth way (n, 3) from the start through all gates in their directions, once around: a picture, not the fastest line."""
    places = [course.start.place, *(gate.centre for gate in course.gates)]
    headings = [np.append(_ahead(course.start.heading), 0.0), *(gate.forward for gate in course.gates)]
    if course.closed:
        places.append(course.gates[0].centre)
        headings.append(course.gates[0].forward)
    share = np.linspace(0.0, 1.0, samples + 1)
    legs = []
    for k in range(len(places) - 1):
        pull = PULL * float(np.linalg.norm(places[k + 1] - places[k]))
        ends, slopes = np.array(places[k : k + 2]), pull * np.array(headings[k : k + 2])
        legs.append(CubicHermiteSpline([0.0, 1.0], ends, slopes)(share))
    return np.concatenate([legs[0], *(leg[1:] for leg in legs[1:])])


def _ahead(heading: float) -> Array:
    return np.array([math.cos(heading), math.sin(heading)])


def crowd_line(way: Array, distance: float) -> Array:
    """The convex line (n, 2) that keeps a distance [m] from all of a way (m, 2 or 3): a round, first place not repeated.

    Corners of the circle lie on a circle that is wider by 1/cos(pi/n), so that its sides are nowhere nearer than the distance.
    """
    turn = 2.0 * math.pi * np.arange(CIRCLE) / CIRCLE
    wide = distance / math.cos(math.pi / CIRCLE)
    around = wide * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    places = (way[:, None, :2] + around[None]).reshape(-1, 2)
    return np.asarray(places[ConvexHull(places).vertices], float)


def length_around(line: Array) -> float:
    """Length of a closed line (n, 2) [m]."""
    return float(np.sum(np.linalg.norm(np.roll(line, -1, axis=0) - line, axis=1)))
