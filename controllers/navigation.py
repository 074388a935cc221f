"""Guide that flies places: `response` and, where position and heading are known, position hold, waypoint, trajectory, landing
on the spot and homing. A craft with a satellite receiver flies with it; its parts are those of `guide` and two more."""

from __future__ import annotations

import math

from controllers.contract import block, inner
from controllers.guide import begin, command_thrust, without_place
from controllers.guide_attitude import command_attitude, command_rates, follow_heading, follow_tilt
from controllers.guide_gains import SIZE, GuideGain, Memory
from controllers.guide_home import way_home
from controllers.guide_position import begin_place, tilt_by_place
from controllers.signals import LinkLoss, Mode
from controllers.supervise import mode_in_force

TRACK_SPEED = 0.5
"""Speed of the place asked for above which its track has a direction [m/s]; assumed."""


@inner
def _mode_flown(s, gains, memory, mode):
    """The response type that can be flown; what was asked for comes back when position and heading are known again."""
    known = s.position_known > 0.5 and s.heading_known > 0.5
    known = (
        known and int(s.link_action) != LinkLoss.LEVEL_DESCENT
    )  # level as chosen, wherever the wind takes it
    if mode != Mode.HOMING or not known:
        memory[Memory.PHASE] = 0.0
    if mode < Mode.POSITION_HOLD or not known:
        memory[Memory.PLACED] = 0.0
        return without_place(mode)
    if memory[Memory.PLACED] == 0.0:
        memory[Memory.PLACED] = 1.0
        begin_place(s, gains, memory)
    return way_home(s, gains, memory) if mode == Mode.HOMING else mode


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
def place_mode(s, craft, gains, memory):
    """The response type in force, with everything begun at the first run."""
    mode = mode_in_force(s, craft, gains, memory)
    if memory[Memory.READY] == 0.0:
        begin(s, gains, memory)
    mode = _mode_flown(s, gains, memory, mode)
    s.mode_in_force = mode
    return mode


@inner
def fly_mode(s, craft, gains, memory, mode):
    """Attitude and thrust wanted of a response type."""
    if mode == Mode.RATE_COMMAND:
        command_rates(s, gains, memory)
    else:
        turning = mode <= Mode.HEIGHT_HOLD or mode == Mode.POSITION_HOLD
        follow_heading(s, gains, memory, turning, _heading_wanted(s, gains, memory, mode))
        if memory[Memory.PLACED] > 0.0:
            tilt_by_place(s, gains, memory, mode)
        else:
            follow_tilt(s, gains, memory, mode)
        command_attitude(s, memory)
    command_thrust(s, craft, gains, memory, mode)


@block("guide", gains=GuideGain, memory=SIZE)
def navigation(s, craft, gains, memory):
    """As `response`, and position hold, waypoint, trajectory, landing on the spot, homing where the place is known."""
    fly_mode(s, craft, gains, memory, place_mode(s, craft, gains, memory))
