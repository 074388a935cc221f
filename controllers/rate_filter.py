"""The rates that control sees: gyro through notches that follow the rotors, a low-pass, less the estimated bias.

A rotor that is out of balance shakes the frame once a turn. A fixed filter low enough to keep that out costs phase where control
needs it; a notch at the speed each rotor has now costs little. Any estimate block may call `filter_rates` on a part of its
memory.

References
----------
Second-order Butterworth and notch: `filters`. Rotor speed of a command where the ESCs report none: thrust curve and thrust over
speed squared, first-order lag (linearised motor). Notches at the rotors' speed: common practice, no source.
"""

from __future__ import annotations

import math
from enum import IntEnum

from controllers.contract import inner, kernel
from controllers.filters import (
    first_order_share,
    notch,
    second_order_low_pass,
    second_order_rest,
    second_order_step,
)
from controllers.thrust import thrust_at


class Kept(IntEnum):
    """What is kept between runs, from the first index that the estimate block gives."""

    LOW = 0
    LOW_OLD = 3
    """States of the low-pass, 3 each."""
    COEFFICIENTS = 6
    """b0, a1, a2 and the share cutoff * dt they were computed for."""
    TURN = 10
    """Which rotor's notch is renewed next."""
    SPEED = 11
    """Speed of each rotor as the notches follow it [rad/s], 4."""
    NOTCH = 15
    """b0, b1, a2 of each rotor's notch, 3 x 4; b0 of 0 where it rests."""
    STATES = 27
    """The last two rates of each axis before the notches and after each of the four, 3 x 5 x 2."""


KEPT = 57
"""Numbers that `filter_rates` keeps."""

HIGHEST_NOTCH = 0.4
"""Greatest notch as a share of the sampling frequency: a tone beyond half of it comes back elsewhere. Assumed."""


@inner
def _tune_low_pass(s, memory, first, share):
    """Coefficients of the low-pass, and states as if it had rested at the present rates."""
    b0, a1, a2 = second_order_low_pass(share)
    at = first + Kept.COEFFICIENTS
    memory[at], memory[at + 1], memory[at + 2], memory[at + 3] = b0, a1, a2, share
    for axis in range(3):
        z1, z2 = second_order_rest(s.gyro[axis], b0, a1, a2)
        memory[first + Kept.LOW + axis], memory[first + Kept.LOW_OLD + axis] = z1, z2
        for k in range(10):
            memory[first + Kept.STATES + 10 * axis + k] = s.gyro[axis]


@inner
def _speed_now(s, craft, rotor, before, share):
    """Speed of a rotor [rad/s]: reported, or followed from its command with the motor's lag."""
    if craft.speed_telemetry > 0.0:
        return s.rotor_speed[rotor]
    thrust = craft.max_thrust * thrust_at(s.motor[rotor], craft.thrust_curve)
    wanted = (
        math.sqrt(thrust / craft.thrust_per_speed2) if craft.thrust_per_speed2 > 0.0 and thrust > 0.0 else 0.0
    )
    return before + share * (wanted - before)


@inner
def _follow_rotor(s, craft, q, lowest, memory, first):
    """Renew the notch of one rotor, the next one in turn."""
    rotor = int(memory[first + Kept.TURN])
    memory[first + Kept.TURN] = (rotor + 1) % 4
    lag = 0.5 * (craft.motor_lag[0] + craft.motor_lag[1])
    share = first_order_share(1.0 / (2.0 * math.pi * lag), 4.0 * s.dt) if lag > 0.0 else 1.0
    speed = _speed_now(s, craft, rotor, memory[first + Kept.SPEED + rotor], share)
    memory[first + Kept.SPEED + rotor] = speed
    frequency = speed / (2.0 * math.pi)
    at = first + Kept.NOTCH + 3 * rotor
    if lowest <= frequency < HIGHEST_NOTCH / s.dt:
        memory[at], memory[at + 1], memory[at + 2] = notch(frequency * s.dt, q)
    else:
        memory[at] = 0.0


@inner
def _notched(x, axis, memory, first):
    """The rate of one axis through the notches of all rotors.

    Direct form I: what is kept are the last two values before and after each notch, which at rest are the rate itself whatever
    the coefficients. So a notch that moves with its rotor, begins or ends does not disturb a steady rate.
    """
    z = first + Kept.STATES + 10 * axis
    before1, before2 = memory[z], memory[z + 1]
    memory[z], memory[z + 1] = x, before1
    for rotor in range(4):
        at = first + Kept.NOTCH + 3 * rotor
        z += 2
        after1, after2 = memory[z], memory[z + 1]
        b0, b1, a2 = memory[at], memory[at + 1], memory[at + 2]
        if b0 > 0.0:
            x = b0 * (x + before2) + b1 * (before1 - after1) - a2 * after2
        memory[z], memory[z + 1] = x, after1
        before1, before2 = after1, after2
    return x


@kernel(_nrt=False)
def filter_rates(s, craft, cutoff, q, lowest, p_bias, q_bias, r_bias, memory, first):
    """From `gyro` to `rates`: notches, low-pass, less the bias.

    Parameters
    ----------
    cutoff : of the second-order low-pass [Hz]; 0 for none
    q : quality of the notches [-]; 0 for none
    lowest : rotor speed below which a notch rests [Hz]
    p_bias, q_bias, r_bias : estimated bias [rad/s]
    first : index in `memory` from which KEPT numbers belong to this filter
    """
    share = cutoff * s.dt
    at = first + Kept.COEFFICIENTS
    if share != memory[at + 3]:
        _tune_low_pass(s, memory, first, share)
    b0, a1, a2 = memory[at], memory[at + 1], memory[at + 2]
    if q > 0.0:
        _follow_rotor(s, craft, q, lowest, memory, first)
    bias = (p_bias, q_bias, r_bias)
    for axis in range(3):
        rate = s.gyro[axis]
        if q > 0.0:
            rate = _notched(rate, axis, memory, first)
        if share > 0.0:
            rate, z1, z2 = second_order_step(
                rate, b0, a1, a2, memory[first + Kept.LOW + axis], memory[first + Kept.LOW_OLD + axis]
            )
            memory[first + Kept.LOW + axis], memory[first + Kept.LOW_OLD + axis] = z1, z2
        s.rates[axis] = rate - bias[axis]
