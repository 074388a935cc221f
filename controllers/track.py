"""Guide that flies a line at the craft's limit: `navigation`, and in the response type trajectory the whole thrust vector.

    f = a_ref + (d1 + d2 |V|) V - g - push + P (x_ref - x) + D (v_ref - v) + integral of I (x_ref - x),  north-east-down
The shafts are to point along f the shortest way and to turn with it, w = u x f'/|f|; the heading comes after. The thrust is the
part of f along the shafts as they are, with what the inflow of a climb takes, and less what the accelerometer shows the rotors to
give beyond what was asked of them: at 16 m/s along their discs some 40 %. `navigation` keeps height by itself; a line at 70
degrees of tilt has no height of its own.

Rationale: with a heading that is kept, thrust that swings round the craft at 80 degrees of tilt asks for yaw at 60 rad/s, which
no craft has; so a turn about the thrust is never asked for. A thrust vector near nothing has no direction: what holds the line
may bend it by SWAY only, and never shortens it below LINE_LEAST.

References
----------
D. Mellinger, V. Kumar, Minimum snap trajectory generation and control for quadrotors, ICRA 2011,
doi 10.1109/ICRA.2011.5980409, eqs. 6 to 8 (from memory). M. Faessler, A. Franchi, D. Scaramuzza, IEEE RA-L 3 (2018),
doi 10.1109/LRA.2017.2776353 (drag in the flat map; from memory). E. Tal, S. Karaman, Accurate Tracking of Aggressive Quadrotor
Trajectories Using Incremental Nonlinear Dynamic Inversion and Differential Flatness, IEEE TCST 29 (2021),
doi 10.1109/TCST.2020.3001117 (the accelerometer tells what the model lacks; from memory). Inflow: T = a Omega^2 + b Omega w of a
rotor in an axial flow (blade element theory), so that what is lost is proportional to w sqrt(T).
"""

from __future__ import annotations

import math

from controllers.contract import block, inner
from controllers.filters import at_least, at_most, limit
from controllers.guide_gains import SIZE, GuideGain, Memory
from controllers.guide_ground import stop_motors, watch_ground
from controllers.guide_height import G0
from controllers.guide_position import shorten
from controllers.navigation import fly_mode, place_mode
from controllers.rotation import down_in_body, heading, multiply, to_matrix, wrap
from controllers.signals import Mode

FARTHEST = 3.0
"""Greatest distance from the line that asks for acceleration [m]; assumed."""

LIFT_LEAST = 0.15
"""Least upward part of the thrust vector in multiples of gravity: it never points down [-]; assumed."""

FADE = 0.5
"""Distance from the line beyond which its integrals stand still [m]; assumed."""

SWAY = 0.7
"""Greatest sideways part of what holds the line, over the thrust vector of the line itself: 35 degrees; assumed."""

TURN_MOST = 20.0
"""Greatest rate fed forward [rad/s]; assumed, beyond what a line asks for."""

PUSH_MOST = 15.0
"""Greatest push that is believed, per axis [m/s2]; assumed."""


@inner
def _up(s):
    """Body up in the world: minus the third column of the matrix, which is the world's down seen by the inverse rotation."""
    x, y, z = down_in_body(-s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3])
    return -x, -y, -z


@inner
def _begin_line(s, memory):
    """Nothing is known yet of the line and of what pushes."""
    memory[Memory.LINE] = 1.0
    memory[Memory.NORTH_INTEGRAL] = memory[Memory.EAST_INTEGRAL] = memory[Memory.DOWN_INTEGRAL] = 0.0
    for k in range(3):
        memory[Memory.ASKED + k] = memory[Memory.WAITED + k] = s.target_acceleration[k]
        memory[Memory.HELD + k] = memory[Memory.CHANGE + k] = memory[Memory.PUSHED + k] = 0.0
    memory[Memory.GIVEN] = G0
    memory[Memory.MORE] = 0.0


@inner
def _line_jerk(s, gains, memory):
    """Change of the acceleration asked for [m/s3]; in memory that acceleration as the attitude waits for it."""
    lead = gains[GuideGain.LINE_LEAD]
    share = s.dt / (lead + s.dt)
    over = 1.0 / (s.dt + 1e-12)
    jx = over * (s.target_acceleration[0] - memory[Memory.ASKED])
    jy = over * (s.target_acceleration[1] - memory[Memory.ASKED + 1])
    jz = over * (s.target_acceleration[2] - memory[Memory.ASKED + 2])
    for k in range(3):
        memory[Memory.ASKED + k] = s.target_acceleration[k]
        memory[Memory.WAITED + k] += share * (s.target_acceleration[k] - memory[Memory.WAITED + k])
    return jx, jy, jz


@inner
def _drag(s, gains):
    """Force over mass that the drag of the line's velocity takes [m/s2]."""
    x, y, z = s.target_velocity[0], s.target_velocity[1], s.target_velocity[2]
    d = gains[GuideGain.LINE_DRAG] + gains[GuideGain.LINE_DRAG_SQUARED] * math.sqrt(x * x + y * y + z * z)
    return d * x, d * y, d * z


@inner
def _holding(s, gains, memory):
    """What is added to the line's acceleration so that the craft stays on it [m/s2]."""
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
    hx = p * north + d * (s.target_velocity[0] - s.velocity[0]) + memory[Memory.NORTH_INTEGRAL]
    hy = p * east + d * (s.target_velocity[1] - s.velocity[1]) + memory[Memory.EAST_INTEGRAL]
    hz = p * down + d * (s.target_velocity[2] + s.climb_rate) + memory[Memory.DOWN_INTEGRAL]
    return hx, hy, hz


@inner
def _swayed(fx, fy, fz, hx, hy, hz, least):
    """What holds the line, bounded: sideways to SWAY of the line's thrust vector f, along it so that `least` is left of it."""
    size = at_least(math.sqrt(fx * fx + fy * fy + fz * fz), least)
    along = (hx * fx + hy * fy + hz * fz) / (size * size)
    hx, hy, hz = hx - along * fx, hy - along * fy, hz - along * fz
    side = math.sqrt(hx * hx + hy * hy + hz * hz)
    most = SWAY * size * (1.0 + at_least(along, 0.0))
    scale = most / side if side > most else 1.0
    along = at_least(along, at_most(least / size - 1.0, 0.0))
    return scale * hx + along * fx, scale * hy + along * fy, scale * hz + along * fz


@inner
def _lost_in_climb(s, gains, thrust):
    """What the inflow of the climb along the shafts takes of a thrust over mass [m/s2]."""
    x, y, z = _up(s)
    climb = at_least(x * s.velocity[0] + y * s.velocity[1] - z * s.climb_rate, 0.0)
    return gains[GuideGain.INFLOW_LOSS] * climb * math.sqrt(thrust * G0)


@inner
def _learn_push(s, craft, gains, memory):
    """What the accelerometer reads beside the thrust as it should be by now and the drag reckoned with: along the shafts, which
    turns with the craft, and across them."""
    frequency = gains[GuideGain.PUSH_FREQUENCY]
    if frequency <= 0.0:
        return
    given = at_least((s.thrust_wanted - s.unallocated[3]) / craft.mass, 0.0)
    given = at_least(given - _lost_in_climb(s, gains, given), 0.0)
    lag = craft.loop_delay + 0.5 * (craft.motor_lag[0] + craft.motor_lag[1])
    memory[Memory.GIVEN] += s.dt / (lag + s.dt) * (given - memory[Memory.GIVEN])
    share = s.dt * frequency / (1.0 + s.dt * frequency)
    dx, dy, dz = _drag(s, gains)
    x, y, z = _up(s)
    lost = x * dx + y * dy + z * dz
    more = limit(lost - s.accel[2] - memory[Memory.GIVEN], -PUSH_MOST, PUSH_MOST)
    memory[Memory.MORE] += share * (more - memory[Memory.MORE])
    r = to_matrix(s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3])
    drag = (dx - lost * x, dy - lost * y, dz - lost * z)
    for k in range(3):
        pushed = limit(r[3 * k] * s.accel[0] + r[3 * k + 1] * s.accel[1] + drag[k], -PUSH_MOST, PUSH_MOST)
        memory[Memory.PUSHED + k] += share * (pushed - memory[Memory.PUSHED + k])


@inner
def _give_thrust(s, craft, gains, memory, fx, fy, fz):
    """The part of f along the shafts, with what their inflow takes [N]; less while they point elsewhere, never none."""
    x, y, z = _up(s)
    along = x * fx + y * fy + z * fz - memory[Memory.MORE]
    along = at_least(along, gains[GuideGain.THRUST_LOW] * G0)
    wanted = craft.mass * (along + _lost_in_climb(s, gains, along))
    s.thrust_wanted = at_most(wanted, 4.0 * craft.max_thrust * gains[GuideGain.THRUST_HIGH])


@inner
def _turn_to(s, gains, fx, fy, fz, jx, jy, jz):
    """Attitude and rates: the shafts the shortest way to f and on with its change, the heading slowly back while upright.

    The rate of the unit vector u along f is w = u x j/|f|; about u itself the craft need not turn.
    """
    over = 1.0 / math.sqrt(fx * fx + fy * fy + fz * fz + 1e-9)
    ux, uy, uz = over * fx, over * fy, over * fz
    over = at_most(over, 2.0 / G0)
    x, y, z = _up(s)
    w = at_least(1.0 + x * ux + y * uy + z * uz, 1e-3)
    n, e, d = y * uz - z * uy, z * ux - x * uz, x * uy - y * ux
    scale = 1.0 / math.sqrt(w * w + n * n + e * e + d * d)
    a, b, c, g = multiply(
        scale * w, scale * n, scale * e, scale * d, s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3]
    )
    s.attitude_wanted[0], s.attitude_wanted[1], s.attitude_wanted[2], s.attitude_wanted[3] = a, b, c, g
    wx, wy, wz = over * (uy * jz - uz * jy), over * (uz * jx - ux * jz), over * (ux * jy - uy * jx)
    r = to_matrix(a, b, c, g)
    s.rates_fed_forward[0] = limit(r[0] * wx + r[3] * wy + r[6] * wz, -TURN_MOST, TURN_MOST)
    s.rates_fed_forward[1] = limit(r[1] * wx + r[4] * wy + r[7] * wz, -TURN_MOST, TURN_MOST)
    off = wrap(s.target_yaw - heading(s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3]))
    upright = at_least(-z, 0.0)
    s.rates_fed_forward[2] = upright * upright * limit(0.5 * gains[GuideGain.YAW_FREQUENCY] * off, -2.0, 2.0)
    s.attitude_weight = 1.0


@inner
def _change_of_holding(s, gains, memory, hx, hy, hz):
    """Change of what holds the line [m/s3], smoothed by a first-order lag at PLACE_FREQUENCY."""
    share = limit(s.dt * gains[GuideGain.PLACE_FREQUENCY], 0.0, 1.0)
    over = share / (s.dt + 1e-12)
    held = (hx, hy, hz)
    for k in range(3):
        change = memory[Memory.CHANGE + k]
        memory[Memory.CHANGE + k] = change + over * (held[k] - memory[Memory.HELD + k]) - share * change
        memory[Memory.HELD + k] = held[k]
    return memory[Memory.CHANGE], memory[Memory.CHANGE + 1], memory[Memory.CHANGE + 2]


@inner
def fly_line(s, craft, gains, memory):
    """Attitude, rates and thrust of the trajectory asked for."""
    if memory[Memory.LINE] == 0.0:
        _begin_line(s, memory)
    _learn_push(s, craft, gains, memory)
    jx, jy, jz = _line_jerk(s, gains, memory)
    ax, ay, az = memory[Memory.WAITED], memory[Memory.WAITED + 1], memory[Memory.WAITED + 2]
    dx, dy, dz = _drag(s, gains)
    fx, fy, fz = ax + dx, ay + dy, az + dz - G0
    least = gains[GuideGain.LINE_LEAST] * G0
    hx, hy, hz = _holding(s, gains, memory)
    hx, hy, hz = _swayed(fx, fy, fz, hx, hy, hz, least)
    cx, cy, cz = _change_of_holding(s, gains, memory, hx, hy, hz)
    hx, hy, hz = hx - memory[Memory.PUSHED], hy - memory[Memory.PUSHED + 1], hz - memory[Memory.PUSHED + 2]
    hx, hy, hz = _swayed(fx, fy, fz, hx, hy, hz, least)
    fx, fy, fz = fx + hx, fy + hy, fz + hz
    lift = at_least(math.sqrt(fx * fx + fy * fy) / math.tan(gains[GuideGain.TILT_MAX]), LIFT_LEAST * G0)
    fz = at_most(fz, -lift)
    _turn_to(s, gains, fx, fy, fz, jx + cx, jy + cy, jz + cz)
    x, y, z = s.target_acceleration[0] - ax, s.target_acceleration[1] - ay, s.target_acceleration[2] - az
    _give_thrust(s, craft, gains, memory, fx + x, fy + y, fz + z)
    memory[Memory.YAW] = heading(s.attitude[0], s.attitude[1], s.attitude[2], s.attitude[3])
    memory[Memory.YAW_SPEED] = 0.0


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
