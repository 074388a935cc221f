"""Warmth of a motor: two nodes, winding and case, each with a heat capacity; the case is cooled by the air that flows past.

    C_w dT_w/dt = i^2 R(T_w) - G_wc (T_w - T_c)
    C_c dT_c/dt = kt w (i00 + i01 w) + G_wc (T_w - T_c) - G(flow) (T_c - T_air)

The copper loss is that of the MOTOR current; no-load friction and iron loss warm the case. Lumped nodes: F. P. Incropera
et al., Fundamentals of Heat and Mass Transfer, ch. 5; air over a cylinder: ch. 7 (from memory).
"""

from __future__ import annotations

import math

from quadsim.dynamics.battery import COLDEST, ROOM, warm_pack
from quadsim.dynamics.state import X
from quadsim.jit import inner, kernel

TURNS = 5
"""The four motors and the pack take turns: each is advanced once in so many looks (milliseconds)."""


@kernel
def winding_resistance(temperature, plant):
    """Resistance of one motor's circuit [ohm] with its winding at a temperature [K]: R20 (1 + a (T - T20)) + R_esc.

    a = 0.00393 1/K for copper, IEC 60028 (1925). The ESC's part stays.
    """
    warm = 1.0 + plant.copper_per_kelvin * (max(temperature, COLDEST) - ROOM)
    return plant.motor_resistance * warm + plant.esc_resistance


@kernel
def no_load_loss(omega, plant):
    """Power that friction and iron take at a rotor speed [W]: kt |w| (i00 + i01 |w|)."""
    speed = abs(omega)
    return plant.torque_constant * speed * (plant.no_load_current + plant.no_load_slope * speed)


@kernel
def case_to_air(flow_squared, plant):
    """Conductance from case to air [W/K] for air that passes at sqrt(`flow_squared`) [m/s].

    G0 + (G_hover - G0) (flow/flow_hover)^(1/2): still air, and the laminar part of the flow over a cylinder, Nu ~ Re^(1/2).
    """
    share = math.sqrt(math.sqrt(flow_squared / plant.hover_flow_squared))
    return plant.case_to_still_air + (plant.case_to_air - plant.case_to_still_air) * share


@kernel
def flow_squared(thrust, airspeed_squared, plant):
    """Square of the speed of the air past a motor [m2/s2]: induced |T|/(2 rho A), W. Johnson, Helicopter Theory (1980),
    sec. 2-1, and the craft's own airspeed; their squares are added, which is exact in hover alone (assumed between)."""
    return abs(thrust) / (2.0 * math.pi * plant.air_density * plant.rotor_radius**2) + airspeed_squared


@inner
def warm_motor(i, x, dt, held, plant):
    """Advance both temperatures of motor `i` by `dt` [s].

    Implicit Euler, the 2 x 2 system solved in closed form: stable for any heat capacity a file may give, and first order
    is enough for time constants of seconds. The copper loss is the mean of i^2 since the last turn times R; a plant
    without heat capacities keeps its temperatures.
    """
    mean_square = held.current_square[i] / TURNS
    held.current_square[i] = 0.0
    if plant.winding_heat <= 0.0:
        return
    r = winding_resistance(held.winding_temperature[i], plant) - plant.esc_resistance
    n, e = x[X.VELOCITY] - held.wind[0], x[X.VELOCITY + 1] - held.wind[1]
    d = x[X.VELOCITY + 2] - held.wind[2]
    out = dt * case_to_air(flow_squared(held.thrust[i], n * n + e * e + d * d, plant), plant)
    through = dt * plant.winding_to_case
    winding = plant.winding_heat * held.winding_temperature[i] + dt * mean_square * r
    case = plant.case_heat * held.case_temperature[i] + dt * no_load_loss(x[X.ROTORS + i], plant)
    case += out * plant.air_temperature
    a, b = plant.winding_heat + through, plant.case_heat + through + out
    share = 1.0 / (a * b - through * through)
    held.winding_temperature[i] = (b * winding + through * case) * share
    held.case_temperature[i] = (a * case + through * winding) * share


@kernel
def warm_drive(look, dt, x, held, plant):
    """Whose turn it is at look number `look` [-] is advanced: motor 0 to 3, or the pack; looks are `dt` [s] apart."""
    for i in range(4):
        held.current_square[i] += held.motor_current[i] * held.motor_current[i]
    turn = look % TURNS
    if turn < 4:
        warm_motor(turn, x, TURNS * dt, held, plant)
    else:
        warm_pack(x, TURNS * dt, held, plant)
