"""The four cameras: where each stands and what it looks at, from the flight and the time alone."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from quadsim.errors import InputError
from quadsim.units import DEG
from quadsim.viewer.projection import Camera, focal, look_at
from quadsim.viewer.track import Moment, Track

UP = np.array([0.0, 0.0, -1.0])
HEADING_WINDOW_S = 0.8
"""The chase camera follows the mean heading over this time, so that it does not shake; taste, no source."""
EYE_M = 1.7
"""Height of the eyes of someone who stands in the field [m]; common practice, no source."""


@dataclass(frozen=True)
class Orbit:
    """What the mouse has changed: turn around the craft, lift above it, and distance as a factor."""

    turn_deg: float = 0.0
    lift_deg: float = 0.0
    zoom: float = 1.0


@dataclass(frozen=True)
class Shot:
    """What a camera is asked for. `span_m` is the greatest width of the craft, `size` the picture [px]."""

    track: Track
    moment: Moment
    span_m: float
    size: tuple[int, int]
    orbit: Orbit


def chase(shot: Shot) -> Camera:
    """Behind and above the craft, looking the way its nose points; farther back when a load hangs on a line."""
    bearing = _mean_heading(shot.track, shot.moment.t_s) + shot.orbit.turn_deg * DEG
    lift = min(max(17.0 + shot.orbit.lift_deg, -60.0), 85.0) * DEG
    reach = shot.track.line_reach_m(shot.moment.t_s)
    distance = (3.0 * shot.span_m + 0.9 * reach) * shot.orbit.zoom
    target = shot.moment.position + np.array([0.0, 0.0, -0.12 * shot.span_m + 0.5 * reach])
    back = np.array(
        [-math.cos(bearing) * math.cos(lift), -math.sin(bearing) * math.cos(lift), -math.sin(lift)]
    )
    position = target + distance * back
    position[2] = min(position[2], -0.25 * shot.span_m)
    return Camera(position, look_at(position, target, UP), focal(shot.size, 42.0), shot.size)


def fixed(shot: Shot) -> Camera:
    """From someone standing beside the take-off point, who turns after the craft and keeps the horizon in view."""
    start = shot.track["position"][0]
    turn = (225.0 + shot.orbit.turn_deg) * DEG
    away = max(7.0, 20.0 * shot.span_m)
    position = np.array([start[0] + away * math.cos(turn), start[1] + away * math.sin(turn), -EYE_M])
    sight = shot.moment.position - position
    over_ground = max(math.hypot(sight[0], sight[1]), 0.1)
    elevation = math.atan2(-sight[2], over_ground)
    view = min(max(2.5 * abs(elevation) / DEG, 24.0), 64.0) * shot.orbit.zoom
    aim = elevation - math.copysign(min(abs(elevation), 0.3 * view * DEG), elevation)
    target = position + np.array([sight[0], sight[1], -over_ground * math.tan(aim)])
    return Camera(
        position, look_at(position, target, UP), focal(shot.size, min(max(view, 6.0), 90.0)), shot.size
    )


def onboard(shot: Shot) -> Camera:
    """On the craft, above its middle, tilted up a little; the front rotors stand at the edge of the picture."""
    place = np.array([-0.22, 0.0, -0.24]) * shot.span_m
    tilt = (4.0 + shot.orbit.lift_deg) * DEG
    mount = np.array(
        [[0.0, 1.0, 0.0], [math.sin(tilt), 0.0, math.cos(tilt)], [math.cos(tilt), 0.0, -math.sin(tilt)]]
    )
    position = shot.moment.position + shot.moment.rotation @ place
    return Camera(position, mount @ shot.moment.rotation.T, focal(shot.size, 68.0), shot.size)


def top(shot: Shot) -> Camera:
    """Straight from above, north upwards."""
    position = shot.moment.position + np.array([0.0, 0.0, -max(2.5, 8.0 * shot.span_m) * shot.orbit.zoom])
    axes = np.array([[0.0, 1.0, 0.0], [-1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
    return Camera(position, axes, focal(shot.size, 42.0), shot.size)


CAMERAS: dict[str, Callable[[Shot], Camera]] = {
    "chase": chase,
    "fixed": fixed,
    "onboard": onboard,
    "top": top,
}
WORDS = {
    "chase": "chase camera",
    "fixed": "from the take-off point",
    "onboard": "on board",
    "top": "from above, north up",
}


def check_camera(name: str) -> str:
    """`name`, or InputError naming the known cameras."""
    if name not in CAMERAS:
        raise InputError(f"the camera is {name!r}; must be one of {', '.join(CAMERAS)}")
    return name


def _mean_heading(track: Track, t_s: float) -> float:
    """Direction of the nose over ground, averaged over the last HEADING_WINDOW_S [rad]."""
    last = track.index(t_s)
    first = track.index(t_s - HEADING_WINDOW_S)
    w, x, y, z = track["quaternion"][first : last + 1].T
    north, east = 1.0 - 2.0 * (y * y + z * z), 2.0 * (x * y + w * z)
    return math.atan2(float(np.mean(east)), float(np.mean(north)))
