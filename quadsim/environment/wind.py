"""Wind: a steady mean and discrete gusts, as a velocity of the air in north-east-down axes."""

from __future__ import annotations

import math

from quadsim.jit import kernel


@kernel
def one_minus_cosine(since, duration):
    """Share of the peak of a 1-cosine gust `since` its start [s]: (1 - cos(2 pi t/T))/2, back to zero at `duration`.

    The form that returns to zero, as in CS-23/FAR 23.333(c) discrete gusts (T = 2H/V); the military form of
    MIL-F-8785C sec. 3.7.1.3 holds its peak and is another thing.
    """
    if since <= 0.0 or since >= duration:
        return 0.0
    return 0.5 * (1.0 - math.cos(2.0 * math.pi * since / duration))


@kernel
def wind_at(t, steady, gusts, held):
    """Write the wind at time t [s] into `held.wind`: `steady` (3,) plus every gust of the record array `gusts`."""
    n, e, d = steady[0], steady[1], steady[2]
    for k in range(gusts.shape[0]):
        gust = gusts[k]
        share = one_minus_cosine(t - gust.start, gust.duration)
        if share > 0.0:
            n += share * gust.velocity[0]
            e += share * gust.velocity[1]
            d += share * gust.velocity[2]
    held.wind[0], held.wind[1], held.wind[2] = n, e, d
