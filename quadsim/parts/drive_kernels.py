"""Four rotors on one pack: full command, hover and level flight, of a craft in a MADE record.

Circuit as in quadsim.config.equilibrium, at one winding temperature; rotors from their maps.
"""

from __future__ import annotations

import math

from quadsim.dynamics.rotor_map import AXIAL_MIN, AXIAL_STEP, INPLANE_STEP, N_AXIAL, N_INPLANE
from quadsim.jit import inner

SPEED_STEPS, SETTLE = 12, 3
"""Halvings of the range of a speed; passes for rotor speed and tilt."""
FASTEST = 90.0
"""Upper end of the range of speeds [m/s]; 12 halvings leave 0.02."""
SLOWEST = 50.0
"""Rotor speed below which advance ratios are taken as at this speed [rad/s]; assumed."""
LEAST = 1e-12
"""Keeps torques and drives above zero where a rotor windmills."""


@inner(forceinline=True)
def root(a, b, c):
    """Positive root of a w^2 + b w = c."""
    return 2.0 * c / (b + math.sqrt(b * b + 4.0 * a * c))


@inner(forceinline=True)
def trend(omega, made):
    """ln(speed/reference), held below a quarter, as in RotorMap."""
    return math.log(max(omega * made.per_reference, 0.25))


@inner(forceinline=True)
def driven(torque, volts, ohms, made):
    """Rotor speed [rad/s] at full command: kt (i - i00 - i01 w) = q w^2, V = i R + kt w, i and w within their limits."""
    kt = made.kt
    omega = root(
        torque, kt * (kt / ohms + made.slope_current), max(kt * (volts / ohms - made.still_current), LEAST)
    )
    if (volts - kt * omega) / ohms > made.limit:
        omega = root(torque, kt * made.slope_current, max(kt * (made.limit - made.still_current), LEAST))
    return min(omega, made.cap)


@inner
def full_thrust(source, pack_ohms, made):
    """Thrust [N] and speed [rad/s] of each of four rotors standing at full command on one pack.

    V = E - Rp (4 i + Ia): to each motor the pack is 4 Rp.
    """
    volts, ohms = source - pack_ohms * made.avionics, made.ohms + 4.0 * pack_ohms
    omega = 1.0 / made.per_reference
    for _ in range(SETTLE):
        omega = driven(made.torque + made.torque_trend * trend(omega, made), volts, ohms, made)
    return (made.thrust + made.thrust_trend * trend(omega, made)) * omega * omega, omega


@inner
def hover(thrust, source, pack_ohms, made):
    """Pack current [A], pack voltage [V] and motor current [A] with each rotor giving a thrust [N]; 0 where the pack cannot.

    V = E - Rp (Ia + 4 u i / V), as `quadsim.config.equilibrium.hover_balance`.
    """
    omega = 1.0 / made.per_reference
    for _ in range(SETTLE):
        omega = math.sqrt(thrust / (made.thrust + made.thrust_trend * trend(omega, made)))
    torque = made.torque + made.torque_trend * trend(omega, made)
    current = made.still_current + made.slope_current * omega + torque * omega * omega / made.kt
    across = current * made.ohms + made.kt * omega
    open_side = source - pack_ohms * made.avionics
    square = open_side * open_side - 16.0 * pack_ohms * across * current
    if square < 0.0:
        return 0.0, 0.0, 0.0
    volts = 0.5 * (open_side + math.sqrt(square))
    if across > volts:
        return 0.0, 0.0, 0.0
    return made.avionics + 4.0 * across * current / volts, volts, current


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


@inner
def spare_thrust(v, weight, volts, ohms, omega, grid, made):
    """Thrust at full command beyond what level flight at v [m/s] asks for [N], and the rotor speed [rad/s].

    Body axes, drag per axis: X = m g sin(tilt), T - Z = m g cos(tilt), with X of body and rotors, Z of the body.
    """
    slope, thrust = min(made.ahead * v * v / weight, 20.0), 0.0  # tangent of the tilt
    for _ in range(SETTLE):
        c = 1.0 / math.sqrt(1.0 + slope * slope)
        s = slope * c
        per = 2.0 * math.pi * v / (max(omega, SLOWEST) * made.diameter)
        power = look_up(grid, 1, s * per, c * per)
        torque = max(made.force * made.diameter * power / (2.0 * math.pi), LEAST)
        omega = driven(torque, volts, ohms, made)
        per = 2.0 * math.pi * v / (max(omega, SLOWEST) * made.diameter)
        four = 4.0 * made.force * omega * omega
        thrust = made.kept * four * look_up(grid, 0, s * per, c * per)
        drag = made.ahead * v * v * c + four * look_up(grid, 2, s * per, c * per)
        slope = drag / (c * weight)  # drag goes nearly with the cosine, so this settles at once
    c = 1.0 / math.sqrt(1.0 + slope * slope)
    return thrust - c * (weight + made.below * v * v * slope), omega


@inner
def top_speed(weight, source, omega, grid, made):
    """Greatest level speed [m/s] at full command, by halving, for a craft that can hover.

    No trim: where drag pitches a craft, two of its rotors come to full command first, up to a tenth before the mean.
    """
    volts, ohms = source - made.pack_ohms * made.avionics, made.ohms + 4.0 * made.pack_ohms
    low, high = 0.0, FASTEST
    for _ in range(SPEED_STEPS):
        v = 0.5 * (low + high)
        spare, omega = spare_thrust(v, weight, volts, ohms, omega, grid, made)
        if spare >= 0.0:
            low = v
        else:
            high = v
    return low
