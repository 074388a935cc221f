"""How the inertial sensor stands when a flight begins."""

from __future__ import annotations

from typing import Any

import numpy as np

CALIBRATED = 0.05
"""Share of the gyro's bias that is left in a flight that starts in the air: flight controllers measure the bias at rest before
take-off (common practice); what remains is assumed."""


def start_inertial(seed: int, airborne: bool, gravity: float, sensors: Any, carried: Any) -> None:
    """Turn-on biases, flicker already wandering with its full variance, filters settled at rest and level.

    In the air the gyro is taken as calibrated: what it read at rest, g-sensitivity included, is gone but for CALIBRATED.
    """
    variance = 1.0 - np.asarray(sensors.flicker_keep) ** 2
    spread = [np.sqrt(np.asarray(kick) ** 2 / variance) for kick in (sensors.gyro_kick, sensors.accel_kick)]
    draws = np.random.default_rng([int(seed), 0x54]).standard_normal((2, 3, variance.size))
    carried.gyro_flicker[:], carried.accel_flicker[:] = draws[0] * spread[0], draws[1] * spread[1]
    at_rest = np.array([0.0, 0.0, -gravity])
    leaning = np.asarray(sensors.gyro_g) @ at_rest
    bias = np.asarray(sensors.gyro_bias) + np.sum(carried.gyro_flicker, axis=1)
    carried.gyro_bias[:] = CALIBRATED * (bias + leaning) - leaning if airborne else bias
    carried.accel_bias[:] = np.asarray(sensors.accel_bias) + np.sum(carried.accel_flicker, axis=1)
    carried.gyro_smooth[:] = leaning
    carried.accel_smooth[:] = np.asarray(sensors.accel_matrix) @ at_rest
    carried.gyro_line[:] = np.asarray(carried.gyro_smooth) + carried.gyro_bias
    carried.accel_line[:] = np.asarray(carried.accel_smooth) + carried.accel_bias
