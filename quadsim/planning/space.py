"""How deep a place is in what must not be touched: the field's limits, posts and no-fly boxes. Depths in m, positive inside."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
TINY = 1e-12


Gradient = Callable[[], Array]


def depths(course: Any, radius: float, place: Array) -> Iterator[tuple[str, Array, Gradient]]:
    """What there is at places (n, 3): its name, the depth (n,) of a sphere in it with the declared clearance around, and what
    makes the depth's gradient (n, 3)."""
    keep = radius + course.clearance
    for axis in range(3):
        yield "the field's limit", *_edge(place, axis, -1.0, course.field.low[axis], keep)
        yield "the field's limit", *_edge(place, axis, 1.0, course.field.high[axis], keep)
    for post in course.posts:
        yield f"the post {post.name!r}", *_post(post, keep, place)
    for box in course.boxes:
        yield f"the box {box.name!r}", *_box(box, keep, place)


def _edge(place: Array, axis: int, sign: float, edge: float, keep: float) -> tuple[Array, Gradient]:
    def gradient() -> Array:
        found = np.zeros_like(place)
        found[:, axis] = sign
        return found

    return sign * (place[:, axis] - edge) + keep, gradient


def _post(post: Any, keep: float, place: Array) -> tuple[Array, Gradient]:
    """An upright cylinder from the ground up."""
    off = place[:, :2] - np.asarray(post.place)
    distance = np.sqrt(np.sum(off * off, axis=1) + TINY)
    side = post.radius + keep - distance
    top = post.height + keep + place[:, 2]

    def gradient() -> Array:
        found = np.zeros_like(place)
        found[:, :2] = -off / distance[:, None]
        found[top < side] = (0.0, 0.0, 1.0)
        return found

    return np.minimum(side, top), gradient


def _box(box: Any, keep: float, place: Array) -> tuple[Array, Gradient]:
    faces = np.concatenate([place - (box.low - keep), (box.high + keep) - place], axis=1)

    def gradient() -> Array:
        nearest, found = np.argmin(faces, axis=1), np.zeros_like(place)
        found[np.arange(len(place)), nearest % 3] = np.where(nearest < 3, 1.0, -1.0)
        return found

    return np.min(faces, axis=1), gradient
