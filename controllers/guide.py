"""Guide: one supervisor for the response types, from sticks or set values to attitude, rates and thrust wanted.

On the ground it idles until a rise is wanted, then ramps the thrust until the craft lifts off; in the air it follows;
after touch-down it idles again. `airborne` tells the other blocks. The parts: sticks, attitude, height, ground, each in a file
`guide_*`. It knows no place: `navigation` flies places with the same parts.

References
----------
ADS-33E-PRF (2000), sec. 3.2: names of the response types. ISO 1151-1: angles. Euler rates to body rates: J. Diebel,
Representing Attitude (2006), eq. 79. The rest: common practice, no source.
"""

from __future__ import annotations

from controllers.contract import block, inner
from controllers.guide_attitude import (
    command_attitude,
    command_rates,
    follow_heading,
    follow_tilt,
    reset_references,
)
from controllers.guide_gains import SIZE, GuideGain, Memory
from controllers.guide_ground import ground_thrust, stop_motors, watch_ground
from controllers.guide_height import air_thrust, climb_target, reset_height
from controllers.guide_sticks import stick_thrust
from controllers.signals import Mode
from controllers.supervise import mode_in_force

IN_AIR_HEIGHT = 0.3
"""A flight that starts above this height starts in the air [m]; assumed, above pressure noise."""


@inner
def begin(s, gains, memory):
    """First run: in the air or on the ground, all references as things are."""
    memory[Memory.READY] = 1.0
    s.airborne = 1.0 if s.height > IN_AIR_HEIGHT else 0.0
    reset_references(s, memory)
    reset_height(s, gains, memory)


@inner
def without_place(mode):
    """The nearest response type that needs no place, nor a heading tied to north.

    Position hold becomes height hold; waypoint and trajectory become level flight at the height and heading set; homing becomes a
    level landing.
    """
    if mode < Mode.POSITION_HOLD:
        return mode
    if mode == Mode.POSITION_HOLD:
        return Mode.HEIGHT_HOLD.value
    return Mode.SETPOINT.value if mode < Mode.LANDING else Mode.LANDING.value


@inner
def command_thrust(s, craft, gains, memory, mode):
    """Thrust wanted [N], by the stick or by height control, in the air or on the ground; and which of the two it is."""
    if mode >= Mode.HEIGHT_HOLD:
        upright = 1.0 - 2.0 * (s.attitude[1] * s.attitude[1] + s.attitude[2] * s.attitude[2])
        target = climb_target(s, craft, gains, memory, mode, upright)
        high = 4.0 * craft.max_thrust * gains[GuideGain.THRUST_HIGH]
        if s.airborne == 0.0:
            s.thrust_wanted = ground_thrust(s, craft, gains, memory, target, high)
        else:
            upward = -s.target_acceleration[2] if mode == Mode.TRAJECTORY else 0.0
            s.thrust_wanted = air_thrust(s, craft, gains, memory, target, upward, upright, high)
    else:
        s.thrust_wanted = stick_thrust(s, craft, gains)
        memory[Memory.RAMP] = 0.0
        reset_height(s, gains, memory)
    watch_ground(s, craft, gains, memory, mode)
    stop_motors(s, gains, memory, mode)


@block("guide", gains=GuideGain, memory=SIZE)
def response(s, craft, gains, memory):
    """Rate command, attitude command, height hold, set values, level landing; take-off and touch-down."""
    mode = without_place(mode_in_force(s, craft, gains, memory))
    s.mode_in_force = mode
    if memory[Memory.READY] == 0.0:
        begin(s, gains, memory)
    if mode == Mode.RATE_COMMAND:
        command_rates(s, gains, memory)
    else:
        wanted = s.target_yaw if mode == Mode.SETPOINT else memory[Memory.YAW]
        follow_heading(s, gains, memory, mode <= Mode.HEIGHT_HOLD, wanted)
        follow_tilt(s, gains, memory, mode)
        command_attitude(s, memory)
    command_thrust(s, craft, gains, memory, mode)
