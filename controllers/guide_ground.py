"""Guide, ground: the take-off ramp, lift-off and touch-down found, and the motors stopped after a landing."""

from __future__ import annotations

from controllers.contract import inner
from controllers.filters import limit
from controllers.guide_gains import GuideGain, Memory
from controllers.guide_height import G0, INTEGRAL_MAX
from controllers.signals import Mode, Stick

LIFT_THRUST, LIFT_CLIMB, TOUCH_CLIMB = 0.8, 0.3, 0.25
"""Share of the weight and climb rate that prove a lift-off, greatest climb rate at touch-down [m/s]; assumed."""

LANDING_STICK, SINKING_STICK = 0.1, 0.45
"""Throttle sticks below which the pilot is landing, and sinking, where height is held [-]; assumed. A craft that sinks slower
than it should, say after its payload fell off, has not touched down."""

STOPPED_SHARE = 0.4
"""Weight of the time in which a descent has stopped though the thrust is not low; assumed."""


@inner
def ground_thrust(s, craft, gains, memory, target, high):
    """Thrust on the ground [N]: idle, or the take-off ramp from a third of the weight upward."""
    memory[Memory.CLIMB], memory[Memory.MODEL], memory[Memory.CLIMB_INTEGRAL] = 0.0, 0.0, 0.0
    ramp, weight = 0.0, craft.mass * G0
    if target > 0.0:
        step = s.dt * weight / (gains[GuideGain.TAKE_OFF_TIME] + 1e-9)
        ramp = limit(memory[Memory.RAMP] + step, weight / 3.0, high)
    memory[Memory.RAMP] = ramp
    return ramp


@inner
def _wants_ground(s, mode, stick):
    """True while what is asked for is to be on the ground; with the throttle stick that is below `stick`."""
    if mode == Mode.LANDING:
        return True
    if mode == Mode.SETPOINT or mode == Mode.WAYPOINT or mode == Mode.TRAJECTORY:
        return s.target_height <= 0.0
    return mode != Mode.HOMING and s.stick[Stick.THROTTLE] < stick


@inner
def _landing_time(s, gains, memory, weight, mode):
    """How long it has looked like a touch-down [s], slower where only the sinking has stopped; 0 if it does not.

    Little thrust alone proves nothing where height is held: a wind across the rotors carries part of the weight.
    """
    if abs(s.climb_rate) > TOUCH_CLIMB:
        return 0.0
    little = s.thrust_wanted < gains[GuideGain.TOUCH_SHARE] * weight
    if little and (mode < Mode.HEIGHT_HOLD or _wants_ground(s, mode, SINKING_STICK)):
        return memory[Memory.TIMER] + s.dt
    sinking = memory[Memory.CLIMB]
    if sinking < -TOUCH_CLIMB and s.climb_rate > 0.5 * sinking and _wants_ground(s, mode, LANDING_STICK):
        return memory[Memory.TIMER] + STOPPED_SHARE * s.dt
    return 0.0


@inner
def watch_ground(s, craft, gains, memory, mode):
    """Lift-off: thrust over the weight, or climbing on nearly that. Touch-down: little thrust or stopped, for a while."""
    weight, timer = craft.mass * G0, 0.0
    if s.airborne == 0.0:
        climbing = s.thrust_wanted > LIFT_THRUST * weight and s.climb_rate > LIFT_CLIMB
        if climbing or s.thrust_wanted > gains[GuideGain.LIFT_SHARE] * weight:
            s.airborne = 1.0
            memory[Memory.CLIMB_INTEGRAL] = limit(
                memory[Memory.RAMP] / (craft.mass + 1e-9) - G0, 0.0, INTEGRAL_MAX
            )
    else:
        timer = _landing_time(s, gains, memory, weight, mode)
        if timer >= gains[GuideGain.TOUCH_TIME]:
            s.airborne, timer = 0.0, 0.0
            memory[Memory.RAMP] = 0.0
    memory[Memory.TIMER] = timer


@inner
def stop_motors(s, gains, memory, mode):
    """Some time after a landing the motors are off, until another response type is asked for."""
    if mode != Mode.LANDING or s.airborne > 0.0:
        memory[Memory.GROUNDED] = 0.0
        return
    memory[Memory.GROUNDED] += s.dt
    if memory[Memory.GROUNDED] > gains[GuideGain.OFF_TIME]:
        s.armed = 0.0
