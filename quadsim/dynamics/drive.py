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
from quadsim.jit import kernel

FRICTION_SPEED = 5.0
"""Speed over which no-load friction builds up from rest [rad/s]; assumed, keeps a stopped rotor stopped."""


@kernel
def hold_resistances(held, plant):
    """Reciprocal resistance of each motor's circuit at its winding's temperature [1/ohm]."""
    for i in range(4):
        held.per_motor_resistance[i] = 1.0 / winding_resistance(held.winding_temperature[i], plant)


@kernel
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


@kernel(forceinline=True, fastmath={"contract", "arcp", "reassoc", "nsz"})
def solve_circuit(x, held, plant):
    """Motor torques, pack voltage and current, all left in `held` with the motor currents.

    A duty below zero stands for a motor that is disconnected. Without braking a motor never feeds current back. At the
    current limit the ESC lowers its duty until the limit holds. As in `rotor_forces` the compiler computes four at once.
    """
    kt, limit, floor = plant.torque_constant, plant.current_limit, held.current_floor
    lost, iron, steady = plant.no_load_current, plant.no_load_slope, plant.avionics_current
    source = held.open_circuit_voltage - x[X.RELAXATION] - held.pack_resistance * steady
    emf = 0.0
    for i in range(4):
        emf += held.circuit_share[i] * x[X.ROTORS + i]
    volts = held.circuit_gain * (source + kt * emf)
    drawn, regular = steady, 0.0
    for i in range(4):
        o, duty = x[X.ROTORS + i], held.duty[i]
        current = (duty * volts - kt * o) * held.per_motor_resistance[i]
        regular += 1.0 if (current <= limit) & (current >= floor) else 0.0
        drawn += duty * current
        held.motor_current[i] = current
        held.motor_torque[i] = kt * (current - lost * _turning(o) - iron * o)
    held.battery_voltage = volts
    held.battery_current = drawn
    if regular < 4.0:
        _solve_irregular(x, held, plant, source, volts)


@kernel(forceinline=True)
def _turning(omega):
    """Share of the no-load friction at a rotor speed, with the sign of the motion."""
    share = omega * (1.0 / FRICTION_SPEED)
    share = 1.0 if share > 1.0 else share  # no min and max: they keep the compiler from taking four motors at once
    return -1.0 if share < -1.0 else share


@kernel
def _solve_irregular(x, held, plant, source, volts):
    """Floating and limited motors. A limited motor draws a known power P, which makes the voltage law quadratic:

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
    lost, iron = plant.no_load_current, plant.no_load_slope
    for i in range(4):
        o = x[X.ROTORS + i]
        torque = kt * (held.motor_current[i] - lost * _turning(o) - iron * o)
        held.motor_torque[i] = torque * (1.0 - held.blocked[i])  # what blocks a rotor takes its motor's torque
