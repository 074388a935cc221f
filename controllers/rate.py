"""Rate: PID on the body rates, derivative on measurement, per axis, in angular acceleration.

References
----------
K. J. Astrom, T. Hagglund, PID Controllers, 2nd ed. (1995), ch. 3: derivative on measurement, filtered; conditional
integration against wind-up. Euler's equation for the gyroscopic term: L. D. Landau, E. M. Lifshitz, Mechanics, sec. 36.
"""

from __future__ import annotations

import math
from enum import IntEnum

from controllers.contract import Gains, block, kernel
from controllers.filters import at_least, derivative_shares, limit
from controllers.rotor_loss import lost_rotor


class RateGain(Gains):
    """Defaults by loop shaping: plant 1/(s (1 + 25 ms s)) with 5 ms delay, phase margin over 45 deg (tested)."""

    ROLL_P = 0, "1/s", 22.0, 0.0, 100.0
    PITCH_P = 1, "1/s", 22.0, 0.0, 100.0
    YAW_P = 2, "1/s", 8.0, 0.0, 60.0
    ROLL_I = 3, "1/s2", 70.0, 0.0, 1000.0
    PITCH_I = 4, "1/s2", 70.0, 0.0, 1000.0
    YAW_I = 5, "1/s2", 12.0, 0.0, 500.0
    ROLL_D = 6, "-", 0.3, 0.0, 3.0
    PITCH_D = 7, "-", 0.3, 0.0, 3.0
    YAW_D = 8, "-", 0.0, 0.0, 3.0
    DERIVATIVE_CUTOFF = 9, "Hz", 60.0, 1.0, 1000.0
    """First-order low-pass on the derivatives, after the estimate's own on the rates."""
    INTEGRAL_LIMIT = 10, "rad/s2", 60.0, 0.0, 1000.0
    FEED_FORWARD = 11, "-", 0.2, 0.0, 1.0
    """Share of the derivative of the wanted rate that is asked for outright, up to FEED_FORWARD_LIMIT."""
    FEED_FORWARD_LIMIT = 12, "rad/s2", 60.0, 0.0, 1000.0
    GYROSCOPIC = 13, "-", 1.0, 0.0, 1.0
    """Share of the gyroscopic acceleration I^-1 (w x I w) that is cancelled."""


class Memory(IntEnum):
    """What is kept between runs; three of each but the first."""

    READY = 0
    INTEGRAL = 1
    RATE = 4
    DERIVATIVE = 7
    WANTED = 10
    WANTED_DERIVATIVE = 13


SIZE = 16


@kernel
def gyroscopic(inertia, p, q, r):
    """I^-1 (w x I w) [rad/s2], body axes, for a full symmetric tensor `inertia` [kg m2]; zero for a singular one."""
    a, b, c = inertia[0, 0], inertia[1, 1], inertia[2, 2]
    d, e, f = inertia[0, 1], inertia[0, 2], inertia[1, 2]
    hx, hy, hz = a * p + d * q + e * r, d * p + b * q + f * r, e * p + f * q + c * r
    tx, ty, tz = q * hz - r * hy, r * hx - p * hz, p * hy - q * hx
    xx, xy, xz = b * c - f * f, e * f - d * c, d * f - b * e
    determinant = a * xx + d * xy + e * xz
    if determinant <= 0.0:
        return 0.0, 0.0, 0.0
    yy, yz, zz = a * c - e * e, d * e - a * f, a * b - d * d
    scale = 1.0 / determinant
    return (
        scale * (xx * tx + xy * ty + xz * tz),
        scale * (xy * tx + yy * ty + yz * tz),
        scale * (xz * tx + yz * ty + zz * tz),
    )


@kernel
def integrate(integral, gain, error, unallocated, most, dt):
    """Integral of gain * error, held while the allocator could not give what the error asks more of."""
    if unallocated * error > 0.0:
        return integral
    return limit(integral + dt * gain * error, -most, most)


@block("rate", gains=RateGain, memory=SIZE)
def pid(s, craft, gains, memory):
    """PID on body rates: filtered derivative on measurement, anti-windup, feed-forward, gyroscopic compensation."""
    if memory[Memory.READY] == 0.0:
        memory[Memory.READY] = 1.0
        for axis in range(3):
            memory[Memory.RATE + axis] = s.rates[axis]
            memory[Memory.WANTED + axis] = s.rates_wanted[axis]
    lag = 1.0 / (2.0 * math.pi * at_least(gains[RateGain.DERIVATIVE_CUTOFF], 1e-3))
    old, new = derivative_shares(lag, s.dt)
    share = gains[RateGain.FEED_FORWARD]
    most = gains[RateGain.FEED_FORWARD_LIMIT]
    gyro = gyroscopic(craft.inertia, s.rates[0], s.rates[1], s.rates[2])
    # with a rotor lost it spins: an integral in axes that turn round would push the wrong way half a turn later, and three
    # rotors, which push about one axis one way only, would cancel half of the gyroscopic moment and so drive the wobble
    spinning = lost_rotor(s) >= 0
    cancel = 0.0 if spinning else gains[RateGain.GYROSCOPIC]
    for axis in range(3):
        rate, wanted = s.rates[axis], s.rates_wanted[axis]
        slope = old * memory[Memory.DERIVATIVE + axis] + new * (rate - memory[Memory.RATE + axis])
        trend = old * memory[Memory.WANTED_DERIVATIVE + axis] + new * (wanted - memory[Memory.WANTED + axis])
        memory[Memory.RATE + axis], memory[Memory.DERIVATIVE + axis] = rate, slope
        memory[Memory.WANTED + axis], memory[Memory.WANTED_DERIVATIVE + axis] = wanted, trend
        error = wanted - rate
        integral = 0.0
        if s.airborne > 0.0 and not spinning:
            integral = integrate(
                memory[Memory.INTEGRAL + axis], gains[RateGain.ROLL_I + axis], error, s.unallocated[axis],
                gains[RateGain.INTEGRAL_LIMIT], s.dt,
            )  # fmt: skip
        memory[Memory.INTEGRAL + axis] = integral
        s.angular_acceleration_wanted[axis] = (
            gains[RateGain.ROLL_P + axis] * error
            + integral
            - gains[RateGain.ROLL_D + axis] * slope
            + limit(share * trend, -most, most)
            + cancel * gyro[axis]
        )
