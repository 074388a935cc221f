"""Errors of the inertial sensor from keys to SI: scale, misalignment, g-sensitivity, flicker noise."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.sensors.records import FLICKERS

Array = NDArray[np.float64]

FLICKER_S = 10.0 ** np.arange(FLICKERS)
"""Correlation times of the flicker processes [s]: a floor from about 2 to 200 s, where the Allan plots of small sensors have
theirs (common practice, no source)."""
FLICKER_GAIN = 1.05
"""Three processes end where flicker noise goes on: with this gain the Allan deviation lies 4 % below the floor at 2 s, 4 % above
it at 20 s, 6 % below it at 200 s (computed)."""


@dataclass(frozen=True)
class Draws:
    """Standard normal draws of one specimen: scale (3,), misalignment (3, 3) off the diagonal, g-sensitivity (3, 3)."""

    scale: Array
    misalignment: Array
    g: Array


def draw_errors(seed: int) -> tuple[Draws, Draws]:
    """Draws of the gyroscope's and of the accelerometer's errors, the specimen that belongs to `seed`."""
    generator = np.random.default_rng([int(seed), 0x53])
    return tuple(  # type: ignore[return-value]
        Draws(generator.standard_normal(3), generator.standard_normal((3, 3)), generator.standard_normal((3, 3)))
        for _ in range(2)
    )


def reading_matrix(mounting: Array, scale: float, misalignment: float, draws: Draws) -> Array:
    """Body axes to reading (3, 3): (1 + scale error) (input axes, each tilted by two small angles) (mounting).

    Input axis misalignment and scale factor error as in IEEE Std 528; `scale` [-] and `misalignment` [rad] are standard
    deviations. Axis k reads its own component and the tilt times each of the other two.
    """
    tilts = misalignment * draws.misalignment * (1.0 - np.eye(3))
    return np.diag(1.0 + scale * draws.scale) @ (np.eye(3) + tilts) @ mounting


def flicker_keep(rate_Hz: float, every: int) -> Array:
    """Share of each process that one step leaves, exp(-dt/T), dt = every/rate."""
    return np.exp(-every / (rate_Hz * FLICKER_S))


def flicker_sigma(instability: float) -> float:
    """Standard deviation of each process for a bias instability B: B sqrt(ln 10/pi) times FLICKER_GAIN.

    Processes of one variance s^2 with correlation times a factor r apart add up to the two-sided spectrum
    s^2 pi/(ln r)/(2 pi f): integral of 2 s^2 T/(1 + (2 pi f T)^2) over d ln T, over ln r.
    """
    return FLICKER_GAIN * instability * math.sqrt(math.log(10.0) / math.pi)


def flicker_kick(instability: float, keep: Array) -> Array:
    """Standard deviation of the draw of one step, which keeps the variance: s sqrt(1 - keep^2)."""
    return flicker_sigma(instability) * np.sqrt(1.0 - keep**2)
