"""Guide, attitude: roll, pitch and heading asked for, smooth enough to be flown, with their speeds fed forward."""

from __future__ import annotations

import math

from controllers.contract import inner
from controllers.filters import at_least, follow, limit, slew
from controllers.guide_gains import GuideGain, Memory
from controllers.guide_sticks import stick_roll_and_pitch, stick_turn
from controllers.rotation import down_in_body, from_euler, heading, to_euler, wrap
from controllers.signals import Mode

HEADING_LEAD = 0.6
"""Most that the heading asked for may run ahead of the heading flown [rad]; assumed."""


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
    p, q = stick_roll_and_pitch(s, gains, gains[GuideGain.RATE_FULL])
    s.rates_fed_forward[0], s.rates_fed_forward[1], s.rates_fed_forward[2] = p, q, stick_turn(s, gains)
    for i in range(4):
        s.attitude_wanted[i] = s.attitude[i]
    s.attitude_weight = 0.0
    reset_references(s, memory)


@inner
def _tilt_targets(s, gains, mode):
    """Roll and pitch asked for [rad], kept together within the greatest tilt; level where a place is asked for."""
    most, roll, pitch = gains[GuideGain.TILT_MAX], 0.0, 0.0
    if mode <= Mode.HEIGHT_HOLD:
        roll, pitch = stick_roll_and_pitch(s, gains, most)
        if mode == Mode.HEIGHT_HOLD:
            roll, pitch = roll * s.airborne, pitch * s.airborne
    elif int(s.mode) == Mode.SETPOINT and mode == Mode.SETPOINT:
        roll, pitch = s.target_roll, s.target_pitch
    scale = most / at_least(math.sqrt(roll * roll + pitch * pitch), most)
    return roll * scale, pitch * scale


@inner
def follow_tilt(s, gains, memory, mode):
    """Roll and pitch references: targets through second-order command filters."""
    targets = _tilt_targets(s, gains, mode)
    for axis in range(2):
        angle = memory[Memory.ROLL + axis]
        memory[Memory.ROLL + axis], memory[Memory.ROLL_SPEED + axis] = follow(
            angle, memory[Memory.ROLL_SPEED + axis], wrap(targets[axis] - angle),
            gains[GuideGain.ANGLE_FREQUENCY], gains[GuideGain.ANGLE_RATE_MAX], s.dt,
        )  # fmt: skip


@inner
def follow_heading(s, gains, memory, turning, wanted):
    """Heading reference: `turning` at the stick's rate, else towards `wanted`; never far ahead of the heading flown."""
    flown = heading(s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3])
    if s.airborne == 0.0:
        memory[Memory.YAW], memory[Memory.YAW_SPEED] = flown, 0.0
        return
    yaw, speed = memory[Memory.YAW], memory[Memory.YAW_SPEED]
    if turning:
        speed = slew(speed, stick_turn(s, gains), gains[GuideGain.YAW_ACCELERATION], s.dt)
        yaw += s.dt * speed
    else:
        error = wrap(wanted - yaw)
        yaw, speed = follow(
            yaw, speed, error, gains[GuideGain.YAW_FREQUENCY], gains[GuideGain.YAW_RATE_FULL], s.dt
        )
    memory[Memory.YAW] = flown + limit(wrap(yaw - flown), -HEADING_LEAD, HEADING_LEAD)
    memory[Memory.YAW_SPEED] = speed


@inner
def command_attitude(s, memory):
    """Attitude asked for from the references; their speeds fed forward as body rates."""
    p, q, r = memory[Memory.ROLL_SPEED], memory[Memory.PITCH_SPEED], memory[Memory.YAW_SPEED]
    w, x, y, z = from_euler(memory[Memory.ROLL], memory[Memory.PITCH], memory[Memory.YAW])
    s.attitude_wanted[0], s.attitude_wanted[1], s.attitude_wanted[2], s.attitude_wanted[3] = w, x, y, z
    dx, dy, dz = down_in_body(w, x, y, z)  # -sin(pitch), cos(pitch) sin(roll), cos(pitch) cos(roll)
    turn = q / (math.sqrt(dy * dy + dz * dz) + 1e-9)
    s.rates_fed_forward[0], s.rates_fed_forward[1] = p + r * dx, turn * dz + r * dy
    s.rates_fed_forward[2] = r * dz - turn * dy
    s.attitude_weight = 1.0
