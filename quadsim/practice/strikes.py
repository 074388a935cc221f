"""What a craft can hit on a course besides the ground: frames of gates, posts, the net; and no-fly boxes it may enter.

The craft is a flat round body: a disc through its rotor tips, tilted as the craft is. Frames and posts are capsules, so that a
hit is a distance from a line. C. Ericson, Real-Time Collision Detection (2005), sec. 5.1.2, has the closest point on a segment.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from quadsim.config.course import Course, Gate
from quadsim.practice.course_frame import openings

BAR_M = 0.10
"""Thickness of a gate's frame, outside its opening [m]; padded tubes, common practice, no source."""
ON_GROUND_M = 0.15
"""A gate whose opening ends lower than this has no bar below it [m]; assumed."""
STRIDE_M = 0.04
"""Distance between two looks along the way [m]: less than half a bar and the thinnest craft."""


@dataclass(frozen=True)
class Body:
    """The craft as an obstacle meets it."""

    radius_m: float
    """From the middle to the rotor tips."""
    height_m: float
    """From feet to top."""

    def reach(self, along: np.ndarray, down: np.ndarray) -> np.ndarray:
        """How far the body reaches in directions `along` (n, 3), its own down axis being `down` (3,) [m]."""
        cosine = np.clip(np.abs(along @ down), 0.0, 1.0)
        return self.radius_m * np.sqrt(1.0 - cosine**2) + 0.5 * self.height_m * cosine


def body_of(view: dict) -> Body:
    """The body of a craft from the geometry that a run carries (`view`)."""
    rotors = view.get("rotors") or [{"at_m": [0.1, 0.1, 0.0], "radius_m": 0.07}]
    radius = max(float(np.hypot(*r["at_m"][:2])) + r["radius_m"] for r in rotors)
    downs = [r["at_m"][2] for r in rotors] + [foot[2] for foot in view.get("feet_m", ())]
    return Body(radius, max(max(downs) - min(downs), 0.04))


def bars(gate: Gate) -> np.ndarray:
    """Middle lines of a gate's frame, shape (n, 2, 3) [m]: uprights down to the ground, the top, a sill if there is room."""
    half = (gate.width + BAR_M) / 2.0 * gate.right
    top = gate.centre[2] - (gate.height + BAR_M) / 2.0
    low = gate.centre[2] + (gate.height + BAR_M) / 2.0
    middle = np.array([gate.centre[0], gate.centre[1], 0.0])
    up, down = np.array([0.0, 0.0, top]), np.array([0.0, 0.0, low])
    lines = [
        (middle - half + up, middle + half + up),
        (middle - half + up, middle - half),
        (middle + half + up, middle + half),
    ]
    if gate.centre[2] + gate.height / 2.0 < -ON_GROUND_M:
        lines.append((middle - half + down, middle + half + down))
    return np.array(lines)


def struck_words(what: str) -> str:
    """What happened, from what `Obstacles.meet` calls it: a frame is hit, a no-fly box entered, the flying space left."""
    if what.endswith("of the flying space"):
        return f"flew out at {what}"
    return f"entered {what}" if "no-fly box" in what else f"hit {what}"


class Obstacles:
    """Everything on a course that ends a flight when it is touched."""

    def __init__(self, course: Course, body: Body) -> None:
        self.course, self.body = course, body
        segments, names, radii = [], [], []
        for gate in (course.gates[k] for k in sorted(set(openings(course)))):
            for line in bars(gate):
                segments.append(line)
                names.append(f"the frame of {gate.name}")
                radii.append(BAR_M / 2.0)
        for post in course.posts:
            foot = np.array([post.place[0], post.place[1], 0.0])
            segments.append(np.array([foot, foot - [0.0, 0.0, post.height]]))
            names.append(f"the post {post.name}")
            radii.append(post.radius)
        self.segments = np.array(segments).reshape(-1, 2, 3)
        self.names, self.radii = names, np.array(radii)
        self._along = self.segments[:, 1] - self.segments[:, 0]
        self._squared = np.maximum(np.einsum("ij,ij->i", self._along, self._along), 1e-12)

    def meet(self, before: np.ndarray, after: np.ndarray, down: np.ndarray) -> tuple[str, float]:
        """What the craft hits on its way [m, north-east-down], its down axis being `down` (empty when nothing), and the
        least room that was left to a frame or post [m]."""
        count = max(2, int(np.ceil(float(np.linalg.norm(after - before)) / STRIDE_M)) + 1)
        places = before + np.linspace(0.0, 1.0, min(count, 200))[:, None] * (after - before)
        least = np.inf
        if len(self.segments):
            room = self._room(places, down)
            least = float(room.min())
            if least < 0.0:
                first = int(np.argmax((room < 0.0).any(axis=1)))
                return self.names[int(np.argmin(room[first]))], least
        return self._bounds(places, down), least

    def _room(self, places: np.ndarray, down: np.ndarray) -> np.ndarray:
        """Room between the craft at some places (k, 3) and each line (n,), shape (k, n) [m]; negative inside."""
        off = places[:, None] - self.segments[:, 0]
        share = np.clip(np.einsum("kij,ij->ki", off, self._along) / self._squared, 0.0, 1.0)
        off -= share[..., None] * self._along
        distance = np.linalg.norm(off, axis=2)
        unit = off / np.maximum(distance, 1e-9)[..., None]
        return distance - self.radii - self.body.reach(unit, down)

    def _bounds(self, places: np.ndarray, down: np.ndarray) -> str:
        reach = self.body.reach(np.eye(3), down)
        field = self.course.field
        out_low, out_high = (
            (places - reach < field.low).any(axis=0),
            (places + reach > field.high).any(axis=0),
        )
        if out_low[:2].any() or out_high[:2].any():
            return "the edge of the flying space"
        if out_low[2]:
            return "the top of the flying space"
        for box in self.course.boxes:
            inside = (places + reach > box.low) & (places - reach < box.high)
            if inside.all(axis=1).any():
                return f"the no-fly box {box.name}"
        return ""
