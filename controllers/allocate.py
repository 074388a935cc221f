"""Allocate: from wanted angular acceleration and thrust to four motor commands, with a declared priority.

Priority when the rotors cannot give everything: roll and pitch before thrust before yaw. Yaw gives way first, then the
thrust is shifted, then roll and pitch are scaled down together.

References
----------
M. Faessler, D. Falanga, D. Scaramuzza, Thrust Mixing, Saturation, and Body-Rate Control for Accurate Aggressive Quadrotor
Flight, IEEE Robotics and Automation Letters 2(2), 2017 (the order of priorities from memory).
Thrust curve k u^2 + (1 - k) u and thrust proportional to the square of the pack voltage: common practice, no source.
"""

from __future__ import annotations

import math

from controllers.contract import Gains, block, inner, kernel
from controllers.filters import at_least, at_most, limit
from controllers.rotor_loss import allocate_without, lost_rotor
from controllers.thrust import command_for, thrust_at

VOLTAGE_LOW, VOLTAGE_HIGH = 0.5, 1.4
"""Shares of the nominal voltage outside which the reading is not believed; assumed, wider than any pack's range."""

LEAST_LIFT = 1e-6
"""Share of the thrust [-] below which a rotor does not count as lifting; a healthy one has about 1/4."""


class AllocateGain(Gains):
    """What the allocator may do."""

    VOLTAGE_COMPENSATION = 0, "-", 1.0, 0.0, 1.0
    """1: rotor thrust is reckoned with the square of the pack voltage; 0: with the nominal voltage."""
    VOLTAGE_CUTOFF = 1, "Hz", 3.0, 0.01, 100.0
    """First-order low-pass (backward Euler) on the measured voltage, so that sag does not feed back at once."""
    GROUND_RAISE = 2, "-", 0.0, 0.0, 1.0
    """On the ground, greatest thrust added to serve roll and pitch, as a share of one rotor's greatest thrust."""
    PRIORITY = 3, "-", 0.0, 0.0, 1.0
    """0: roll and pitch before thrust before yaw; lost is height while the craft rights itself. 1: thrust before roll and pitch
    before yaw; lost is attitude when the thrust is near none or all. What is lost stands in `unallocated`."""


@inner
def _share_of_room(share, wanted, room):
    """The lesser of `share` and the part of `wanted` that `room` is enough for."""
    if wanted > room:
        return at_most(share, at_least(room, 0.0) / wanted) if wanted > 0.0 else share
    return share


@inner
def _tilt_share(tilts, lifts, thrust, low, high, most_raise, most_drop):
    """Greatest factor 0..1 on roll and pitch for which a thrust within the allowed shift suits all rotors.

    Rotor i needs low/l_i <= r t_i + T + d <= high/l_i, where t_i is its share in roll and pitch and l_i in the thrust; over
    all pairs of rotors a common shift d must be left.
    """
    share = 1.0
    for i in range(4):
        tilt, up, down = tilts[i], low / lifts[i], high / lifts[i]
        share = _share_of_room(share, -tilt, thrust + most_raise - up)
        share = _share_of_room(share, tilt, down - thrust + most_drop)
        for j in range(4):
            share = _share_of_room(share, tilts[j] - tilt, high / lifts[j] - up)
    return share


@inner
def _yaw_share(bases, yaws, low, high):
    """Greatest factor 0..1 on yaw for which every rotor stays within low and high."""
    share = 1.0
    for i in range(4):
        share = _share_of_room(share, yaws[i], high - bases[i])
        share = _share_of_room(share, -yaws[i], bases[i] - low)
    return share


@inner
def _allocate_saturated(
    allocation, roll, pitch, yaw, thrust, low, high, most_raise, most_drop, thrusts, missing
):
    """The slow way of `allocate_thrusts`, for when not everything can be given."""
    lifts = (allocation[0, 3], allocation[1, 3], allocation[2, 3], allocation[3, 3])
    weakest, strongest = at_most(at_most(lifts[0], lifts[1]), at_most(lifts[2], lifts[3])), 0.0
    for i in range(4):
        strongest = at_least(strongest, lifts[i])
        thrusts[i] = limit(thrusts[i], low, high)
    missing[0], missing[1], missing[2], missing[3] = roll, pitch, yaw, thrust
    if weakest * high <= strongest * low or weakest < LEAST_LIFT:
        # A rotor that hardly lifts: no order of priority has a meaning, so it is cut off and nothing counts as given.
        return
    kept = limit(thrust, low / weakest, high / strongest)
    for i in range(4):
        missing[i] = (allocation[i, 0] * roll + allocation[i, 1] * pitch) / lifts[i]
    r = _tilt_share(missing, lifts, kept, low, high, most_raise, most_drop)
    up = down = 0.0
    for i in range(4):
        part = r * missing[i] + kept
        up = at_least(up, low / lifts[i] - part)
        down = at_most(down, high / lifts[i] - part)
    given = kept + (up if up > 0.0 else down)
    for i in range(4):
        thrusts[i] = lifts[i] * (r * missing[i] + given)
        missing[i] = allocation[i, 2] * yaw
    y = _yaw_share(thrusts, missing, low, high)
    for i in range(4):
        thrusts[i] = limit(thrusts[i] + y * missing[i], low, high)
    missing[0], missing[1], missing[2], missing[3] = (
        (1.0 - r) * roll,
        (1.0 - r) * pitch,
        (1.0 - y) * yaw,
        thrust - given,
    )


@kernel(forceinline=True, _nrt=False)
def allocate_thrusts(
    allocation, roll, pitch, yaw, thrust, low, high, most_raise, most_drop, thrusts, missing
):
    """Rotor thrusts for wanted roll, pitch, yaw and thrust; yaw gives way first, then thrust, then roll and pitch.

    Parameters
    ----------
    allocation : array, (4, 4), rotor thrusts per unit of roll, pitch, yaw [N per rad/s2, or per N m] and thrust [-]
    roll, pitch, yaw, thrust : float, wanted [rad/s2 or N m] and total thrust [N]
    low, high : float, least and greatest thrust of a rotor [N]
    most_raise, most_drop : float, greatest shift of the total thrust in favour of roll and pitch [N]
    thrusts : array, (4,), result [N], always within low and high
    missing : array, (4,), result: wanted less given, in the units of the wanted values; exactly 0 where all was given
    """
    inside = True
    for i in range(4):
        thrusts[i] = (
            allocation[i, 0] * roll
            + allocation[i, 1] * pitch
            + allocation[i, 2] * yaw
            + allocation[i, 3] * thrust
        )
        inside = inside and low <= thrusts[i] <= high
        missing[i] = 0.0
    if not inside:
        _allocate_saturated(
            allocation, roll, pitch, yaw, thrust, low, high, most_raise, most_drop, thrusts, missing
        )  # fmt: skip


@inner
def voltage_scale(s, craft, gains, memory):
    """Greatest thrust now over that at nominal voltage: filtered voltage ratio squared; 1 for a senseless reading."""
    ratio = s.battery_voltage / craft.nominal_voltage if craft.nominal_voltage > 0.0 else 0.0
    if gains[AllocateGain.VOLTAGE_COMPENSATION] <= 0.0 or not VOLTAGE_LOW < ratio < VOLTAGE_HIGH:
        return 1.0
    share = 2.0 * math.pi * gains[AllocateGain.VOLTAGE_CUTOFF] * s.dt
    smooth = memory[0] if memory[0] > 0.0 else ratio
    smooth += share / (1.0 + share) * (ratio - smooth)
    memory[0] = smooth
    return 1.0 + gains[AllocateGain.VOLTAGE_COMPENSATION] * (smooth * smooth - 1.0)


@block("allocate", gains=AllocateGain, memory=1)
def priority(s, craft, gains, memory):
    """Roll and pitch before thrust before yaw, or as set; thrust curve and pack voltage inverted; three rotors if one is lost."""
    high = craft.max_thrust * voltage_scale(s, craft, gains, memory)
    if high <= 0.0 or s.armed == 0.0:
        for i in range(4):
            s.motor[i] = craft.idle if s.armed > 0.0 else 0.0
            s.unallocated[i] = 0.0
        return
    low = at_most(high * thrust_at(craft.idle, craft.thrust_curve), high)
    lost = lost_rotor(s)
    if lost >= 0:
        allocate_without(
            craft.effectiveness, lost, s.angular_acceleration_wanted[0], s.angular_acceleration_wanted[1],
            s.angular_acceleration_wanted[2], s.thrust_wanted, low, high, s.motor, s.unallocated,
        )  # fmt: skip
    else:
        most_raise, most_drop = math.inf, math.inf
        if gains[AllocateGain.PRIORITY] > 0.5:
            most_raise = most_drop = 0.0
        elif s.airborne == 0.0:
            most_raise = gains[AllocateGain.GROUND_RAISE] * craft.max_thrust
        allocate_thrusts(
            craft.allocation, s.angular_acceleration_wanted[0], s.angular_acceleration_wanted[1],
            s.angular_acceleration_wanted[2], s.thrust_wanted, low, high, most_raise, most_drop, s.motor, s.unallocated,
        )  # fmt: skip
    over = 1.0 / high
    for i in range(4):
        s.motor[i] = limit(command_for(s.motor[i] * over, craft.thrust_curve), craft.idle, 1.0)
    if lost >= 0:
        s.motor[lost] = 0.0
