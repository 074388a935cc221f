"""How deep a place is in what must not be touched: the field's limits, posts and no-fly boxes. Depths in m, positive inside."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def depths(course: Any, radius: float, place: Array) -> Iterator[tuple[str, Array]]:
    """What there is at places (n, 3): its name, and the depth (n,) of a sphere in it with the declared clearance around."""
    keep = radius + course.clearance
    for axis in range(3):
        yield "the field's limit", course.field.low[axis] - place[:, axis] + keep
        yield "the field's limit", place[:, axis] - course.field.high[axis] + keep
    for post in course.posts:  # an upright cylinder from the ground up
        side = post.radius + keep - np.linalg.norm(place[:, :2] - np.asarray(post.place), axis=1)
        yield f"the post {post.name!r}", np.minimum(side, post.height + keep + place[:, 2])
    for box in course.boxes:
        faces = np.concatenate([place - (box.low - keep), (box.high + keep) - place], axis=1)
        yield f"the box {box.name!r}", np.min(faces, axis=1)


def obstacle_rows(course: Any) -> tuple[NDArray[np.int64], Array]:
    """The same as `depths` gives, in its order, for the kernels: kinds (n,) and numbers (n, 6) of each."""
    from quadsim.planning.look_kernels import BOX, EDGE, POST

    rows: list[tuple[int, tuple[float, ...]]] = []
    for axis in range(3):
        rows += [(EDGE, (axis, -1.0, course.field.low[axis], 0.0, 0.0, 0.0))]
        rows += [(EDGE, (axis, 1.0, course.field.high[axis], 0.0, 0.0, 0.0))]
    rows += [(POST, (*one.place, one.height, one.radius, 0.0, 0.0)) for one in course.posts]
    rows += [(BOX, (*one.low, *one.high)) for one in course.boxes]
    return np.array([kind for kind, _ in rows]), np.array([row for _, row in rows], float)
