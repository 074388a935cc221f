"""A flight log in SI, and what follows from its columns: attitude as quaternion, velocity, the time in the air."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

EARTH_M = 6371008.8
"""Mean radius of the Earth [m]. IUGG/GRS80, H. Moritz, J. Geodesy 74, 2000, 128-133."""
GAP_ROWS = 5.0
"""Rows that must be missing before it is called a gap; our choice."""
SETTLE_S = 0.3
"""Time about a gap or after the start in which the model's rotors find their speed [s]; many motor time constants."""
FLYING_HEIGHT_M = 0.3
"""Height above the take-off point from which a craft counts as flying [m]; assumed."""


@dataclass
class FlightLog:
    """A log: times [s] from its first row, channels in SI (see `columns.KNOWN`), and what was noticed while reading.

    channels : (n,) or (n, parts); only whole ones, gaps filled where they are short
    """

    path: Path | None
    t_s: Array
    channels: dict[str, Array]
    notes: list[str] = field(default_factory=list)
    unused: list[str] = field(default_factory=list)

    def __contains__(self, name: str) -> bool:
        return name in self.channels

    def __getitem__(self, name: str) -> Array:
        return self.channels[name]

    def __len__(self) -> int:
        return len(self.t_s)

    @property
    def interval_s(self) -> float:
        """Usual time between two rows [s]."""
        return float(np.median(np.diff(self.t_s)))

    @property
    def rate_Hz(self) -> float:
        """Rows per second."""
        return 1.0 / self.interval_s

    @property
    def duration_s(self) -> float:
        """From the first row to the last [s]."""
        return float(self.t_s[-1] - self.t_s[0])

    @property
    def gaps(self) -> list[tuple[float, float]]:
        """Where rows are missing: (from, to) [s]."""
        step = np.diff(self.t_s)
        late = np.flatnonzero(step > GAP_ROWS * self.interval_s)
        return [(float(self.t_s[k]), float(self.t_s[k + 1])) for k in late]

    def flying(self, idle: float) -> Mask:
        """Rows in the air, off the ground, with rotors settled. idle : least motor command while armed [-]"""
        kept = np.ones(len(self), dtype=bool)
        kept &= self.t_s > self.t_s[0] + SETTLE_S
        for begin, end in self.gaps:  # moving means before a gap reach into it
            kept &= (self.t_s < begin - SETTLE_S) | (self.t_s > end + SETTLE_S)
        if "motor" in self:
            kept &= np.mean(self["motor"], axis=1) > idle + 0.02
        if "height" in self:
            kept &= self["height"] > FLYING_HEIGHT_M
        return kept


def settle_channels(log: FlightLog) -> None:
    """What follows from others: attitude from angles, velocity from places, in place."""
    has = log.channels
    if "attitude" not in has and "euler" in has:
        has["attitude"] = from_euler(has["euler"])
    if "attitude" in has:
        size = np.linalg.norm(has["attitude"], axis=1)
        has["attitude"] = continuous(has["attitude"] / np.where(size > 0.0, size, 1.0)[:, None])
        has["euler"] = to_euler(has["attitude"])
    if "position" not in has and "geodetic" in has:
        has["position"] = local_place(has["geodetic"])
    if "velocity" not in has and "position" in has:
        has["velocity"] = _velocity(log)
        log.notes.append(
            "velocity is the slope of the places over half a second: give velocity_north_m_s, velocity_east_m_s"
        )


def local_place(degrees: Array) -> Array:
    """North and east [m] of latitude and longitude [deg] from the first row: the sphere's tangent plane, good for some km."""
    first = degrees[0]
    north = EARTH_M * np.radians(degrees[:, 0] - first[0])
    east = EARTH_M * np.radians(degrees[:, 1] - first[1]) * math.cos(math.radians(float(first[0])))
    return np.stack([north, east], axis=1)


def _velocity(log: FlightLog) -> Array:
    """North-east-down velocity [m/s] of places and height."""
    down = -log["height"] if "height" in log else np.zeros(len(log))
    return _slope(log.t_s, np.column_stack([log["position"], down]))


def climb(log: FlightLog) -> Array:
    """North-east-down velocity [m/s] of a log that has none: the climb alone, which takes thrust; 0 without climb and height."""
    velocity = np.zeros((len(log), 3))
    if "climb_rate" in log:
        velocity[:, 2] = -log["climb_rate"]
    elif "height" in log:
        velocity[:, 2:] = -_slope(log.t_s, log["height"][:, None])
    return velocity


def _slope(t: Array, values: Array) -> Array:
    """By central differences over half a second."""
    half = 0.25
    early, late = np.maximum(t - half, t[0]), np.minimum(t + half, t[-1])
    moved = [np.interp(late, t, one) - np.interp(early, t, one) for one in values.T]
    return np.stack(moved, axis=1) / (late - early)[:, None]


def from_euler(angles: Array) -> Array:
    """Quaternions body to world, scalar first, of roll, pitch, yaw [rad] (n, 3): yaw, then pitch, then roll."""
    (cr, cp, cy), (sr, sp, sy) = np.cos(0.5 * angles).T, np.sin(0.5 * angles).T
    parts = (
        cr * cp * cy + sr * sp * sy, sr * cp * cy - cr * sp * sy,
        cr * sp * cy + sr * cp * sy, cr * cp * sy - sr * sp * cy,
    )  # fmt: skip
    return np.stack(parts, axis=1)


def to_euler(q: Array) -> Array:
    """Roll, pitch, yaw [rad] (n, 3) of quaternions body to world; roll and yaw unwrapped."""
    w, x, y, z = q.T
    roll = np.arctan2(2.0 * (w * x + y * z), 1.0 - 2.0 * (x * x + y * y))
    pitch = np.arcsin(np.clip(2.0 * (w * y - z * x), -1.0, 1.0))
    yaw = np.arctan2(2.0 * (w * z + x * y), 1.0 - 2.0 * (y * y + z * z))
    return np.stack([np.unwrap(roll), pitch, np.unwrap(yaw)], axis=1)


def continuous(q: Array) -> Array:
    """The same turns with signs that do not jump from row to row."""
    flips = np.sum(q[1:] * q[:-1], axis=1) < 0.0
    return q * np.concatenate([[1.0], np.where(np.cumsum(flips) % 2 == 1, -1.0, 1.0)])[:, None]


def to_world(q: Array, v: Array) -> Array:
    """Body vectors (n, 3) in world axes: v + 2 u x (u x v + w v)."""
    u = q[:, 1:]
    inner = np.cross(u, v) + q[:, :1] * v
    return np.asarray(v + 2.0 * np.cross(u, inner))


def to_body(q: Array, v: Array) -> Array:
    """World vectors (n, 3) in body axes."""
    return to_world(q * np.array([1.0, -1.0, -1.0, -1.0]), v)
