"""Stick shaping: dead band, cubic exponential, full-stick value; a throttle curve with hover at a chosen stick position.

All formulas are common practice, no source; the numbers that tests compare with follow by arithmetic.
"""

from __future__ import annotations

from controllers.contract import kernel
from controllers.filters import at_most, limit


@kernel
def deadband(x, width):
    """Stick -1..1 with a dead band of `width` about the centre: continuous at the edge, full range kept."""
    if x > width:
        return (x - width) / (1.0 - width)
    if x < -width:
        return (x + width) / (1.0 - width)
    return 0.0


@kernel
def exponential(x, share):
    """Cubic exponential of a stick -1..1: (1 - e) x + e x^3; slope 1 - e at the centre and 1 + 2 e at the ends."""
    return x * (1.0 - share + share * x * x)


@kernel
def shaped(x, width, share):
    """A stick -1..1 with dead band and exponential; full stick stays full."""
    return exponential(deadband(x, width), share)


@kernel
def throttle_curve(x, at, hover, share):
    """Motor command 0..1 for the throttle stick 0..1: `hover` with the stick at `at`, 0 and 1 at its ends.

    Two cubics (1 - e) u + e u^3, u counted from `at`, that meet with one slope: (1 - share) times that of the flatter
    side's straight line. Rises everywhere. The stick itself for `at` of 0 or 1, or without a hover between 0 and 1.
    """
    x = limit(x, 0.0, 1.0)
    if not (0.0 < at < 1.0 and 0.0 < hover < 1.0):
        return x
    below, above = hover / at, (1.0 - hover) / (1.0 - at)
    slope = (1.0 - share) * at_most(below, above)
    if x < at:
        return hover * (1.0 - exponential(1.0 - x / at, 1.0 - slope / below))
    return hover + (1.0 - hover) * exponential((x - at) / (1.0 - at), 1.0 - slope / above)


@kernel
def received(value, trim, steps, low):
    """What arrives of a stick value low..1: trimmed, within its range, in `steps` equal steps over the whole travel."""
    value = limit(value + trim, low, 1.0)
    if steps <= 0.0:
        return value
    step = (1.0 - low) / steps
    return low + step * round((value - low) / step)
