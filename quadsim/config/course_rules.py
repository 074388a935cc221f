"""What the sections of a course file must fulfil together: names, spans, openings in the flying space, nothing in the way.

An upright opening is a level segment times a span of heights, so a post or a box touches it where both meet.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from quadsim.config.listing import Finding, Rule
from quadsim.config.toml_reader import KeyPath

if TYPE_CHECKING:
    from quadsim.config.course_schema import BoxSection, CourseFile, GateSection, PostSection, StartSection

Array = NDArray[np.float64]
TOUCH_M = 1e-3
"""Openings that share an upright or a bar, side by side or one on the other, touch by no more than this [m]."""


def _names(file: CourseFile) -> Iterator[Finding]:
    """Names are what crews, results and the order speak of."""
    for kind in ("gate", "post", "box"):
        seen: set[str] = set()
        for number, one in enumerate(getattr(file, kind)):
            if one.name in seen:
                path = (kind, number, "name")
                yield path, f"is {one.name!r} again", "must be a name of its own", "Rename one"
            seen.add(one.name)
    known = {one.name for one in file.gate}
    for number, name in enumerate(file.order):
        if name not in known:
            allowed = f"must be one of {', '.join(sorted(known))}"
            yield ("order", number), f"is {name!r}", allowed, "Correct the name"
    for name in sorted(known - set(file.order)) if file.order else ():
        given = f"leaves out gate {name!r}"
        yield ("order",), given, "every gate must be flown", "Add it, or take the gate away"


def _spans(file: CourseFile) -> Iterator[Finding]:
    """From must be less than to."""
    spans: list[tuple[KeyPath, tuple[float, ...]]] = [
        (("field", key), getattr(file.field, key)) for key in ("forward_m", "right_m")
    ]
    for number, box in enumerate(file.box):
        spans += [(("box", number, key), getattr(box, key)) for key in ("forward_m", "right_m", "height_m")]
    for path, (low, high) in spans:
        if low >= high:
            yield path, f"is [{low:g}, {high:g}]", "must be [from, to], from less than to", "Swap them"


def _openings(file: CourseFile) -> Iterator[Finding]:
    """Every opening over the ground and under the ceiling."""
    ceiling = file.field.ceiling_m
    for number, gate in enumerate(file.gate):
        half, path = gate.tall_m / 2.0, ("gate", number, "height_m")
        if gate.height_m < half:
            given = f"puts {gate.name!r} {half - gate.height_m:.2f} m into the ground"
            yield path, given, f"must be at least {half:g} m", "Raise it"
        if gate.height_m + half > ceiling:
            given = f"puts {gate.name!r} {gate.height_m + half - ceiling:.2f} m over the ceiling"
            yield path, given, f"must be at most {ceiling - half:g} m", "Lower it, or raise field.ceiling_m"


def _inside(file: CourseFile) -> Iterator[Finding]:
    """Gates and start within the limits of the field, to the ends of the openings."""
    places: list[tuple[KeyPath, GateSection | StartSection]] = [(("start",), file.start)]
    places += [(("gate", number), gate) for number, gate in enumerate(file.gate)]
    for path, one in places:
        width = getattr(one, "width_m", 0.0)
        turn = math.radians(one.heading_deg)
        halves = (0.5 * width * abs(math.sin(turn)), 0.5 * width * abs(math.cos(turn)))
        for key, half in zip(("forward_m", "right_m"), halves, strict=True):
            (low, high), value = getattr(file.field, key), getattr(one, key)
            if not low + half - TOUCH_M <= value <= high - half + TOUCH_M:
                reach = f", {half:.2f} m to the end of its opening" if half > 0.0 else ""
                allowed = f"must lie in the field, {low:g} to {high:g} m{reach}"
                yield (*path, key), f"is {value:g}", allowed, "Move it"


def _overlaps(file: CourseFile) -> Iterator[Finding]:
    """No two openings cut through each other."""
    for (_, one), (number, other) in combinations(enumerate(file.gate), 2):
        if _over(_heights(one), _heights(other)) <= TOUCH_M:
            continue
        if segments_apart(*_feet(one, TOUCH_M), *_feet(other, TOUCH_M)) < TOUCH_M:
            given = f"lets {other.name!r} cut through {one.name!r}"
            yield ("gate", number), given, "openings must not overlap", "Move or turn one of them"


def _in_the_way(file: CourseFile) -> Iterator[Finding]:
    """No post and no box in an opening, no start in a box."""
    for number, gate in enumerate(file.gate):
        for post in file.post:
            if _post_in(post, gate):
                given = f"has the post {post.name!r} in the opening of {gate.name!r}"
                yield ("gate", number), given, "an opening must be free", "Move one of them"
        for box in file.box:
            if _box_in(box, gate):
                given = f"has the box {box.name!r} in the opening of {gate.name!r}"
                yield ("gate", number), given, "an opening must be free", "Move one of them"
    start = file.start
    for box in file.box:
        inside = all(low <= getattr(start, key) <= high for key, (low, high) in _sides(box))
        if inside and box.height_m[0] <= start.height_m <= box.height_m[1]:
            yield ("start",), f"is in the box {box.name!r}", "the start must be free", "Move one of them"


def _post_in(post: PostSection, gate: GateSection) -> bool:
    place = np.array([post.forward_m, post.right_m])
    near = segments_apart(*_feet(gate), place, place) < post.radius_m
    return near and _over((0.0, post.height_m), _heights(gate)) > TOUCH_M


def _box_in(box: BoxSection, gate: GateSection) -> bool:
    if _over((box.height_m[0], box.height_m[1]), _heights(gate)) <= TOUCH_M:
        return False
    sides = [span for _, span in _sides(box)]
    low, high = np.array([one[0] for one in sides]), np.array([one[1] for one in sides])
    return segment_meets_rectangle(*_feet(gate, TOUCH_M), low, high)


def _sides(box: BoxSection) -> tuple[tuple[str, tuple[float, ...]], ...]:
    return ("forward_m", box.forward_m), ("right_m", box.right_m)


def _heights(gate: GateSection) -> tuple[float, float]:
    """Lower and upper edge of the opening over the ground [m]."""
    return gate.height_m - gate.tall_m / 2.0, gate.height_m + gate.tall_m / 2.0


def _over(one: tuple[float, float], other: tuple[float, float]) -> float:
    """By how much two spans overlap; negative where they are apart."""
    return min(one[1], other[1]) - max(one[0], other[0])


def _feet(gate: GateSection, short: float = 0.0) -> tuple[Array, Array]:
    """The ends (2,) of the opening seen from above, left and right, each shorter by `short` [m]."""
    turn, half = math.radians(gate.heading_deg), gate.width_m / 2.0 - short
    right = half * np.array([-math.sin(turn), math.cos(turn)])
    middle = np.array([gate.forward_m, gate.right_m])
    return middle - right, middle + right


def segments_apart(a: Array, b: Array, c: Array, d: Array) -> float:
    """Least distance of the segments ab and cd in the plane [m]; 0 where they cross."""
    if _turns(a, b, c) * _turns(a, b, d) < 0.0 and _turns(c, d, a) * _turns(c, d, b) < 0.0:
        return 0.0
    return min(_to_segment(c, a, b), _to_segment(d, a, b), _to_segment(a, c, d), _to_segment(b, c, d))


def _turns(a: Array, b: Array, c: Array) -> float:
    """Twice the signed area of the triangle abc."""
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))


def _to_segment(place: Array, a: Array, b: Array) -> float:
    along = b - a
    square = float(along @ along)
    share = min(max(float((place - a) @ along) / square, 0.0), 1.0) if square > 0.0 else 0.0
    return float(np.linalg.norm(place - a - share * along))


def segment_meets_rectangle(a: Array, b: Array, low: Array, high: Array) -> bool:
    """True when a segment has a point within the open rectangle from `low` to `high` (Liang and Barsky's clipping)."""
    enter, leave = 0.0, 1.0
    for axis in range(2):
        along = float(b[axis] - a[axis])
        if abs(along) < 1e-12:
            if not low[axis] < a[axis] < high[axis]:
                return False
            continue
        ends = sorted(((low[axis] - a[axis]) / along, (high[axis] - a[axis]) / along))
        enter, leave = max(enter, ends[0]), min(leave, ends[1])
    return enter < leave


RULES: tuple[Rule, ...] = (
    ({"gate"}, _names),
    ({"field"}, _spans),
    ({"field", "gate"}, _openings),
    ({"field", "gate", "start"}, _inside),
    ({"field", "gate"}, _overlaps),
    ({"field", "gate", "start"}, _in_the_way),
)
"""Rules with the sections they need."""
