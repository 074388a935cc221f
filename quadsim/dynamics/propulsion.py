"""The four rotors with their motors in one loop, which the compiler unfolds into instructions for four numbers at a time.

It does so because all that is read and written of a rotor stands side by side with the same of the other three, the sums may be
taken in any order, no `min`, `max` or branch stands in the way, and the derivative's arguments share no memory (`noalias`): the
derivatives of a step took 418 ns one rotor after the other and take 300. The state's rotor speeds begin at a multiple of four:
the stepper then writes them in one piece, else reading them in one piece would wait.
"""

from __future__ import annotations

import math

from quadsim.dynamics.drive import motor_torque, pack_voltage, solve_irregular
from quadsim.dynamics.rotor import hub_velocity, patch_value, rotor_moment
from quadsim.dynamics.state import X
from quadsim.jit import inner


@inner(forceinline=True, fastmath={"contract", "arcp", "reassoc", "nsz"})
def propulsion(x, u, v, w, held, plant):
    """Forces and moments of the four rotors on the craft, their angular momentum, and the circuit that drives them.

    u, v, w : airspeed, body axes [m/s]. Leaves thrusts, torques, currents and the pack's voltage in `held`.

    Returns
    -------
    Fx, Fy, Fz [N], Mx, My, Mz about the centre of mass [N m], H along body z [kg m2/s], all in body axes
    """
    p, q, r = x[X.RATES], x[X.RATES + 1], x[X.RATES + 2]
    source, volts = pack_voltage(x, held, plant)
    limit, floor = plant.current_limit, held.current_floor
    fx = fy = fz = mx = my = mz = turning = regular = 0.0
    drawn = plant.avionics_current
    g, hub, kt = held.patch, held.hub, plant.torque_constant
    for i in range(4):
        o, sense, duty = x[X.ROTORS + i], held.turning[i], held.duty[i]
        current = (duty * volts - kt * o) * held.per_motor_resistance[i]
        regular += 1.0 if (current <= limit) & (current >= floor) else 0.0
        drawn += duty * current
        held.motor_current[i], held.motor_torque[i] = current, motor_torque(current, o, plant)
        rx, ry, rz = hub[0, i], hub[1, i], hub[2, i]
        hx, hy, axial = hub_velocity(u, v, w, p, q, r, rx, ry, rz)
        inplane = math.sqrt(hx * hx + hy * hy)
        thrust = patch_value(g[0, i], g[11, i], g[1, i], g[2, i], g[3, i], o, axial, inplane)
        held.thrust[i] = thrust
        held.rotor_torque[i] = patch_value(g[4, i], g[12, i], g[5, i], g[6, i], g[7, i], o, axial, inplane)
        drag = g[8, i] * o - held.slipstream[i]
        dx, dy = drag * hx, drag * hy
        ox, oy, oz = rotor_moment(dx, dy, thrust, hx, hy, g[9, i] * o * sense, g[10, i] * o, rx, ry, rz)
        fx, fy, fz, mx, my, mz = fx + dx, fy + dy, fz - thrust, mx + ox, my + oy, mz + oz
        turning += sense * o
    held.battery_voltage, held.battery_current = volts, drawn
    if regular < 4.0:
        solve_irregular(x, held, plant, source, volts)
    return fx, fy, fz, mx, my, mz, plant.rotor_inertia * turning
