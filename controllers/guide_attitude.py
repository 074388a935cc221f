"""Guide, attitude: roll, pitch and heading asked for, smooth enough to be flown, with their speeds fed forward."""

from __future__ import annotations

import math

from controllers.contract import inner
from controllers.filters import at_least, follow, limit, slew
from controllers.guide_gains import GuideGain, Memory
from controllers.guide_position import tilt_by_place
from controllers.guide_sticks import stick_rates, stick_tilt, stick_yaw_rate
from controllers.rotation import down_in_body, from_euler, heading, to_euler, wrap
from controllers.signals import Mode

HEADING_LEAD = 0.6
"""Most that the heading asked for may run ahead of the heading flown [rad]; assumed."""

TRACK_SPEED = 0.5
"""Speed of the place asked for above which its track has a direction [m/s]; assumed."""


@inner
def reset_references(s, memory):
    """All references at the present estimate, so that the next response type starts without a jump."""
    roll, pitch, yaw = to_euler(s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3])
    memory[Memory.ROLL], memory[Memory.PITCH], memory[Memory.YAW] = roll, pitch, yaw
    for axis in range(3):
        memory[Memory.ROLL_SPEED + axis] = 0.0


@inner
def command_rates(s, gains, memory):
    """Rate command: shaped sticks are body rates; the attitude is left alone."""
    p, q, r = stick_rates(s, gains)
    s.rates_fed_forward[0], s.rates_fed_forward[1], s.rates_fed_forward[2] = p, q, r
    for i in range(4):
        s.attitude_wanted[i] = s.attitude[i]
    s.attitude_weight = 0.0
    reset_references(s, memory)


@inner
def _tilt_targets(s, gains, mode):
    """Roll and pitch asked for [rad], kept together within the greatest tilt; level where no place is known to fly to."""
    most, roll, pitch = gains[GuideGain.TILT_MAX], 0.0, 0.0
    if mode <= Mode.HEIGHT_HOLD:
        roll, pitch = stick_tilt(s, gains)
        if mode == Mode.HEIGHT_HOLD:
            roll, pitch = roll * s.airborne, pitch * s.airborne
    elif mode == Mode.SETPOINT and int(s.mode) == Mode.SETPOINT:
        roll, pitch = s.target_roll, s.target_pitch
    scale = most / at_least(math.sqrt(roll * roll + pitch * pitch), most)
    return roll * scale, pitch * scale


@inner
def _follow_tilt(s, gains, memory, mode):
    """Roll and pitch references: targets through second-order command filters."""
    targets = _tilt_targets(s, gains, mode)
    for axis in range(2):
        angle = memory[Memory.ROLL + axis]
        memory[Memory.ROLL + axis], memory[Memory.ROLL_SPEED + axis] = follow(
            angle, memory[Memory.ROLL_SPEED + axis], wrap(targets[axis] - angle),
            gains[GuideGain.ANGLE_FREQUENCY], gains[GuideGain.ANGLE_RATE_MAX], s.dt,
        )  # fmt: skip


@inner
def _heading_wanted(s, gains, memory, mode):
    """Heading to turn to [rad]: the one set, along the track, or the one there is."""
    if gains[GuideGain.ALONG_TRACK] > 0.5 and (mode == Mode.WAYPOINT or mode == Mode.HOMING):
        north, east = memory[Memory.NORTH_SPEED], memory[Memory.EAST_SPEED]
        moving = north * north + east * east > TRACK_SPEED * TRACK_SPEED
        return math.atan2(east, north) if moving else memory[Memory.YAW]
    if mode == Mode.SETPOINT or mode == Mode.WAYPOINT or mode == Mode.TRAJECTORY:
        return s.target_yaw
    return memory[Memory.YAW]


@inner
def _follow_heading(s, gains, memory, mode):
    """Heading reference: at the stick's rate, or towards the heading wanted; never far ahead of the heading flown."""
    flown = heading(s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3])
    if s.airborne == 0.0:
        memory[Memory.YAW], memory[Memory.YAW_SPEED] = flown, 0.0
        return
    yaw, speed = memory[Memory.YAW], memory[Memory.YAW_SPEED]
    if mode <= Mode.HEIGHT_HOLD or mode == Mode.POSITION_HOLD:
        speed = slew(speed, stick_yaw_rate(s, gains), gains[GuideGain.YAW_ACCELERATION], s.dt)
        yaw += s.dt * speed
    else:
        error = wrap(_heading_wanted(s, gains, memory, mode) - yaw)
        yaw, speed = follow(
            yaw, speed, error, gains[GuideGain.YAW_FREQUENCY], gains[GuideGain.YAW_RATE_FULL], s.dt
        )
    memory[Memory.YAW] = flown + limit(wrap(yaw - flown), -HEADING_LEAD, HEADING_LEAD)
    memory[Memory.YAW_SPEED] = speed


@inner
def command_attitude(s, gains, memory, mode):
    """Attitude asked for from the references; their speeds fed forward as body rates."""
    _follow_heading(s, gains, memory, mode)
    if memory[Memory.PLACED] > 0.0:
        tilt_by_place(s, gains, memory, mode)
    else:
        _follow_tilt(s, gains, memory, mode)
    p, q, r = memory[Memory.ROLL_SPEED], memory[Memory.PITCH_SPEED], memory[Memory.YAW_SPEED]
    w, x, y, z = from_euler(memory[Memory.ROLL], memory[Memory.PITCH], memory[Memory.YAW])
    s.attitude_wanted[0], s.attitude_wanted[1], s.attitude_wanted[2], s.attitude_wanted[3] = w, x, y, z
    dx, dy, dz = down_in_body(w, x, y, z)  # -sin(pitch), cos(pitch) sin(roll), cos(pitch) cos(roll)
    turn = q / (math.sqrt(dy * dy + dz * dz) + 1e-9)
    s.rates_fed_forward[0], s.rates_fed_forward[1] = p + r * dx, turn * dz + r * dy
    s.rates_fed_forward[2] = r * dz - turn * dy
    s.attitude_weight = 1.0
