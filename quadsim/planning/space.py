"""How deep a place is in what must not be touched: the field's limits, posts and no-fly boxes. Depths in m, positive inside."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
TINY = 1e-12


def depths(course: Any, radius: float, place: Array) -> Iterator[tuple[str, Array, Array]]:
    """What there is at places (n, 3): its name, the depth (n,) of a sphere in it, and the depth's gradient (n, 3)."""
    yield from _field(course.field, radius + course.clearance, place)
    keep = radius + course.clearance
    for post in course.posts:
        yield post.name, *_post(post, keep, place)
    for box in course.boxes:
        yield box.name, *_box(box, keep, place)


def _field(field: Any, radius: float, place: Array) -> Iterator[tuple[str, Array, Array]]:
    for axis in range(3):
        for sign, edge in ((-1.0, field.low[axis]), (1.0, field.high[axis])):
            if not np.isfinite(edge):
                continue
            gradient = np.zeros_like(place)
            gradient[:, axis] = sign
            yield "the field's limit", sign * (place[:, axis] - edge) + radius, gradient


def _post(post: Any, keep: float, place: Array) -> tuple[Array, Array]:
    """An upright cylinder from the ground up."""
    off = place[:, :2] - np.asarray(post.place)
    distance = np.sqrt(np.sum(off * off, axis=1) + TINY)
    side = post.radius + keep - distance
    top = post.height + keep + place[:, 2]
    gradient = np.zeros_like(place)
    gradient[:, :2] = -off / distance[:, None]
    gradient[top < side] = (0.0, 0.0, 1.0)
    return np.minimum(side, top), gradient


def _box(box: Any, keep: float, place: Array) -> tuple[Array, Array]:
    faces = np.concatenate([place - (box.low - keep), (box.high + keep) - place], axis=1)
    nearest = np.argmin(faces, axis=1)
    gradient = np.zeros_like(place)
    gradient[np.arange(len(place)), nearest % 3] = np.where(nearest < 3, 1.0, -1.0)
    return np.min(faces, axis=1), gradient
