"""Rangefinder that looks down along body z on flat ground: distance = height/cos(tilt)."""

from __future__ import annotations

from quadsim.dynamics.state import X
from quadsim.jit import inner
from quadsim.noise import gauss, sample_key
from quadsim.sensors.inertial import quantised
from quadsim.sensors.place_records import Slow

CHANNEL = 152
"""Channel of the noise."""
UNBOUNDED = 1e9
"""No full scale here: the range is checked on the true distance [m]."""


@inner
def sample_rangefinder(count, slot, x, sensors, carried):
    """Sample number `count`, into the delay line; 0 while it sees no ground."""
    w, i, j, k = x[X.QUATERNION], x[X.QUATERNION + 1], x[X.QUATERNION + 2], x[X.QUATERNION + 3]
    a, b, c = sensors.range_place[0], sensors.range_place[1], sensors.range_place[2]
    upright = 1.0 - 2.0 * (
        i * i + j * j
    )  # cosine of the tilt; the other two are the rest of the third row of body to world
    below = 2.0 * (i * k - w * j) * a + 2.0 * (j * k + w * i) * b + upright * c
    distance = 0.0
    if upright > sensors.range_upright and carried.range_lost == 0.0:
        distance = (-x[X.POSITION + 2] - below) / upright
        if distance < sensors.range_limits[0] or distance > sensors.range_limits[1]:
            distance = 0.0
    if distance > 0.0:
        sigma = sensors.range_noise[0] + sensors.range_noise[1] * distance
        distance += sigma * gauss(sample_key(carried.key, count), CHANNEL + 0)
        distance = max(quantised(distance, sensors.range_step, UNBOUNDED), 0.0)
    carried.slow_line[Slow.RANGEFINDER, slot, 0] = distance


@inner
def give_rangefinder(slot, carried, signals):
    """Hand a sample to the controller."""
    signals.range_count += 1.0
    signals.range_distance = carried.slow_line[Slow.RANGEFINDER, slot, 0]
