"""Where names stand on a plan so that they cover little of what is drawn there."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from quadsim.report.page import mm, width_of

Array = NDArray[np.float64]

AROUND = 16
"""Places around a thing that are looked at."""
ON_A_NAME = 30.0
"""What it costs to touch another name, in points that are covered."""


def label_places(
    names: Sequence[str], middles: Array, reach: float, drawn: Array, metres_per_mm: float, size: float
) -> list[Array]:
    """Middles (2,) of names beside things: of the places around each the one that covers least, one name after the other.

    middles : of the things (n, 2) [m]; reach : kept from them [m]; drawn : points that should stay free (m, 2) [m]
    size : of the letters [pt]
    """
    found: list[tuple[Array, Array]] = []
    for name, middle in zip(names, middles, strict=True):
        half = 0.5 * metres_per_mm * np.array([width_of(name, size, True) + 1.2, 1.5 * mm(size)])
        turns = 2.0 * math.pi * np.arange(AROUND) / AROUND
        places = [middle + np.array([math.cos(one), math.sin(one)]) * (reach + half) for one in turns]
        found.append((min(places, key=lambda at, half=half: _covered(at, half, drawn, found)), half))  # type: ignore[misc]
    return [at for at, _ in found]


def _covered(at: Array, half: Array, drawn: Array, names: list[tuple[Array, Array]]) -> float:
    """What a name at a place with half its width and height covers."""
    points = np.count_nonzero(np.all(np.abs(drawn - at) < half, axis=1))
    touched = sum(bool(np.all(np.abs(other - at) < half + size)) for other, size in names)
    return float(points) + ON_A_NAME * touched
