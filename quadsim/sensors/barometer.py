"""Height above the take-off point from air pressure: smoothing and white noise (a later model adds wind and wash)."""

from __future__ import annotations

from quadsim.jit import kernel
from quadsim.noise import gauss, sample_key

CHANNEL = 12
"""Channel of the noise."""


@kernel
def sample_barometer(count, height, sensors, carried, signals):
    """Sample number `count` of a height [m], straight to the controller."""
    carried.baro_smooth += sensors.baro_blend * (height - carried.baro_smooth)
    noise = gauss(sample_key(carried.key, count), CHANNEL + 0)  # a literal would compile gauss once more
    signals.baro_height = carried.baro_smooth + sensors.baro_noise * noise
