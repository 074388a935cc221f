"""How the bias of gyroscope and accelerometer wanders: bias instability (flicker) and a random walk.

Flicker noise is made of three first-order Gauss-Markov processes with correlation times a decade apart and the same variance:
their spectra add up to 1/f in between (J. Barnes & S. Jarvis, Efficient numerical and analog modeling of flicker noise
processes, NBS Technical Note 604 (1971), do the same with a cascade; from memory), so the Allan deviation shows a floor.
"""

from __future__ import annotations

from quadsim.jit import kernel
from quadsim.noise import gauss
from quadsim.sensors.records import FLICKERS

WALK_EVERY = 64
"""Samples between two steps of the bias; `resolve` scales the steps, so the noise is the same whatever this is."""
CHANNEL = 64
"""First of the channels of the flicker processes: 64 to 81."""


@kernel
def wander(key, sensors, carried):
    """One step of every bias, with the draws of the sample `key`; walk: channels 6 to 11."""
    for k in range(3):
        carried.gyro_bias[k] += sensors.gyro_walk * gauss(key, 6 + k)
        carried.accel_bias[k] += sensors.accel_walk * gauss(key, 9 + k)
        for j in range(FLICKERS):
            keep, channel = sensors.flicker_keep[j], CHANNEL + 6 * j + k
            before = carried.gyro_flicker[k, j]
            carried.gyro_flicker[k, j] = keep * before + sensors.gyro_kick[j] * gauss(key, channel)
            carried.gyro_bias[k] += carried.gyro_flicker[k, j] - before
            before = carried.accel_flicker[k, j]
            carried.accel_flicker[k, j] = keep * before + sensors.accel_kick[j] * gauss(key, channel + 3)
            carried.accel_bias[k] += carried.accel_flicker[k, j] - before
