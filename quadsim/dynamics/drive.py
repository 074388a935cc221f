"""Battery, ESC and motors as one circuit, solved in closed form at every evaluation.

Motor: brushless equivalent circuit u V = i R + kt omega, torque = kt (i - i0(omega)) with i0 = i00 + i01 omega: friction
and iron loss. M. Drela, First-Order DC Electric Motor Model (MIT, 2007) and Second-Order DC Electric Motor Model (MIT,
2006; from memory). R follows each winding's temperature. ESC: an ideal duty-cycle converter, so the pack sees u i for a
motor current i (power balance). Battery: quadsim.dynamics.battery.
"""

from __future__ import annotations

import math

from quadsim.dynamics.motor_heat import winding_resistance
from quadsim.dynamics.state import X
from quadsim.jit import inner, kernel

FRICTION_SPEED = 5.0
"""Speed over which no-load friction builds up from rest [rad/s]; assumed, keeps a stopped rotor stopped."""


@inner
def hold_resistances(held, plant):
    """Reciprocal resistance of each motor's circuit at its winding's temperature [1/ohm]."""
    for i in range(4):
        held.per_motor_resistance[i] = 1.0 / winding_resistance(held.winding_temperature[i], plant)


@inner
def hold_circuit(held, plant):
    """Bring up to date what the circuit holds while the duties stay: E to V is V = g (E - R I0 + sum (R/Rm) u e).

    u are the duties, e the motors' back-emf, Rm their resistances, I0 the current of everything else;
    g = 1/(1 + sum (R/Rm) u^2).
    """
    u0, u1, u2, u3 = held.duty[0], held.duty[1], held.duty[2], held.duty[3]
    r, share, per_rm = held.pack_resistance, held.circuit_share, held.per_motor_resistance
    share[0], share[1], share[2], share[3] = (
        r * per_rm[0] * u0,
        r * per_rm[1] * u1,
        r * per_rm[2] * u2,
        r * per_rm[3] * u3,
    )
    held.current_floor = -plant.current_limit if plant.braking > 0.0 else 0.0
    if min(u0, u1, u2, u3) < 0.0 or held.any_blocked > 0.0:
        held.current_floor = math.inf  # a disconnected motor or a blocked rotor: never the regular case
    held.circuit_gain = 1.0 / (1.0 + share[0] * u0 + share[1] * u1 + share[2] * u2 + share[3] * u3)


@kernel(forceinline=True)
def pack_voltage(x, held, plant):
    """Source voltage of the pack less what the avionics cost, and its voltage under the motors in the regular case [V]."""
    o, share = X.ROTORS, held.circuit_share
    source = held.open_circuit_voltage - x[X.RELAXATION] - held.pack_resistance * plant.avionics_current
    emf = plant.torque_constant * (
        share[0] * x[o] + share[1] * x[o + 1] + share[2] * x[o + 2] + share[3] * x[o + 3]
    )
    return source, held.circuit_gain * (source + emf)


@kernel(forceinline=True)
def motor_torque(current, o, plant):
    """Torque of a motor on its rotor [N m]."""
    lost = plant.no_load_current * _turning(o) + plant.no_load_slope * o
    return plant.torque_constant * (current - lost)


@inner(forceinline=True)
def _turning(omega):
    """Share of the no-load friction at a rotor speed, with the sign of the motion."""
    share = omega * (1.0 / FRICTION_SPEED)
    share = 1.0 if share > 1.0 else share  # with min and max the compiler would not take four at once
    return -1.0 if share < -1.0 else share


@inner
def solve_irregular(x, held, plant, source, volts):
    """The circuit when not every motor is regular: all of it anew, into `held`.

    A duty below zero stands for a motor that is disconnected. Without braking a motor never feeds current back. At the
    current limit the ESC lowers its duty until the limit holds: such a motor draws a known power P, which makes the voltage
    law quadratic,
    a V^2 - b V + R P = 0 with a = 1 + sum (R/Rm) u^2 and b = `source` + sum (R/Rm) u e over the motors that are neither.
    Which motors are limited follows from the voltage, so the second pass sorts them again.
    """
    kt, per_rm, limit = plant.torque_constant, held.per_motor_resistance, plant.current_limit
    floor = -limit if plant.braking > 0.0 else 0.0
    for _ in range(2):
        power, a, b = 0.0, 1.0, source
        for i in range(4):
            duty, emf = held.duty[i], kt * x[X.ROTORS + i]
            current = (duty * volts - emf) * per_rm[i]
            if duty < 0.0 or (current < 0.0 and floor == 0.0):
                continue
            if abs(current) > limit:
                current = min(max(current, floor), limit)
                power += current * (current / per_rm[i] + emf)
            else:
                a += held.circuit_share[i] * duty
                b += held.circuit_share[i] * emf
        volts = 0.5 * (b + math.sqrt(max(b * b - 4.0 * a * held.pack_resistance * power, 0.0))) / a
    drawn = plant.avionics_current
    for i in range(4):
        emf = kt * x[X.ROTORS + i]
        current = (held.duty[i] * volts - emf) * per_rm[i]
        current = min(max(current, floor), limit) if held.duty[i] >= 0.0 else 0.0
        held.motor_current[i] = current
        drawn += current * (current / per_rm[i] + emf) / max(volts, 0.1)
    held.battery_voltage, held.battery_current = volts, drawn
    for i in range(4):  # what blocks a rotor takes its motor's torque
        torque = motor_torque(held.motor_current[i], x[X.ROTORS + i], plant)
        held.motor_torque[i] = torque * (1.0 - held.blocked[i])
