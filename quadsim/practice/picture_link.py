"""The way of the picture: its age on the pilot's screen, and times at which it stands still."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from quadsim.config.camera_schema import PilotCamera
from quadsim.config.sticks_schema import StickLink
from quadsim.units import MILLI


@dataclass(frozen=True)
class Shown:
    """Which moment of the flight is on the screen [s], and whether the picture stands still."""

    t_s: float
    frozen: bool


def shown(t_s: float, video: PilotCamera, seed: int) -> Shown:
    """What a pilot sees at time `t_s` of the flight who flies by the picture.

    Every span of 1/rate has one drop-out, at a time left to chance that belongs to the span and the seed.
    """
    delay, frozen_since = video.delay_ms * MILLI, None
    if video.dropouts_per_min > 0.0:
        span = 60.0 / video.dropouts_per_min
        length = min(video.dropout_ms * MILLI, 0.9 * span)
        number = math.floor(t_s / span)
        begin = (number + _chance(seed, number) * (1.0 - length / span)) * span
        frozen_since = begin if begin <= t_s < begin + length else None
    now = t_s if frozen_since is None else frozen_since
    return Shown(max(now - delay, 0.0), frozen_since is not None)


@lru_cache(maxsize=64)
def _chance(seed: int, number: int) -> float:
    """A number 0..1 that belongs to a span."""
    return float(np.random.default_rng([int(seed), max(number, 0), 0x71D]).random())


def stick_age_s(link: StickLink) -> float:
    """Mean age of a stick position when the flight controller acts on it [s]: delay, and half an interval of waiting."""
    return link.delay_ms * MILLI + 0.5 / link.rate_Hz
