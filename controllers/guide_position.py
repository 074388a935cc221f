"""Guide, place: a place asked for that moves as a craft can, and the acceleration that keeps the craft on it.

    a = a_ref + P (x_ref - x) + D (v_ref - v) + integral of I (x_ref - x),  horizontal, world axes

The acceleration is turned into roll and pitch with the heading asked for, and its change into their speeds: position and
heading over time give attitude and rates (differential flatness; drag is left to the integral).

References
----------
D. Mellinger, V. Kumar, Minimum snap trajectory generation and control for quadrotors, ICRA 2011,
doi 10.1109/ICRA.2011.5980409 (flat outputs; from memory). Speed limited to sqrt(2 a d) before a stop: constant braking,
kinematics. The rest: common practice, no source.
"""

from __future__ import annotations

import math

from controllers.contract import inner, kernel
from controllers.filters import at_most, follow, limit
from controllers.guide_gains import GuideGain, Memory
from controllers.guide_height import G0
from controllers.guide_sticks import stick_velocity
from controllers.signals import Mode

BRAKING_SHARE = 0.8
"""Share of the acceleration with which the place asked for brakes: what is left keeps it on its line; assumed."""

APPROACH_RATE = 1.0
"""Speed over distance at the end of a way [1/s], where sqrt(2 a d) would stop with a jerk; assumed."""

LIFT_LOW, LIFT_HIGH = 0.5, 2.0
"""Bounds of the upward specific force in multiples of gravity when acceleration becomes tilt [-]; assumed."""


@kernel
def shorten(x, y, most):
    """A horizontal vector brought to a length of at most `most`."""
    length = math.sqrt(x * x + y * y)
    if length <= most:
        return x, y
    return most / length * x, most / length * y


@kernel
def speed_before_stop(distance, cruise, braking):
    """Speed [m/s] at a distance [m] from where it stops: sqrt(2 a d) for constant braking, proportional over the last metres.

    v = k d up to d0 = a/k2, where its deceleration k2 d reaches a; beyond, v2 = 2 a (d - d0/2), which meets it smoothly.
    """
    soft = braking / (APPROACH_RATE * APPROACH_RATE)
    if distance < soft:
        return at_most(APPROACH_RATE * distance, cruise)
    return at_most(math.sqrt(2.0 * braking * (distance - 0.5 * soft)), cruise)


@inner
def begin_place(s, gains, memory):
    """The place asked for starts where the craft is, at its velocity, from the tilt that is asked for."""
    memory[Memory.NORTH], memory[Memory.EAST] = s.position[0], s.position[1]
    memory[Memory.NORTH_SPEED], memory[Memory.EAST_SPEED] = shorten(
        s.velocity[0], s.velocity[1], gains[GuideGain.SPEED_MAX]
    )
    memory[Memory.NORTH_INTEGRAL] = memory[Memory.EAST_INTEGRAL] = 0.0
    most = G0 * math.tan(gains[GuideGain.PLACE_TILT])
    forward = limit(-G0 * math.tan(memory[Memory.PITCH]), -most, most)
    right = limit(math.sqrt(G0 * G0 + forward * forward) * math.tan(memory[Memory.ROLL]), -most, most)
    c, n = math.cos(memory[Memory.YAW]), math.sin(memory[Memory.YAW])
    memory[Memory.NORTH_ACCELERATION] = c * forward - n * right
    memory[Memory.EAST_ACCELERATION] = n * forward + c * right
    memory[Memory.NORTH_JERK] = memory[Memory.EAST_JERK] = 0.0


@inner
def _velocity_towards(memory, north, east, cruise, braking):
    """Velocity of the place asked for on its straight way to a point [m/s]."""
    north, east = north - memory[Memory.NORTH], east - memory[Memory.EAST]
    distance = math.sqrt(north * north + east * east)
    share = speed_before_stop(distance, cruise, braking) / (distance + 1e-9)
    return share * north, share * east


@inner
def _velocity_wanted(s, gains, memory, mode):
    """Velocity that the place asked for should have [m/s], north and east; zero holds it where it stops."""
    if mode == Mode.POSITION_HOLD:
        forward, right = stick_velocity(s, gains)
        c, n = math.cos(memory[Memory.YAW]), math.sin(memory[Memory.YAW])
        return c * forward - n * right, n * forward + c * right
    braking = BRAKING_SHARE * gains[GuideGain.ACCELERATION_MAX]
    if mode == Mode.WAYPOINT:
        if s.height < at_most(gains[GuideGain.LANDING_HEIGHT], 0.5 * s.target_height):
            return 0.0, 0.0  # rises first: a tilt this low could catch a foot
        return _velocity_towards(
            memory, s.target_north, s.target_east, gains[GuideGain.CRUISE_SPEED], braking
        )
    if mode == Mode.HOMING and memory[Memory.PHASE] > 1.0:
        return _velocity_towards(memory, 0.0, 0.0, gains[GuideGain.HOMING_SPEED], braking)
    return 0.0, 0.0


@inner
def _move_place(s, gains, memory, mode, most_error):
    """One step of the place asked for; returns its acceleration [m/s2], north and east.

    Its velocity changes by ACCELERATION_MAX at most, and it waits for a craft that is far behind.
    """
    if mode == Mode.TRAJECTORY:
        memory[Memory.NORTH], memory[Memory.EAST] = s.target_north, s.target_east
        memory[Memory.NORTH_SPEED], memory[Memory.EAST_SPEED] = s.target_velocity[0], s.target_velocity[1]
        return s.target_acceleration[0], s.target_acceleration[1]
    north, east = memory[Memory.NORTH] - s.position[0], memory[Memory.EAST] - s.position[1]
    share = limit(2.0 - 2.0 * math.sqrt(north * north + east * east) / most_error, 0.0, 1.0)
    north, east = _velocity_wanted(s, gains, memory, mode)
    north, east = shorten(
        share * north - memory[Memory.NORTH_SPEED],
        share * east - memory[Memory.EAST_SPEED],
        s.dt * gains[GuideGain.ACCELERATION_MAX],
    )
    memory[Memory.NORTH_SPEED] += north
    memory[Memory.EAST_SPEED] += east
    memory[Memory.NORTH] += s.dt * memory[Memory.NORTH_SPEED]
    memory[Memory.EAST] += s.dt * memory[Memory.EAST_SPEED]
    over = 1.0 / (s.dt + 1e-12)
    return over * north, over * east


@inner
def _keep_place(s, gains, memory, mode):
    """Acceleration asked of the craft [m/s2], north and east, within what PLACE_TILT gives; there, and far off, the integral
    stops."""
    p, d, i = gains[GuideGain.PLACE_P], gains[GuideGain.PLACE_D], s.dt * gains[GuideGain.PLACE_I]
    most_error = gains[GuideGain.SPEED_MAX] * d / (p + 1e-3)  # a craft far off comes back at SPEED_MAX
    north, east = _move_place(s, gains, memory, mode, most_error)
    off_n, off_e = shorten(
        memory[Memory.NORTH] - s.position[0], memory[Memory.EAST] - s.position[1], most_error
    )
    north += p * off_n + d * (memory[Memory.NORTH_SPEED] - s.velocity[0]) + memory[Memory.NORTH_INTEGRAL]
    east += p * off_e + d * (memory[Memory.EAST_SPEED] - s.velocity[1]) + memory[Memory.EAST_INTEGRAL]
    most = G0 * math.tan(gains[GuideGain.PLACE_TILT])
    given_n, given_e = shorten(north, east, most)
    close = (
        off_n * off_n + off_e * off_e < 0.25 * most_error * most_error
    )  # farther off it is on its way back
    if close and (north - given_n) * off_n + (east - given_e) * off_e <= 0.0:
        memory[Memory.NORTH_INTEGRAL], memory[Memory.EAST_INTEGRAL] = shorten(
            memory[Memory.NORTH_INTEGRAL] + i * off_n, memory[Memory.EAST_INTEGRAL] + i * off_e, most
        )
    return given_n, given_e


@inner
def _tilt_for(memory, lift):
    """Roll and pitch references and their speeds, from the filtered acceleration and its change in heading axes.

    tan(pitch) = -f/L and tan(roll) = r/h with h = hypot(L, f): forward f, right r, upward specific force L (held);
    f' = j_f + yaw' r and r' = j_r - yaw' f.
    """
    c, n = math.cos(memory[Memory.YAW]), math.sin(memory[Memory.YAW])
    north, east = memory[Memory.NORTH_ACCELERATION], memory[Memory.EAST_ACCELERATION]
    f, r, turning = c * north + n * east, c * east - n * north, memory[Memory.YAW_SPEED]
    north, east = memory[Memory.NORTH_JERK], memory[Memory.EAST_JERK]
    df, dr = c * north + n * east + turning * r, c * east - n * north - turning * f
    square = lift * lift + f * f
    h = math.sqrt(square)
    memory[Memory.PITCH], memory[Memory.PITCH_SPEED] = math.atan2(-f, lift), -df * lift / square
    memory[Memory.ROLL] = math.atan2(r, h)
    memory[Memory.ROLL_SPEED] = (dr * h - r * f * df / h) / (square + r * r)


@inner
def tilt_by_place(s, gains, memory, mode):
    """Roll and pitch references that hold or fly the place; level on the ground, where the place asked for waits."""
    north, east, lift = 0.0, 0.0, G0
    if s.airborne > 0.0:
        north, east = _keep_place(s, gains, memory, mode)
    else:
        begin_place(s, gains, memory)
    if mode == Mode.TRAJECTORY:
        lift = limit(G0 - s.target_acceleration[2], LIFT_LOW * G0, LIFT_HIGH * G0)
    w, jerk = gains[GuideGain.PLACE_FREQUENCY], gains[GuideGain.JERK_MAX]
    value = memory[Memory.NORTH_ACCELERATION]
    memory[Memory.NORTH_ACCELERATION], memory[Memory.NORTH_JERK] = follow(
        value, memory[Memory.NORTH_JERK], north - value, w, jerk, s.dt
    )
    value = memory[Memory.EAST_ACCELERATION]
    memory[Memory.EAST_ACCELERATION], memory[Memory.EAST_JERK] = follow(
        value, memory[Memory.EAST_JERK], east - value, w, jerk, s.dt
    )
    _tilt_for(memory, lift)
