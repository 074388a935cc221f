"""Guide: one supervisor for all response types, from sticks or set values to attitude, rates and thrust wanted.

On the ground it idles until a rise is wanted, then ramps the thrust until the craft lifts off; in the air it follows;
after touch-down it idles again. `airborne` tells the other blocks.

References
----------
ADS-33E-PRF (2000), sec. 3.2: names of the response types. ISO 1151-1: angles. Euler rates to body rates: J. Diebel,
Representing Attitude (2006), eq. 79. The rest: common practice, no source.
"""

from __future__ import annotations

import math

from controllers.contract import block, inner
from controllers.filters import at_least, at_most, follow, limit, slew
from controllers.guide_gains import SIZE, GuideGain, Memory
from controllers.rotation import down_in_body, from_euler, heading, to_euler, wrap
from controllers.signals import Mode, Stick
from controllers.sticks import deadband, shaped, throttle_curve
from controllers.supervise import mode_in_force
from controllers.thrust import thrust_at

G0 = 9.80665
"""Standard acceleration of gravity [m/s2], 3rd CGPM (1901)."""

IN_AIR_HEIGHT = 0.3
"""A flight that starts above this height starts in the air [m]; assumed, above pressure noise."""

HEADING_LEAD = 0.6
"""Most that the heading asked for may run ahead of the heading flown [rad]; assumed."""

LIFT_THRUST, LIFT_CLIMB, TOUCH_CLIMB = 0.8, 0.3, 0.25
"""Share of the weight and climb rate that prove a lift-off, greatest climb rate at touch-down [m/s]; assumed."""

STOPPED_SHARE = 0.4
"""Weight of the time in which a descent has stopped though the thrust is not low; assumed."""

LANDING_STICK = 0.1
"""Throttle stick below which the pilot is landing in height hold [-]; assumed. A craft that sinks slower than it should, say
after its payload fell off, has not touched down."""

SETTLED_CLIMB = 0.05
"""A height is captured once the reference climb rate has come down to this [m/s]; assumed."""

INTEGRAL_MAX = 8.0
"""Limit of the climb integral [m/s2]: makes up for 80 % more mass than the builder knows of; assumed."""


@inner
def _reset_references(s, memory):
    """All references at the present estimate, so that the next response type starts without a jump."""
    roll, pitch, yaw = to_euler(s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3])
    memory[Memory.ROLL], memory[Memory.PITCH], memory[Memory.YAW] = roll, pitch, yaw
    for axis in range(3):
        memory[Memory.ROLL_SPEED + axis] = 0.0


@inner
def _reset_height(s, gains, memory):
    """Height control starts afresh from the present height and climb rate."""
    memory[Memory.HEIGHT], memory[Memory.HOLDING], memory[Memory.CLIMB_INTEGRAL] = s.height, 0.0, 0.0
    memory[Memory.CLIMB] = limit(s.climb_rate, -gains[GuideGain.SINK_MAX], gains[GuideGain.CLIMB_MAX])
    memory[Memory.MODEL] = s.climb_rate


@inner
def _stick_turn(s, gains):
    """Yaw rate of the stick [rad/s]."""
    yaw = shaped(s.stick[Stick.YAW], gains[GuideGain.STICK_DEADBAND], gains[GuideGain.YAW_EXPONENTIAL])
    return gains[GuideGain.YAW_RATE_FULL] * yaw


@inner
def _stick_thrust(s, craft, gains):
    """Total thrust of the throttle stick [N]: by the throttle curve to a motor command, by the thrust curve to a thrust."""
    command = throttle_curve(
        s.stick[Stick.THROTTLE], gains[GuideGain.THROTTLE_HOVER_AT], craft.hover_throttle,
        gains[GuideGain.THROTTLE_EXPONENTIAL],
    )  # fmt: skip
    return 4.0 * craft.max_thrust * thrust_at(command, craft.thrust_curve)


@inner
def _command_rates(s, gains, memory):
    """Rate command: shaped sticks are body rates; the attitude is left alone."""
    width, share = gains[GuideGain.STICK_DEADBAND], gains[GuideGain.EXPONENTIAL]
    for axis in range(2):
        s.rates_fed_forward[axis] = gains[GuideGain.RATE_FULL] * shaped(s.stick[axis], width, share)
    s.rates_fed_forward[2] = _stick_turn(s, gains)
    for i in range(4):
        s.attitude_wanted[i] = s.attitude[i]
    s.attitude_weight = 0.0
    _reset_references(s, memory)


@inner
def _tilt_targets(s, gains, mode):
    """Roll and pitch asked for [rad], kept together within the greatest tilt."""
    most, width, share = (
        gains[GuideGain.TILT_MAX],
        gains[GuideGain.STICK_DEADBAND],
        gains[GuideGain.EXPONENTIAL],
    )
    roll, pitch = s.target_roll, s.target_pitch
    if mode != Mode.SETPOINT:
        roll = most * shaped(s.stick[Stick.ROLL], width, share)
        pitch = most * shaped(s.stick[Stick.PITCH], width, share)
        if mode == Mode.HEIGHT_HOLD:
            roll, pitch = roll * s.airborne, pitch * s.airborne
    scale = most / at_least(math.sqrt(roll * roll + pitch * pitch), most)
    return roll * scale, pitch * scale


@inner
def _follow_heading(s, gains, memory, mode):
    """Heading reference: at the stick's rate, or towards the heading set; never far ahead of the heading flown."""
    flown = heading(s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3])
    if s.airborne == 0.0:
        memory[Memory.YAW], memory[Memory.YAW_SPEED] = flown, 0.0
        return
    yaw, speed = memory[Memory.YAW], memory[Memory.YAW_SPEED]
    if mode == Mode.SETPOINT:
        error = wrap(s.target_yaw - yaw)
        yaw, speed = follow(
            yaw, speed, error, gains[GuideGain.YAW_FREQUENCY], gains[GuideGain.YAW_RATE_FULL], s.dt
        )
    else:
        speed = slew(speed, _stick_turn(s, gains), gains[GuideGain.YAW_ACCELERATION], s.dt)
        yaw += s.dt * speed
    memory[Memory.YAW] = flown + limit(wrap(yaw - flown), -HEADING_LEAD, HEADING_LEAD)
    memory[Memory.YAW_SPEED] = speed


@inner
def _command_attitude(s, gains, memory, mode):
    """Attitude: targets through second-order command filters, their speeds fed forward as body rates."""
    targets = _tilt_targets(s, gains, mode)
    for axis in range(2):
        angle = memory[Memory.ROLL + axis]
        memory[Memory.ROLL + axis], memory[Memory.ROLL_SPEED + axis] = follow(
            angle, memory[Memory.ROLL_SPEED + axis], wrap(targets[axis] - angle),
            gains[GuideGain.ANGLE_FREQUENCY], gains[GuideGain.ANGLE_RATE_MAX], s.dt,
        )  # fmt: skip
    _follow_heading(s, gains, memory, mode)
    p, q, r = memory[Memory.ROLL_SPEED], memory[Memory.PITCH_SPEED], memory[Memory.YAW_SPEED]
    w, x, y, z = from_euler(memory[Memory.ROLL], memory[Memory.PITCH], memory[Memory.YAW])
    s.attitude_wanted[0], s.attitude_wanted[1], s.attitude_wanted[2], s.attitude_wanted[3] = w, x, y, z
    dx, dy, dz = down_in_body(w, x, y, z)  # -sin(pitch), cos(pitch) sin(roll), cos(pitch) cos(roll)
    turn = q / (math.sqrt(dy * dy + dz * dz) + 1e-9)
    s.rates_fed_forward[0], s.rates_fed_forward[1] = p + r * dx, turn * dz + r * dy
    s.rates_fed_forward[2] = r * dz - turn * dy
    s.attitude_weight = 1.0


@inner
def _sink_limit(s, gains):
    """Greatest sink rate wanted at this height [m/s]: the landing rate near the ground."""
    slow = gains[GuideGain.LANDING_RATE]
    sink = slow + gains[GuideGain.HEIGHT_P] * (s.height - gains[GuideGain.LANDING_HEIGHT])
    return limit(sink, slow, at_least(gains[GuideGain.SINK_MAX], slow))


@inner
def _stick_climb(s, gains, memory):
    """Climb rate by the throttle stick about its centre [m/s]; centred, and once slowed down, the height is captured."""
    stick = deadband(2.0 * s.stick[Stick.THROTTLE] - 1.0, gains[GuideGain.DEADBAND])
    if stick != 0.0:
        memory[Memory.HOLDING] = 0.0
    elif memory[Memory.HOLDING] == 0.0 and abs(memory[Memory.CLIMB]) < SETTLED_CLIMB:
        memory[Memory.HOLDING], memory[Memory.HEIGHT] = 1.0, s.height
    return stick * (gains[GuideGain.CLIMB_MAX] if stick > 0.0 else _sink_limit(s, gains))


@inner
def _climb_target(s, gains, memory, mode):
    """Climb rate asked for [m/s]; from the ground, anything above zero asks for a take-off."""
    if mode == Mode.SETPOINT:
        memory[Memory.HEIGHT] = s.target_height
        if s.target_height <= 0.0:
            return -_sink_limit(s, gains)
    else:
        climb = _stick_climb(s, gains, memory)
        if memory[Memory.HOLDING] == 0.0 or s.airborne == 0.0:
            return climb
    error = memory[Memory.HEIGHT] - s.height
    return limit(gains[GuideGain.HEIGHT_P] * error, -gains[GuideGain.SINK_MAX], gains[GuideGain.CLIMB_MAX])


@inner
def _ground_thrust(s, craft, gains, memory, target, high):
    """Thrust on the ground [N]: idle, or the take-off ramp from a third of the weight upward."""
    memory[Memory.CLIMB], memory[Memory.MODEL], memory[Memory.CLIMB_INTEGRAL] = 0.0, 0.0, 0.0
    ramp, weight = 0.0, craft.mass * G0
    if target > 0.0:
        step = s.dt * weight / (gains[GuideGain.TAKE_OFF_TIME] + 1e-9)
        ramp = limit(memory[Memory.RAMP] + step, weight / 3.0, high)
    memory[Memory.RAMP] = ramp
    return ramp


@inner
def _height_thrust(s, craft, gains, memory, mode):
    """Thrust that follows height [N]: P to a limited climb rate, PI to an acceleration, over the cosine of the tilt.

    The integral sees the departure from a model of the response to P alone, so that it makes up for mass and wind but does
    not wind up while the climb rate follows its reference.
    """
    target = _climb_target(s, gains, memory, mode)
    high = 4.0 * craft.max_thrust * gains[GuideGain.THRUST_HIGH]
    if s.airborne == 0.0:
        return _ground_thrust(s, craft, gains, memory, target, high)
    reference = slew(memory[Memory.CLIMB], target, gains[GuideGain.CLIMB_ACCELERATION], s.dt)
    memory[Memory.CLIMB] = reference
    model = memory[Memory.MODEL] + s.dt * gains[GuideGain.CLIMB_P] * (reference - memory[Memory.MODEL])
    memory[Memory.MODEL] = model
    error, integral = model - s.climb_rate, memory[Memory.CLIMB_INTEGRAL]
    upright = 1.0 - 2.0 * (s.attitude[1] * s.attitude[1] + s.attitude[2] * s.attitude[2])
    factor = (
        at_most(1.0 / (at_least(upright, 0.0) + 1e-9), gains[GuideGain.TILT_FACTOR_MAX])
        if upright > 0.0
        else 0.0
    )
    thrust = craft.mass * factor * (G0 + gains[GuideGain.CLIMB_P] * (reference - s.climb_rate) + integral)
    given = limit(thrust, gains[GuideGain.THRUST_LOW] * craft.mass * G0, high)
    if (thrust - given + s.unallocated[3]) * error <= 0.0:
        memory[Memory.CLIMB_INTEGRAL] = limit(
            integral + s.dt * gains[GuideGain.CLIMB_I] * error, -INTEGRAL_MAX, INTEGRAL_MAX
        )
    return given


@inner
def _landing_time(s, gains, memory, weight):
    """How long it has looked like a touch-down [s], slower where only the sinking has stopped; 0 if it does not."""
    if abs(s.climb_rate) > TOUCH_CLIMB:
        return 0.0
    if s.thrust_wanted < gains[GuideGain.TOUCH_SHARE] * weight:
        return memory[Memory.TIMER] + s.dt
    wants_ground = (
        s.target_height <= 0.0 if int(s.mode) == Mode.SETPOINT else s.stick[Stick.THROTTLE] < LANDING_STICK
    )
    if wants_ground and memory[Memory.CLIMB] < -TOUCH_CLIMB and s.climb_rate > 0.5 * memory[Memory.CLIMB]:
        return memory[Memory.TIMER] + STOPPED_SHARE * s.dt
    return 0.0


@inner
def _watch_ground(s, craft, gains, memory):
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
        timer = _landing_time(s, gains, memory, weight)
        if timer >= gains[GuideGain.TOUCH_TIME]:
            s.airborne, timer = 0.0, 0.0
            memory[Memory.RAMP] = 0.0
    memory[Memory.TIMER] = timer


@block("guide", gains=GuideGain, memory=SIZE)
def response(s, craft, gains, memory):
    """Rate command, attitude command, height hold and set values; take-off and touch-down."""
    mode = mode_in_force(s, craft, gains, memory)
    if memory[Memory.READY] == 0.0:
        memory[Memory.READY] = 1.0
        s.airborne = 1.0 if s.height > IN_AIR_HEIGHT else 0.0
        _reset_references(s, memory)
        _reset_height(s, gains, memory)
    if mode == Mode.RATE_COMMAND:
        _command_rates(s, gains, memory)
    else:
        _command_attitude(s, gains, memory, mode)
    if mode >= Mode.HEIGHT_HOLD:
        s.thrust_wanted = _height_thrust(s, craft, gains, memory, mode)
    else:
        s.thrust_wanted = _stick_thrust(s, craft, gains)
        memory[Memory.RAMP] = 0.0
        _reset_height(s, gains, memory)
    _watch_ground(s, craft, gains, memory)
