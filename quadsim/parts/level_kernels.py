"""Level flight of a craft in a MADE record, tilt by tilt, from its rotor map.

On a ray of the map, V/(n D) = L with J = L sin(tilt) and Jp = L cos(tilt), every force goes with rho n^2 D^4: thrust, the rotors'
in-plane force, the airframe's drag and, by sqrt(T) n, that of arms and motors in the wakes. So the weight drops out of where on
the ray a craft flies level, and then says how fast. Body axes:
    X = a L^2 c + 4 CH + 4 k sqrt(CT) L c = m g s,   Z = 4 (1 - loss) CT - b L^2 s = m g c, over rho n^2 D^4
"""

from __future__ import annotations

import math

from quadsim.dynamics.interference import LOSS_SWEPT_AWAY
from quadsim.dynamics.rotor_map import AXIAL_MIN, AXIAL_STEP, INPLANE_STEP, N_AXIAL, N_INPLANE
from quadsim.jit import inner
from quadsim.parts.drive_kernels import LEAST, UNEVEN, motor_current

TILTS = 11
"""Halvings of the range of the tilt: 0.04 degrees are left, less than 0.1 m/s."""
FARTHEST = 2.5
"""Greatest V/(n D) that is looked at; there every rotor is a windmill."""
CLOSER, FOUND = 9, 1e-4
"""Steps of the search on a ray, and the change of V/(n D) at which it ends."""


@inner(forceinline=True)
def look_up(grid, channel, axial, inplane):
    """Bilinear value of one coefficient of a rotor map; outside its axes that of the edge."""
    u = min(max((axial - AXIAL_MIN) / AXIAL_STEP, 0.0), N_AXIAL - 1.0)
    v = min(max(inplane / INPLANE_STEP, 0.0), N_INPLANE - 1.0)
    i, j = min(int(u), N_AXIAL - 2), min(int(v), N_INPLANE - 2)
    a, b = u - i, v - j
    low = grid[i, j, channel] * (1.0 - b) + grid[i, j + 1, channel] * b
    high = grid[i + 1, j, channel] * (1.0 - b) + grid[i + 1, j + 1, channel] * b
    return low * (1.0 - a) + high * a


@inner(forceinline=True)
def kept_share(c, made):
    """Share of the free rotor's thrust that is left on the craft: a wind far above the induced velocity sweeps a part of the
    installed loss away (quadsim.dynamics.interference)."""
    return 1.0 - made.loss * (1.0 - LOSS_SWEPT_AWAY * c * c)


@inner
def balance(far, s, c, grid, made):
    """What is left of the forces ahead, X c - Z s, and Z, both over rho n^2 D^4, at L = far."""
    thrust = look_up(grid, 0, far * s, far * c)
    in_plane = look_up(grid, 2, far * s, far * c) + made.blown * math.sqrt(max(thrust, 0.0)) * far * c
    along = made.ahead * far * far * c + 4.0 * in_plane
    lift = 4.0 * kept_share(c, made) * thrust - made.below * far * far * s
    return along * c - lift * s, lift


@inner
def level_advance(s, c, grid, made):
    """L of level flight at a tilt, and Z over rho n^2 D^4: false position with the kept end's weight halved (Illinois)."""
    low, high = 0.0, FARTHEST
    left_low, _ = balance(low, s, c, grid, made)
    left_high, _ = balance(high, s, c, grid, made)
    far, lift, side = low, 0.0, 0
    for _ in range(CLOSER):
        before = far
        far = (low * left_high - high * left_low) / (left_high - left_low)
        left, lift = balance(far, s, c, grid, made)
        if left < 0.0:
            low, left_low = far, left
            left_high *= 0.5 if side < 0 else 1.0
            side = -1
        else:
            high, left_high = far, left
            left_low *= 0.5 if side > 0 else 1.0
            side = 1
        if abs(far - before) < FOUND:
            break
    return far, lift


@inner
def fed(omega, twist, open_side, asked, reserve, made):
    """True when the drive gives rotors at a mean speed [rad/s] with a torque twist * speed^2: command and current of the one that
    carries most with a reserve of command left, the voltage that a guide asks for at most [V], and the pack's current, by
    `quadsim.contest.dash.margins`."""
    current = motor_current(omega, twist, made)
    across = current * made.ohms + made.kt * omega
    square = open_side * open_side - 16.0 * made.pack_ohms * across * current
    if square < 0.0 or across > asked or omega > made.cap:
        return False
    volts = 0.5 * (open_side + math.sqrt(square))
    busy = omega * math.sqrt(UNEVEN)
    hardest = motor_current(busy, twist, made)
    command = (hardest * made.ohms + made.kt * busy) / volts
    faster = 1.0 + reserve / max(command, 0.01)
    idle = made.slope_current * busy
    raised = made.still_current + idle * faster + (hardest - made.still_current - idle) * faster * faster
    spare = command <= 1.0 - reserve and raised <= made.limit
    return spare and 4.0 * across * current / volts <= made.pack_limit


@inner
def level_speed(tilt, weight, open_side, asked, reserve, grid, made):
    """Airspeed [m/s] of level flight at a tilt [rad]; -1 where there is none or the drive does not feed it."""
    s, c = math.sin(tilt), math.cos(tilt)
    far, lift = level_advance(s, c, grid, made)
    if lift <= 0.0:
        return -1.0
    omega = math.sqrt(weight * c / (lift * made.force))
    power = look_up(grid, 1, far * s, far * c)
    twist = max(made.force * made.diameter * power / (2.0 * math.pi), LEAST)
    if not fed(omega, twist, open_side, asked, reserve, made):
        return -1.0
    return far * omega * made.diameter / (2.0 * math.pi)


@inner
def top_speed(weight, source, asked, steepest, reserve, grid, made):
    """Greatest level speed [m/s] of a craft that can hover, up to a tilt [rad], by halving; power first falls with speed."""
    open_side = source - made.pack_ohms * made.avionics
    low, high, top = 0.0, steepest, 0.0
    for _ in range(TILTS):
        tilt = 0.5 * (low + high)
        speed = level_speed(tilt, weight, open_side, asked, reserve, grid, made)
        if speed >= 0.0:
            low, top = tilt, speed
        else:
            high = tilt
    return top
