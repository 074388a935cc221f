"""Guide, height: the climb rate asked for, and the thrust that follows it in the air.

`upright` is the cosine of the tilt [-], `mode` the response type flown.
"""

from __future__ import annotations

from controllers.contract import inner
from controllers.filters import at_least, at_most, limit, slew
from controllers.guide_gains import GuideGain, Memory
from controllers.guide_sticks import stick_climb
from controllers.signals import Mode

G0 = 9.80665
"""Standard acceleration of gravity [m/s2], 3rd CGPM (1901)."""

SETTLED_CLIMB = 0.05
"""A height is captured once the reference climb rate has come down to this [m/s]; assumed."""

INTEGRAL_MAX = 8.0
"""Limit of the climb integral [m/s2]: makes up for 80 % more mass than the builder knows of; assumed."""


@inner
def reset_height(s, gains, memory):
    """Height control starts afresh from the present height and climb rate."""
    memory[Memory.HEIGHT], memory[Memory.HOLDING], memory[Memory.CLIMB_INTEGRAL] = s.height, 0.0, 0.0
    memory[Memory.CLIMB] = limit(s.climb_rate, -gains[GuideGain.SINK_MAX], gains[GuideGain.CLIMB_MAX])
    memory[Memory.MODEL] = s.climb_rate


@inner
def _sink_limit(s, craft, gains, upright):
    """Greatest sink rate wanted at this height [m/s]: the landing rate near the ground, which a rangefinder knows best."""
    above = s.height
    if craft.rangefinder > 0.0 and s.range_distance > 0.0:
        above = s.range_distance * at_least(upright, 0.0)
    slow = gains[GuideGain.LANDING_RATE]
    sink = slow + gains[GuideGain.HEIGHT_P] * (above - gains[GuideGain.LANDING_HEIGHT])
    return limit(sink, slow, at_least(gains[GuideGain.SINK_MAX], slow))


@inner
def _sticks_climb(s, craft, gains, memory, upright):
    """Climb rate by the throttle stick [m/s]; centred, and once slowed down, the height is captured."""
    stick = stick_climb(s, gains)
    if stick != 0.0:
        memory[Memory.HOLDING] = 0.0
    elif memory[Memory.HOLDING] == 0.0 and abs(memory[Memory.CLIMB]) < SETTLED_CLIMB:
        memory[Memory.HOLDING], memory[Memory.HEIGHT] = 1.0, s.height
    return stick * (gains[GuideGain.CLIMB_MAX] if stick > 0.0 else _sink_limit(s, craft, gains, upright))


@inner
def climb_target(s, craft, gains, memory, mode, upright):
    """Climb rate asked for [m/s]; from the ground, anything above zero asks for a take-off."""
    known = 0.0
    if mode == Mode.LANDING:
        memory[Memory.HOLDING] = 0.0
        return -_sink_limit(s, craft, gains, upright)
    if mode == Mode.HEIGHT_HOLD or mode == Mode.POSITION_HOLD:
        climb = _sticks_climb(s, craft, gains, memory, upright)
        if memory[Memory.HOLDING] == 0.0 or s.airborne == 0.0:
            return climb
    elif mode != Mode.HOMING:
        memory[Memory.HEIGHT] = s.target_height
        if s.target_height <= 0.0:
            return -_sink_limit(s, craft, gains, upright)
        if mode == Mode.TRAJECTORY:
            known = -s.target_velocity[2]
    climb = known + gains[GuideGain.HEIGHT_P] * (memory[Memory.HEIGHT] - s.height)
    return limit(climb, -gains[GuideGain.SINK_MAX], gains[GuideGain.CLIMB_MAX])


@inner
def air_thrust(s, craft, gains, memory, target, upward, upright, high):
    """Thrust that follows height [N]: P to a limited climb rate, PI to an acceleration, over the cosine of the tilt.

    `upward` [m/s2] is the vertical acceleration known ahead. The integral sees the departure from a model of the response to
    P alone, so that it makes up for mass and wind but does not wind up while the climb rate follows its reference.
    """
    reference = slew(memory[Memory.CLIMB], target, gains[GuideGain.CLIMB_ACCELERATION], s.dt)
    memory[Memory.CLIMB] = reference
    lag = gains[GuideGain.CLIMB_P] * (reference - memory[Memory.MODEL])
    model = memory[Memory.MODEL] + s.dt * (lag + upward)
    memory[Memory.MODEL] = model
    error, integral = model - s.climb_rate, memory[Memory.CLIMB_INTEGRAL]
    factor = 0.0
    if upright > 0.0:
        factor = at_most(1.0 / (upright + 1e-9), gains[GuideGain.TILT_FACTOR_MAX])
    lift = G0 + gains[GuideGain.CLIMB_P] * (reference - s.climb_rate) + integral + upward
    thrust = craft.mass * factor * lift
    given = limit(thrust, gains[GuideGain.THRUST_LOW] * craft.mass * G0, high)
    if (thrust - given + s.unallocated[3]) * error <= 0.0:
        memory[Memory.CLIMB_INTEGRAL] = limit(
            integral + s.dt * gains[GuideGain.CLIMB_I] * error, -INTEGRAL_MAX, INTEGRAL_MAX
        )
    return given
