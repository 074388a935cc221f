"""Pinhole camera: world points (north-east-down) to pixels, and clipping at its near plane.

Camera axes are right, down, forward; u = cx + f x/z, v = cy + f y/z. R. Hartley, A. Zisserman, Multiple View Geometry
in Computer Vision (2nd ed., 2004), sec. 6.1.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

NEAR = 0.02
"""Nothing nearer than this is drawn [m]."""


@dataclass(frozen=True)
class Camera:
    """A camera and the picture it makes.

    Parameters
    ----------
    position : shape (3,) [m], world
    axes : shape (3, 3), rows are the camera's right, down and forward in the world
    focal_px : focal length in pixels
    size : width and height of the picture [px]
    """

    position: np.ndarray
    axes: np.ndarray
    focal_px: float
    size: tuple[int, int]
    aside_px: float = 0.0
    """How far right of the middle of the picture the camera looks."""

    @property
    def centre(self) -> tuple[float, float]:
        """Pixel that looks straight ahead."""
        return self.size[0] / 2.0 + self.aside_px, self.size[1] / 2.0

    def to_camera(self, points: np.ndarray) -> np.ndarray:
        """World points (..., 3) in camera axes [m]."""
        return (np.asarray(points, float) - self.position) @ self.axes.T

    def to_pixels(self, seen: np.ndarray) -> np.ndarray:
        """Pixels (..., 2) of points (..., 3) in camera axes, all of them in front of the near plane."""
        depth = np.maximum(seen[..., 2:3], NEAR)
        return np.asarray(self.centre) + self.focal_px * seen[..., :2] / depth

    def project(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Pixels (..., 2) and depth (...) [m] of world points; a depth below NEAR is not in the picture."""
        seen = self.to_camera(points)
        return self.to_pixels(seen), seen[..., 2]

    def segments(self, a: np.ndarray, b: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Segments a-b (n, 3) cut at the near plane: pixels of both ends (n, 2) each, and which can be seen (n,)."""
        p, q = self.to_camera(a), self.to_camera(b)
        shown = (p[:, 2] > NEAR) | (q[:, 2] > NEAR)
        drop = q[:, 2] - p[:, 2]
        share = np.clip((NEAR - p[:, 2]) / np.where(np.abs(drop) < 1e-12, 1.0, drop), 0.0, 1.0)[:, None]
        cut = p + share * (q - p)
        p, q = np.where(p[:, 2:3] < NEAR, cut, p), np.where(q[:, 2:3] < NEAR, cut, q)
        return self.to_pixels(p), self.to_pixels(q), shown


def clip_to_picture(
    p: np.ndarray, q: np.ndarray, size: tuple[int, int]
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Cut segments p-q (n, 2) [px] at the edges of the picture; also which of them are in it (n,).

    Y.-D. Liang, B. Barsky, ACM Transactions on Graphics 3(1), 1984.
    """
    d = q - p
    slow = np.where(np.abs(d) < 1e-9, 1e-9, d)  # along an edge: far before and far behind, or never inside
    t0, t1 = -p / slow, (np.asarray(size, float) - p) / slow
    enters, leaves = np.minimum(t0, t1), np.maximum(t0, t1)
    enter = np.maximum(np.maximum(enters[:, 0], enters[:, 1]), 0.0)
    leave = np.minimum(np.minimum(leaves[:, 0], leaves[:, 1]), 1.0)
    return p + enter[:, None] * d, p + leave[:, None] * d, enter <= leave


def focal(size: tuple[int, int], view_deg: float) -> float:
    """Focal length [px] that shows `view_deg` over the height of the picture."""
    return size[1] / 2.0 / math.tan(math.radians(view_deg) / 2.0)


def look_at(position: np.ndarray, target: np.ndarray, up: np.ndarray) -> np.ndarray:
    """Camera axes (3, 3) at `position` looking at `target` with `up` (world, not along the view) upwards."""
    forward = np.asarray(target, float) - position
    forward = forward / max(float(np.linalg.norm(forward)), 1e-12)
    right = np.cross(forward, up)
    right = right / max(float(np.linalg.norm(right)), 1e-12)
    return np.array([right, np.cross(forward, right), forward])


def clip_half_plane(
    polygon: list[tuple[float, float]], a: float, b: float, c: float
) -> list[tuple[float, float]]:
    """Part of a convex polygon with a u + b v + c >= 0 (I. Sutherland, G. Hodgman, CACM 17(1), 1974)."""
    kept: list[tuple[float, float]] = []
    for k, (u1, v1) in enumerate(polygon):
        u0, v0 = polygon[k - 1]
        d0, d1 = a * u0 + b * v0 + c, a * u1 + b * v1 + c
        if (d0 >= 0.0) != (d1 >= 0.0):
            s = d0 / (d0 - d1)
            kept.append((u0 + s * (u1 - u0), v0 + s * (v1 - v0)))
        if d1 >= 0.0:
            kept.append((u1, v1))
    return kept
