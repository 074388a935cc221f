"""Guide that flies a line at the craft's limit: `navigation`, and in the response type trajectory the whole thrust vector.

    f = a_ref - g + P (x_ref - x) + D (v_ref - v) + integral of I (x_ref - x),  all three axes, north-east-down
The thrust is to point along f, with the heading asked for; what is asked for is the part of f along the shafts as they point now, and
what the inflow of a climb along them takes. Where `navigation` keeps height by itself and its tilt within a third of a right angle
less, this one trades height and place alike: a line at 70 degrees of tilt has no height of its own.

References
----------
D. Mellinger, V. Kumar, Minimum snap trajectory generation and control for quadrotors, ICRA 2011,
doi 10.1109/ICRA.2011.5980409, eqs. 6 to 8 (from memory). Inflow: T = a Omega^2 + b Omega w of a rotor in an axial flow (blade element
theory), so that what is lost is proportional to w sqrt(T).
"""

from __future__ import annotations

import math

from controllers.contract import block, inner
from controllers.filters import at_least, at_most, limit
from controllers.guide_attitude import command_attitude, follow_heading
from controllers.guide_gains import SIZE, GuideGain, Memory
from controllers.guide_ground import stop_motors, watch_ground
from controllers.guide_height import G0
from controllers.guide_position import shorten
from controllers.navigation import fly_mode, place_mode
from controllers.rotation import down_in_body
from controllers.signals import Mode

FARTHEST = 3.0
"""Greatest distance from the line that asks for acceleration [m]; assumed."""

LIFT_LEAST = 0.15
"""Least upward part of the thrust vector in multiples of gravity: it never points down [-]; assumed."""

FADE = 0.5
"""Distance from the line beyond which its integrals stand still [m]; assumed."""


@inner
def _shafts(s):
    """Body down in the world: the third column of the matrix, which is the world's down seen by the inverse rotation."""
    return down_in_body(-s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3])


@inner
def _begin_line(s, memory):
    """The thrust vector starts as the craft is tilted, its integrals at nothing."""
    memory[Memory.LINE] = 1.0
    memory[Memory.NORTH_INTEGRAL] = memory[Memory.EAST_INTEGRAL] = memory[Memory.DOWN_INTEGRAL] = 0.0
    north, east, down = _shafts(s)
    scale = G0 / at_least(down, 0.3)
    memory[Memory.NORTH_ACCELERATION], memory[Memory.EAST_ACCELERATION] = -scale * north, -scale * east
    memory[Memory.DOWN_ACCELERATION] = -G0
    memory[Memory.NORTH_JERK] = memory[Memory.EAST_JERK] = memory[Memory.DOWN_JERK] = 0.0


@inner
def _force_wanted(s, gains, memory):
    """f [m/s2]; kept within the greatest tilt by more lift, for a turn that is too wide is worse than one that is too high."""
    p, d, i = gains[GuideGain.PLACE_P], gains[GuideGain.PLACE_D], s.dt * gains[GuideGain.PLACE_I]
    north, east = s.target_north - s.position[0], s.target_east - s.position[1]
    near = north * north + east * east < FADE * FADE
    north, east = shorten(north, east, FARTHEST)
    down = limit(s.height - s.target_height, -FARTHEST, FARTHEST)
    most = 0.5 * G0
    if near:
        memory[Memory.NORTH_INTEGRAL], memory[Memory.EAST_INTEGRAL] = shorten(
            memory[Memory.NORTH_INTEGRAL] + i * north, memory[Memory.EAST_INTEGRAL] + i * east, most
        )
    if abs(down) < FADE:
        memory[Memory.DOWN_INTEGRAL] = limit(memory[Memory.DOWN_INTEGRAL] + i * down, -most, most)
    fn = s.target_acceleration[0] + p * north + d * (s.target_velocity[0] - s.velocity[0])
    fe = s.target_acceleration[1] + p * east + d * (s.target_velocity[1] - s.velocity[1])
    fd = s.target_acceleration[2] + p * down + d * (s.target_velocity[2] + s.climb_rate)
    fn, fe = fn + memory[Memory.NORTH_INTEGRAL], fe + memory[Memory.EAST_INTEGRAL]
    least = math.sqrt(fn * fn + fe * fe) / math.tan(gains[GuideGain.TILT_MAX])
    fd = at_most(fd + memory[Memory.DOWN_INTEGRAL] - G0, -at_least(least, LIFT_LEAST * G0))
    return fn, fe, fd


@inner
def _tilt_along(memory):
    """Roll and pitch references with their speeds, from f and its change in heading axes.

    tan(pitch) = f_f/f_d and tan(roll) = f_r/h with h = hypot(f_f, f_d): the shafts lie along -f.
    """
    c, n = math.cos(memory[Memory.YAW]), math.sin(memory[Memory.YAW])
    north, east, down = (
        memory[Memory.NORTH_ACCELERATION],
        memory[Memory.EAST_ACCELERATION],
        memory[Memory.DOWN_ACCELERATION],
    )
    f, r, lift, turning = c * north + n * east, c * east - n * north, -down, memory[Memory.YAW_SPEED]
    north, east = memory[Memory.NORTH_JERK], memory[Memory.EAST_JERK]
    df, dr = c * north + n * east + turning * r, c * east - n * north - turning * f
    dl = -memory[Memory.DOWN_JERK]
    square = lift * lift + f * f + 1e-9
    h = math.sqrt(square)
    memory[Memory.PITCH], memory[Memory.PITCH_SPEED] = math.atan2(-f, lift), (f * dl - df * lift) / square
    memory[Memory.ROLL] = math.atan2(r, h)
    memory[Memory.ROLL_SPEED] = (dr * h - r * (f * df + lift * dl) / h) / (square + r * r)


@inner
def _thrust_along(s, craft, gains, memory):
    """The part of f along the shafts, with what their inflow takes [N]; less while they point elsewhere, never none."""
    x, y, z = _shafts(s)
    along = -(
        x * memory[Memory.NORTH_ACCELERATION]
        + y * memory[Memory.EAST_ACCELERATION]
        + z * memory[Memory.DOWN_ACCELERATION]
    )
    along = at_least(along, gains[GuideGain.THRUST_LOW] * G0)
    climb = at_least(-(x * s.velocity[0] + y * s.velocity[1] - z * s.climb_rate), 0.0)
    lost = gains[GuideGain.INFLOW_LOSS] * climb * math.sqrt(along)
    return at_most(
        craft.mass * (along + lost), 4.0 * craft.max_thrust * gains[GuideGain.THRUST_HIGH]
    )


@inner
def _change(memory, value, speed, wanted, share, over):
    """A part of f taken as it is, and its change with time, smoothed by a first-order lag at PLACE_FREQUENCY."""
    memory[speed] += over * (wanted - memory[value]) - share * memory[speed]
    memory[value] = wanted


@inner
def fly_line(s, craft, gains, memory):
    """Attitude, rates and thrust of the trajectory asked for."""
    if memory[Memory.LINE] == 0.0:
        _begin_line(s, memory)
    follow_heading(s, gains, memory, False, s.target_yaw)
    share = limit(s.dt * gains[GuideGain.PLACE_FREQUENCY], 0.0, 1.0)
    fn, fe, fd = _force_wanted(s, gains, memory)
    over = share / (s.dt + 1e-12)
    _change(memory, Memory.NORTH_ACCELERATION, Memory.NORTH_JERK, fn, share, over)
    _change(memory, Memory.EAST_ACCELERATION, Memory.EAST_JERK, fe, share, over)
    _change(memory, Memory.DOWN_ACCELERATION, Memory.DOWN_JERK, fd, share, over)
    _tilt_along(memory)
    command_attitude(s, memory)
    s.thrust_wanted = _thrust_along(s, craft, gains, memory)


@block("guide", gains=GuideGain, memory=SIZE)
def track(s, craft, gains, memory):
    """As `navigation`, and a trajectory is flown with the whole thrust vector, for lines at the limit of the craft."""
    mode = place_mode(s, craft, gains, memory)
    if mode == Mode.TRAJECTORY and s.airborne > 0.0:
        fly_line(s, craft, gains, memory)
        watch_ground(s, craft, gains, memory, mode)
        stop_motors(s, gains, memory, mode)
    else:
        memory[Memory.LINE] = 0.0
        fly_mode(s, craft, gains, memory, mode)
