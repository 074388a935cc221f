"""The free-running clock of a sensor: samples fall between the ticks of the physics, evenly, by a sensor's own time.

Sample n is taken at n/rate. It belongs to the tick before, which brings state and derivative on to its very time; who reads
takes the newest sample that is old enough. What is due is carried as a tick and a whole number of parts of a tick, so it is
exact after any time and the same whatever the chunks: per tick it costs one compare.
"""

from __future__ import annotations

from enum import IntEnum

import numpy as np

from quadsim.jit import kernel

SAME_INSTANT = 1e-6
"""Share of a sample's interval within which two times count as one: far above rounding, far below anything that matters."""


class Clock(IntEnum):
    """Places in the array of a sensor's clock, see `sensor_clock`."""

    WHOLE = 0
    """Whole ticks from sample to sample."""
    PART = 1
    """And parts of a tick on top."""
    OF = 2
    """Parts that make a tick."""
    SECONDS = 3
    """Length of a part [s]."""
    PER_TICK = 4
    """Samples per tick."""


CLOCK_SIZE = len(Clock)


def sensor_clock(rate_Hz: float, physics_Hz: int, error_ppm: float = 0.0) -> np.ndarray:
    """The clock of a sensor whose rate [Hz] need not divide that of the physics, and which may run fast by some ppm.

    Rates count in whole microhertz, so that all the sums are sums of integers below 2^53.
    """
    micro = round(rate_Hz * (1e6 + error_ppm))
    ticks = physics_Hz * 1_000_000
    whole, part = divmod(ticks, micro)
    return np.array([whole, part, micro, 1.0 / (micro * physics_Hz), micro / ticks])


@kernel
def next_sample(tick, parts, clock):
    """Tick and parts of a tick of the sample after the one at `tick` and `parts`."""
    tick, parts = tick + int(clock[Clock.WHOLE]), parts + clock[Clock.PART]
    if parts >= clock[Clock.OF]:
        tick, parts = tick + 1, parts - clock[Clock.OF]
    return tick, parts


@kernel
def newest_sample(tick, delay, clock):
    """Number of the newest sample that is at least `delay` [ticks] old at `tick`; 0 before there is one."""
    return max(0, int(np.floor((tick - delay) * clock[Clock.PER_TICK] + SAME_INSTANT)))
