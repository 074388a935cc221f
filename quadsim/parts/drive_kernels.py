"""Four standing rotors on one pack: full command and hover, of a craft in a MADE record.

Circuit as in quadsim.config.equilibrium, at one winding temperature; rotors from their maps.
"""

from __future__ import annotations

import math

from quadsim.jit import inner

SETTLE = 3
"""Passes for rotor speed and the trend of the map with it."""
STEPS = 4
"""Steps of Newton's method from above, for a power."""
UNEVEN = 1.03
"""Thrust of the rotor that carries most over the mean one: 1.00 to 1.07 in the dash of nineteen craft trimmed by `quadsim dash`;
in a lift the craft drifts, and a flown one had 1.05."""
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
    """Rotor speed [rad/s] at a voltage: kt (i - i00 - i01 w) = q w^2, V = i R + kt w, i and w within their limits."""
    kt = made.kt
    omega = root(
        torque, kt * (kt / ohms + made.slope_current), max(kt * (volts / ohms - made.still_current), LEAST)
    )
    if (volts - kt * omega) / ohms > made.limit:
        omega = root(torque, kt * made.slope_current, max(kt * (made.limit - made.still_current), LEAST))
    return min(omega, made.cap)


@inner(forceinline=True)
def motor_current(omega, torque, made):
    """Current [A] of a motor that turns at omega [rad/s] against torque * omega^2."""
    return made.still_current + (made.slope_current + torque / made.kt * omega) * omega


@inner
def given(omega, torque, power, made):
    """Rotor speed [rad/s] at which a motor takes a power [W]: i (i R + kt w) = P, from a speed at which it takes more.

    The power is convex in the speed, so Newton's method comes down to the root from above.
    """
    for _ in range(STEPS):
        current = motor_current(omega, torque, made)
        per, across = (
            made.slope_current + 2.0 * torque / made.kt * omega,
            current * made.ohms + made.kt * omega,
        )
        steep = per * across + current * (per * made.ohms + made.kt)
        omega -= (current * across - power) / steep
    return omega


@inner
def full_thrust(source, pack_ohms, command, pack_limit, made):
    """Thrust [N] and power [W] of each of four rotors standing at a motor command on one pack, of which no more than a current
    [A] for the motors is asked: V = E - Rp (4 u i + Ia), to a motor at the command u the pack is 4 u^2 Rp.
    """
    open_side = source - pack_ohms * made.avionics
    most = min(pack_limit, 0.5 * open_side / pack_ohms)
    most_power = 0.25 * most * (open_side - pack_ohms * most)
    volts, ohms = command * open_side, made.ohms + 4.0 * command * command * pack_ohms
    omega, power = 1.0 / made.per_reference, 0.0
    for _ in range(SETTLE):
        torque = made.torque + made.torque_trend * trend(omega, made)
        omega = driven(torque, volts, ohms, made)
        current = motor_current(omega, torque, made)
        power = current * (current * made.ohms + made.kt * omega)
        if power > most_power:
            omega, power = given(omega, torque, most_power, made), most_power
    return (made.thrust + made.thrust_trend * trend(omega, made)) * omega * omega, power


@inner
def pack_current(power, source, pack_ohms, made):
    """Current of the pack [A] where each of four motors takes a power [W]: V = E - Rp (Ia + 4 P/V)."""
    open_side = source - pack_ohms * made.avionics
    volts = 0.5 * (open_side + math.sqrt(max(open_side * open_side - 16.0 * pack_ohms * power, 0.0)))
    return made.avionics + 4.0 * power / volts


@inner
def hovering(thrust, made):
    """Rotor speed [rad/s] of a thrust [N] standing, and torque over its square."""
    omega = 1.0 / made.per_reference
    for _ in range(SETTLE):
        omega = math.sqrt(thrust / (made.thrust + made.thrust_trend * trend(omega, made)))
    return omega, made.torque + made.torque_trend * trend(omega, made)


@inner
def hover(thrust, source, pack_ohms, made):
    """Pack current [A], pack voltage [V] and motor current [A] with each rotor giving a thrust [N]; 0 where the pack cannot.

    V = E - Rp (Ia + 4 u i / V), as `quadsim.config.equilibrium.hover_balance`.
    """
    omega, torque = hovering(thrust, made)
    current = motor_current(omega, torque, made)
    across = current * made.ohms + made.kt * omega
    open_side = source - pack_ohms * made.avionics
    square = open_side * open_side - 16.0 * pack_ohms * across * current
    if square < 0.0:
        return 0.0, 0.0, 0.0
    volts = 0.5 * (open_side + math.sqrt(square))
    if across > volts:
        return 0.0, 0.0, 0.0
    return made.avionics + 4.0 * across * current / volts, volts, current
