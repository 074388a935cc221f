"""How far the present gains are from the edges of a gain map: along each gain, up and down, and the nearest in any direction."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import RegularGridInterpolator

from quadsim.analysis.gain_axes import GainAxis
from quadsim.analysis.gain_map import Field, GainMap

Array = NDArray[np.float64]

ALONG = 33
"""Points from the present gain to the end of its range; and again between the two where the edge lies."""
FINE = 161
"""Points of each gain where the nearest edge is looked for, between those of the grid."""
SAFE, STABLE = 1.0, 0.0
"""Reserve at the edge of what is safe, and of what is stable."""


@dataclass(frozen=True)
class Edge:
    """Where one gain, the other as it is, comes to an edge.

    gain : name
    way : "up" or "down"
    kind : "safe" or "stable"
    leaving : True where the present gains are on the good side
    value : of the gain at the edge; None when there is none up to `looked_to`
    ratio_dB : value over the present one; None without a value, or when the present one is zero
    condition, loop : in words, what is at its limit there
    """

    gain: str
    unit: str
    way: str
    kind: str
    leaving: bool
    value: float | None
    looked_to: float
    ratio_dB: float | None
    condition: str | None
    loop: str | None


@dataclass(frozen=True)
class Nearest:
    """The nearest point on the edge of the safe region, both gains varied; distance_dB of both ratios, root of squares."""

    values: tuple[float, float]
    distance_dB: float
    leaving: bool


@dataclass(frozen=True)
class Best:
    """The grid point within the safe region that rejects disturbances best."""

    values: tuple[float, float]
    sway_deg: float
    crossover_Hz: float


def edges(found: GainMap) -> list[Edge]:
    """Edges of the safe and of the stable region along each gain, up and down."""
    return [
        _edge(found, which, way, kind, level)
        for which in (0, 1)
        for way in ("up", "down")
        for kind, level in (("safe", SAFE), ("stable", STABLE))
    ]


def _edge(found: GainMap, which: int, way: str, kind: str, level: float) -> Edge:
    axis = found.axes[which]
    end = axis.knob.high if way == "up" else axis.knob.low
    seen = _first_change(found, which, axis.present, end, level)
    leaving = bool(found.now.reserve[0] >= level)
    if seen is None:
        return Edge(axis.name, axis.unit, way, kind, leaving, None, end, None, None, None)
    value, at = seen
    words = found.conditions[int(at.condition[0])].words
    loop = found.loops[int(at.loop[0])]
    return Edge(axis.name, axis.unit, way, kind, leaving, value, end, axis.ratio_dB(value), words, loop)


def _first_change(
    found: GainMap, which: int, start: float, end: float, level: float
) -> tuple[float, Field] | None:
    """The value nearest to `start` at which the reserve passes a level, and the field there."""
    if start == end:
        return None
    for _ in range(2):
        values = _steps(found.axes[which], start, end)
        reserve = found.at(_points(found, which, values)).reserve
        changes = np.flatnonzero((reserve[1:] >= level) != (reserve[0] >= level))
        if not changes.size:
            return None
        k = int(changes[0])
        start, end = float(values[k]), float(values[k + 1])
    share = (level - reserve[k]) / (reserve[k + 1] - reserve[k])
    value = start + float(np.clip(share, 0.0, 1.0)) * (end - start)
    return value, found.at(_points(found, which, np.array([value])))


def _steps(axis: GainAxis, start: float, end: float) -> Array:
    steps: Callable[..., Array] = np.geomspace if min(start, end) > 0.0 else np.linspace
    return steps(start, end, ALONG)


def _points(found: GainMap, which: int, values: Array) -> Array:
    """Points (points, 2): one gain at values, the other as it is."""
    points = np.tile([axis.present for axis in found.axes], (len(values), 1))
    points[:, which] = values
    return points


def nearest_edge(found: GainMap) -> Nearest | None:
    """The nearest edge of the safe region on the map; None when all of it is alike, or a range takes in zero."""
    if not all(axis.logarithmic for axis in found.axes):
        return None
    first, second = (_decibels(axis, axis.values) for axis in found.axes)
    # straight between grid points, and no farther than where both kinds of limit matter
    field = RegularGridInterpolator((first, second), np.clip(found.grid.reserve, -1.0, 3.0))
    x, y = np.meshgrid(*(np.linspace(one[0], one[-1], FINE) for one in (first, second)), indexing="ij")
    leaving = bool(found.now.reserve[0] >= SAFE)
    other = (field((x, y)) >= SAFE) != leaving
    if not np.any(other):
        return None
    away = np.where(other, np.hypot(x, y), math.inf)
    k = np.unravel_index(np.argmin(away), away.shape)
    one, two = found.axes
    values = one.present * 10.0 ** (x[k] / 20.0), two.present * 10.0 ** (y[k] / 20.0)
    return Nearest((float(values[0]), float(values[1])), float(away[k]), leaving)


def _decibels(axis: GainAxis, values: Array) -> Array:
    return np.asarray(20.0 * np.log10(values / axis.present))


def best_point(found: GainMap) -> Best | None:
    """The best of the grid; None when no point is safe or nothing tells how well a disturbance is rejected."""
    safe = (found.grid.reserve >= SAFE) & np.isfinite(found.grid.sway_deg)
    if not np.any(safe):
        return None
    k = np.unravel_index(np.argmin(np.where(safe, found.grid.sway_deg, math.inf)), safe.shape)
    one, two = (float(axis.values[n]) for axis, n in zip(found.axes, k, strict=True))
    return Best((one, two), float(found.grid.sway_deg[k]), float(found.grid.crossover_Hz[k]))
