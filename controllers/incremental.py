"""Rate: incremental nonlinear dynamic inversion, from rates to angular acceleration.

Instead of a model of all moments it uses the angular acceleration that is measured: what is missing to the one wanted is added to
what the rotors give already,
    asked = in force + (wanted - measured),   wanted = P (rate wanted - rate) + fed forward.
Gusts, a shifted centre of mass and unknown drag are so answered within the motors' lag, without an integral. In force and
measured must be equally late: the model of the motors passes the same low-pass as the derivative of the rates, and a lag for
what the rates themselves are late.

References
----------
E. J. J. Smeur, Q. Chu, G. C. H. E. de Croon, Adaptive Incremental Nonlinear Dynamic Inversion for Attitude Control of Micro Air
Vehicles, J. Guidance, Control, and Dynamics 39(3), 2016, doi 10.2514/1.G001490 (synchronised filters, eqs. 18-27; from memory).
P. Simplicio, M. D. Pavel, E. van Kampen, Q. Chu, Control Engineering Practice 21(8), 2013 (incremental form; from memory).
"""

from __future__ import annotations

import math
from enum import IntEnum

from controllers.contract import Gains, block, inner
from controllers.filters import (
    at_least,
    derivative_shares,
    first_order_share,
    limit,
    second_order_low_pass,
    second_order_step,
)


class IncrementalGain(Gains):
    """With the increment closed the rates follow P/(s + P) behind the motors' lag T: P < 1/(4 T) keeps damping above 1."""

    ROLL_P = 0, "1/s", 18.0, 0.0, 100.0
    PITCH_P = 1, "1/s", 18.0, 0.0, 100.0
    YAW_P = 2, "1/s", 7.0, 0.0, 60.0
    CUTOFF = 3, "Hz", 30.0, 2.0, 400.0
    """Of the second-order low-pass on the measured angular acceleration, and on what is in force."""
    RATE_LAG = 4, "s", 0.002, 0.0, 0.05
    """By how much the rates are late: gyro, its delay and the estimate's low-pass."""
    SHARE = 5, "-", 1.0, 0.0, 1.0
    """Share of what is missing that is added each time; 1 is the full inversion, less leaves 1 - SHARE of a disturbance to P."""
    YAW_CUTOFF = 6, "Hz", 1.5, 0.05, 100.0
    """First-order low-pass on what yaw lacks. Speeding a rotor up turns the craft at once, some ten times as much as its steady
    torque does in the end, so that at high frequency any mismatch would come back ten times."""
    FEED_FORWARD = 7, "-", 0.2, 0.0, 1.0
    """Share of the derivative of the wanted rate that is asked for outright."""
    FEED_FORWARD_LIMIT = 8, "rad/s2", 60.0, 0.0, 1000.0


class Memory(IntEnum):
    """What is kept between runs; three of each but the first six."""

    READY = 0
    COEFFICIENTS = 1
    """b0, a1, a2 of the low-pass; shares of the motors' lag and of the rates'; yaw's lead over the motors' lag; share of
    the low-pass on yaw."""
    RATE = 8
    FORCE = 11
    """Angular acceleration in force by the model of the motors [rad/s2]."""
    LATE = 14
    """The same, as late as the rates are."""
    MEASURED_STATES = 17
    """States of the low-pass on the measured angular acceleration, 2 x 3."""
    FORCE_STATES = 23
    WANTED = 29
    SLOPE = 32
    YAW = 35
    """What yaw lacks, low-passed."""


@inner
def _start(s, craft, gains, memory):
    """Coefficients for this craft and interval; everything at rest at the present rates."""
    memory[Memory.READY] = 1.0
    at = Memory.COEFFICIENTS
    memory[at], memory[at + 1], memory[at + 2] = second_order_low_pass(gains[IncrementalGain.CUTOFF] * s.dt)
    lag = at_least(0.5 * (craft.motor_lag[0] + craft.motor_lag[1]), 1e-4)
    memory[at + 3] = first_order_share(1.0 / (2.0 * math.pi * lag), s.dt)
    memory[at + 5] = craft.yaw_lead / lag
    memory[at + 6] = first_order_share(gains[IncrementalGain.YAW_CUTOFF], s.dt)
    late = gains[IncrementalGain.RATE_LAG] + craft.loop_delay
    memory[at + 4] = first_order_share(1.0 / (2.0 * math.pi * at_least(late, 1e-6)), s.dt)
    for axis in range(3):
        memory[Memory.RATE + axis] = s.rates[axis]
        memory[Memory.WANTED + axis] = s.rates_wanted[axis]


@inner
def _low_passed(x, memory, z):
    """One step of the low-pass whose two states stand at index z."""
    at = Memory.COEFFICIENTS
    y, memory[z], memory[z + 1] = second_order_step(
        x, memory[at], memory[at + 1], memory[at + 2], memory[z], memory[z + 1]
    )
    return y


@block("rate", gains=IncrementalGain, memory=36)
def incremental(s, craft, gains, memory):
    """Incremental dynamic inversion: adds what the measured angular acceleration lacks to what the rotors give."""
    if memory[Memory.READY] == 0.0:
        _start(s, craft, gains, memory)
    at = Memory.COEFFICIENTS
    old, new = derivative_shares(1e-2, s.dt)
    most = gains[IncrementalGain.FEED_FORWARD_LIMIT]
    per_dt = 1.0 / at_least(s.dt, 1e-9)
    for axis in range(3):
        rate, wanted = s.rates[axis], s.rates_wanted[axis]
        measured = _low_passed(
            (rate - memory[Memory.RATE + axis]) * per_dt, memory, Memory.MEASURED_STATES + 2 * axis
        )
        memory[Memory.RATE + axis] = rate
        given = s.angular_acceleration_wanted[axis] - s.unallocated[axis]
        force = memory[Memory.FORCE + axis]
        behind = given - force
        force += memory[at + 3] * behind
        late = memory[Memory.LATE + axis]
        late += memory[at + 4] * (force + (memory[at + 5] * behind if axis == 2 else 0.0) - late)
        memory[Memory.FORCE + axis], memory[Memory.LATE + axis] = force, late
        in_force = _low_passed(late, memory, Memory.FORCE_STATES + 2 * axis)
        slope = old * memory[Memory.SLOPE + axis] + new * (wanted - memory[Memory.WANTED + axis])
        memory[Memory.SLOPE + axis], memory[Memory.WANTED + axis] = slope, wanted
        asked = gains[IncrementalGain.ROLL_P + axis] * (wanted - rate)
        asked += limit(gains[IncrementalGain.FEED_FORWARD] * slope, -most, most)
        lacking = gains[IncrementalGain.SHARE] * (in_force - measured) * s.airborne
        if axis == 2:
            memory[Memory.YAW] += memory[at + 6] * (lacking - memory[Memory.YAW])
            lacking = memory[Memory.YAW]
        asked += lacking
        s.angular_acceleration_wanted[axis] = asked
