"""Filters for control blocks, each in its correct discrete form: coefficients from the cut-off, and one step.

References
----------
K. J. Astrom, B. Wittenmark, Computer-Controlled Systems, 3rd ed. (1997), ch. 8 (approximating continuous controllers).
R. Bristow-Johnson, Audio EQ Cookbook, W3C Group Note (2021), low-pass and notch; with Q = 1/sqrt(2) it is the second-order
Butterworth filter by the bilinear transform, prewarped at the cut-off.
"""

from __future__ import annotations

import math

from controllers.contract import kernel

HIGHEST_SHARE = 0.45
"""Greatest cut-off as a share of the sampling frequency; above it the bilinear form degenerates. Assumed."""


@kernel
def limit(value, low, high):
    """Value brought within low and high; NaN stays NaN."""
    if value > high:
        return high
    return low if value < low else value


@kernel
def at_most(value, high):
    """The lesser of two numbers (compiles five times faster than `min`)."""
    return high if value > high else value


@kernel
def at_least(value, low):
    """The greater of two numbers."""
    return low if value < low else value


@kernel
def first_order_share(cutoff, dt):
    """Share a of y += a (x - y) for a first-order low-pass of `cutoff` [Hz]: 1 - exp(-2 pi f dt), exact for held x."""
    return 1.0 - math.exp(-2.0 * math.pi * cutoff * dt)


@kernel
def second_order_low_pass(share):
    """Coefficients (b0, a1, a2) of a Butterworth low-pass with its cut-off at `share` of the sampling frequency.

    b1 = 2 b0 and b2 = b0. The share is kept below HIGHEST_SHARE.
    """
    t = math.tan(math.pi * limit(share, 0.0, HIGHEST_SHARE))
    scale = 1.0 / (1.0 + math.sqrt(2.0) * t + t * t)
    return t * t * scale, 2.0 * (t * t - 1.0) * scale, (1.0 - math.sqrt(2.0) * t + t * t) * scale


@kernel
def second_order_step(x, b0, a1, a2, z1, z2):
    """One step of that low-pass, transposed direct form II: output and the two new states."""
    y = b0 * x + z1
    return y, 2.0 * b0 * x - a1 * y + z2, b0 * x - a2 * y


@kernel
def second_order_rest(value, b0, a1, a2):
    """States of that low-pass when it has rested at `value`: no transient at the first step."""
    z2 = (b0 - a2) * value
    return (2.0 * b0 - a1) * value + z2, z2


@kernel
def notch(share, q):
    """Coefficients (b0, b1, a2) of a notch at `share` of the sampling frequency; b2 = b0 and a1 = b1.

    Bilinear transform of (s^2 + 1)/(s^2 + s/Q + 1), prewarped at the notch: Q is that of the analogue prototype (Audio EQ
    Cookbook). Gain 0 at the notch, 1 at zero and at half the sampling frequency.
    """
    w = 2.0 * math.pi * limit(share, 1e-6, HIGHEST_SHARE)
    alpha = math.sin(w) / (2.0 * at_least(q, 1e-3))
    scale = 1.0 / (1.0 + alpha)
    return scale, -2.0 * math.cos(w) * scale, (1.0 - alpha) * scale


@kernel
def notch_step(x, b0, b1, a2, z1, z2):
    """One step of that notch, transposed direct form II: output and the two new states."""
    y = b0 * x + z1
    return y, b1 * (x - y) + z2, b0 * x - a2 * y


@kernel
def delay_step(x, samples, memory, first, size):
    """`x` as it was `samples` runs ago, between two runs by straight line.

    The buffer is `memory[first : first + size]` and the place to write next `memory[first + size]`; at most size - 2 runs.
    """
    at = int(memory[first + size])
    memory[first + at] = x
    memory[first + size] = (at + 1) % size
    back = limit(samples, 0.0, size - 2.0)
    whole = int(back)
    near, far = memory[first + (at - whole) % size], memory[first + (at - whole - 1) % size]
    return near + (back - whole) * (far - near)


@kernel
def derivative_shares(time_constant, dt):
    """Factors (on the last derivative, on the change since) of s/(1 + s T) by backward differences; never rings."""
    scale = 1.0 / at_least(time_constant + dt, 1e-9)
    return time_constant * scale, scale


@kernel
def slew(value, wanted, rate, dt):
    """Value moved towards `wanted` by at most rate * dt."""
    return value + limit(wanted - value, -rate * dt, rate * dt)


@kernel
def follow(value, speed, error, frequency, greatest_speed, dt):
    """One step of a critically damped second-order command filter: new value and its speed.

    value'' = w^2 error - 2 w value', the speed limited; semi-implicit, stable for w dt < 2.
    """
    w = limit(frequency, 0.0, 0.5 / (dt + 1e-12))
    speed = limit(speed + dt * w * (w * error - 2.0 * speed), -greatest_speed, greatest_speed)
    return value + dt * speed, speed
