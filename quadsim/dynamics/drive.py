"""Battery, ESC and motors as one circuit, solved in closed form at every evaluation.

Motor: brushless equivalent circuit u V = i R + kt omega, torque = kt (i - i0). M. Drela, First-Order DC Electric Motor
Model (MIT, 2007). ESC: an ideal duty-cycle converter, so the pack sees u i for a motor current i (power balance).
Battery: open-circuit voltage over charge, a resistance and one RC pair. M. Chen & G. A. Rincon-Mora, IEEE Trans.
Energy Conversion 21(2), 2006, 504-511.
"""

from __future__ import annotations

import math

from quadsim.dynamics.state import X
from quadsim.jit import kernel

CURVE_FULL = 4.1029
"""Open-circuit voltage of the published cell when full [V]; Chen & Rincon-Mora 2006."""
FRICTION_SPEED = 5.0
"""Speed over which no-load friction builds up from rest [rad/s]; assumed, keeps a stopped rotor stopped."""


@kernel
def cell_voltage(charge, full_cell_voltage):
    """Open-circuit voltage of a lithium-polymer cell [V] at a state of charge 0..1.

    The published curve, raised in proportion to the charge so that a full cell has `full_cell_voltage`.
    Chen & Rincon-Mora 2006 (850 mAh polymer cell); the raise is assumed: packs of the trade are charged to 4.20 V.
    """
    s = min(max(charge, 0.0), 1.0)
    curve = -1.031 * math.exp(-35.0 * s) + 3.685 + s * (0.2156 + s * (-0.1178 + s * 0.3201))
    return curve + s * (full_cell_voltage - CURVE_FULL)


@kernel
def hold_circuit(held, plant):
    """Bring up to date what the circuit holds while the duties stay: E to V is V = g (E - R I0 + (R/Rm) sum u e).

    u are the duties, e the motors' back-emf, I0 the current of everything else; g = 1/(1 + (R/Rm) sum u^2).
    """
    u0, u1, u2, u3 = held.duty[0], held.duty[1], held.duty[2], held.duty[3]
    held.circuit_share = plant.pack_resistance * held.per_motor_resistance
    held.current_floor = -plant.current_limit if plant.braking > 0.0 else 0.0
    if min(u0, u1, u2, u3) < 0.0:
        held.current_floor = math.inf  # a disconnected motor: never the regular case
    held.circuit_gain = 1.0 / (1.0 + held.circuit_share * (u0 * u0 + u1 * u1 + u2 * u2 + u3 * u3))


@kernel(forceinline=True)
def solve_circuit(x, held, plant):
    """Motor torques, pack voltage and current, all left in `held` with the motor currents.

    A duty below zero stands for a motor that is disconnected. Without braking a motor never feeds current back. At the
    current limit the ESC lowers its duty until the limit holds.
    """
    kt, per_rm, limit = plant.torque_constant, held.per_motor_resistance, plant.current_limit
    steady = plant.avionics_current
    o0, o1, o2, o3 = x[X.ROTORS], x[X.ROTORS + 1], x[X.ROTORS + 2], x[X.ROTORS + 3]
    u0, u1, u2, u3 = held.duty[0], held.duty[1], held.duty[2], held.duty[3]
    source = held.open_circuit_voltage - x[X.RELAXATION] - plant.pack_resistance * steady
    emf = kt * (u0 * o0 + u1 * o1 + u2 * o2 + u3 * o3)
    volts = held.circuit_gain * (source + held.circuit_share * emf)
    i0, i1 = (u0 * volts - kt * o0) * per_rm, (u1 * volts - kt * o1) * per_rm
    i2, i3 = (u2 * volts - kt * o2) * per_rm, (u3 * volts - kt * o3) * per_rm
    drawn = steady + u0 * i0 + u1 * i1 + u2 * i2 + u3 * i3
    floor = held.current_floor
    high = (i0 <= limit) & (i1 <= limit) & (i2 <= limit) & (i3 <= limit)
    if not (high & (i0 >= floor) & (i1 >= floor) & (i2 >= floor) & (i3 >= floor)):
        volts, drawn, i0, i1, i2, i3 = _solve_irregular(x, held, plant, source, volts)
    lost = plant.no_load_current
    held.motor_torque[0], held.motor_torque[1] = (
        kt * (i0 - lost * _turning(o0)),
        kt * (i1 - lost * _turning(o1)),
    )
    held.motor_torque[2], held.motor_torque[3] = (
        kt * (i2 - lost * _turning(o2)),
        kt * (i3 - lost * _turning(o3)),
    )
    held.motor_current[0], held.motor_current[1], held.motor_current[2], held.motor_current[3] = (
        i0,
        i1,
        i2,
        i3,
    )
    held.battery_voltage = volts
    held.battery_current = drawn


@kernel(forceinline=True)
def _turning(omega):
    """Share of the no-load friction at a rotor speed, with the sign of the motion."""
    return min(max(omega * (1.0 / FRICTION_SPEED), -1.0), 1.0)


@kernel
def _solve_irregular(x, held, plant, source, volts):
    """Floating and limited motors. A limited motor draws a known power P, which makes the voltage law quadratic:

    a V^2 - b V + R P = 0 with a = 1 + R/Rm sum u^2 and b = `source` + R/Rm sum u e over the motors that are neither.
    Which motors are limited follows from the voltage, so the second pass sorts them again.
    """
    kt, rm, limit = plant.torque_constant, plant.motor_resistance, plant.current_limit
    floor = -limit if plant.braking > 0.0 else 0.0
    share = held.circuit_share
    for _ in range(2):
        power, a, b = 0.0, 1.0, source
        for i in range(4):
            duty, emf = held.duty[i], kt * x[X.ROTORS + i]
            current = (duty * volts - emf) / rm
            if duty < 0.0 or (current < 0.0 and floor == 0.0):
                continue
            if abs(current) > limit:
                current = min(max(current, floor), limit)
                power += current * (current * rm + emf)
            else:
                a += share * duty * duty
                b += share * duty * emf
        volts = 0.5 * (b + math.sqrt(max(b * b - 4.0 * a * plant.pack_resistance * power, 0.0))) / a
    drawn = plant.avionics_current
    for i in range(4):
        emf = kt * x[X.ROTORS + i]
        current = min(max((held.duty[i] * volts - emf) / rm, floor), limit) if held.duty[i] >= 0.0 else 0.0
        held.motor_current[i] = current
        drawn += current * (current * rm + emf) / max(volts, 0.1)
    c = held.motor_current
    return volts, drawn, c[0], c[1], c[2], c[3]


@kernel(forceinline=True)
def battery_rates(x, held):
    """Rates of the state of charge [1/s] and of the RC pair's voltage [V/s]."""
    current = held.battery_current
    relaxing = x[X.RELAXATION] * held.per_relaxation[0]
    return -current * held.per_capacity, (current - relaxing) * held.per_relaxation[1]
