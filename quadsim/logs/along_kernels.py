"""The model led along a log: what a flight controller measured stands in for the state, the model gives forces and turning.

Nothing is fed back, so nothing drifts: attitude, rates, velocity, height and the pack's voltage are the log's at every tick; only
the rotors' speeds, which settle in some hundredths of a second, are the model's own. The formulas are those of the flight loop.
"""

from __future__ import annotations

from quadsim.dynamics.battery import battery_rates, hold_battery, warm_pack
from quadsim.dynamics.derivative import derivative, refresh_held
from quadsim.dynamics.drive import hold_circuit
from quadsim.dynamics.motor_heat import warm_drive
from quadsim.dynamics.state import X
from quadsim.jit import kernel
from quadsim.kinematics.quaternion import renormalise
from quadsim.sensors.records import RING
from quadsim.simulation.command_path import command_motors

STIFF_SOURCE = 1e-9
"""Resistance that a pack of known terminal voltage is given [ohm]: none that counts."""
ROUNDING = 1e-9
"""Times that close count as one [s]."""


@kernel
def lead_along(times, rows, speeds_known, refresh_every, h, sensors, carried, held, plant, x, dx, told):
    """Lead the model along a log's rows; the first row is where it begins, the last where it ends.

    Parameters
    ----------
    times : of the rows [s], rising, (n,)
    rows : motor commands (4) [-], pack voltage [V], attitude quaternion (4), rates (3) [rad/s], velocity north-east-down (3)
        [m/s], height [m], rotor speeds (4) [rad/s], (n, 20); straight lines in between
    speeds_known : forces and thrusts are those of the log's rotor speeds; turning stays that of the model's own, since reported
        speeds come late, and yaw is made of how fast they change
    refresh_every : ticks between two refreshes of what is held
    h : tick [s]
    told : (n, 17), written: angular acceleration, mean since the row before (3) [rad/s2]; force without gravity (3) [N]; sum of
        the thrusts [N]; pack current [A]; the model's rotor speeds (4) [rad/s]; angular acceleration at the row (3) [rad/s2];
        roll and pitch acceleration of the log's rotor speeds, mean since the row before (2) [rad/s2]
    """
    last = times.shape[0] - 1
    ticks = int((times[last] - times[0]) / h) + 1
    row, written, count, looks = 0, 0, 0, 0
    pd = qd = rd = pk = qk = 0.0
    o0, o1, o2, o3 = x[X.ROTORS], x[X.ROTORS + 1], x[X.ROTORS + 2], x[X.ROTORS + 3]
    for tick in range(ticks + 1):
        t = times[0] + tick * h
        while row < last - 1 and t >= times[row + 1] - ROUNDING:
            row += 1
        late = (t - times[row]) / (times[row + 1] - times[row])
        late = min(max(late, 0.0), 1.0)
        before, after = rows[row], rows[row + 1]
        for i in range(4):
            carried.motor_line[tick % RING, i] = before[i] + late * (after[i] - before[i])
            x[X.QUATERNION + i] = before[5 + i] + late * (after[5 + i] - before[5 + i])
        for k in range(3):
            x[X.RATES + k] = before[9 + k] + late * (after[9 + k] - before[9 + k])
            x[X.VELOCITY + k] = before[12 + k] + late * (after[12 + k] - before[12 + k])
        x[X.POSITION + 2] = -(before[15] + late * (after[15] - before[15]))
        x[X.RELAXATION] = 0.0
        renormalise(x, X.QUATERNION)
        looking = tick % refresh_every == 0
        command_motors(tick, looking, sensors, carried, held)
        x[X.ROTORS], x[X.ROTORS + 1], x[X.ROTORS + 2], x[X.ROTORS + 3] = o0, o1, o2, o3
        if looking:
            if tick > 0:
                warm_drive(looks, h * refresh_every, x, held, plant)
            looks += 1
            refresh_held(x, 0.0, held, plant)
        held.open_circuit_voltage = before[4] + late * (after[4] - before[4])
        held.pack_resistance = STIFF_SOURCE
        hold_circuit(held, plant)
        derivative(t, x, held, plant, dx)
        a0, a1, a2, a3 = dx[X.ROTORS], dx[X.ROTORS + 1], dx[X.ROTORS + 2], dx[X.ROTORS + 3]
        b0, b1, b2 = dx[X.RATES], dx[X.RATES + 1], dx[X.RATES + 2]
        pd, qd, rd, count = pd + b0, qd + b1, rd + b2, count + 1
        drawn = held.battery_current
        if speeds_known:
            for i in range(4):
                x[X.ROTORS + i] = before[16 + i] + late * (after[16 + i] - before[16 + i])
            derivative(t, x, held, plant, dx)
        pk, qk = pk + dx[X.RATES], qk + dx[X.RATES + 1]
        share = 1.0 / count
        while written <= last and t + h >= times[written] - ROUNDING:
            at = told[written]
            at[0], at[1], at[2] = pd * share, qd * share, rd * share
            at[3], at[4], at[5] = held.force[0], held.force[1], held.force[2]
            at[6] = held.thrust[0] + held.thrust[1] + held.thrust[2] + held.thrust[3]
            at[7] = drawn
            at[8], at[9], at[10], at[11] = o0, o1, o2, o3
            at[12], at[13], at[14] = b0, b1, b2
            at[15], at[16] = pk * share, qk * share
            pd = qd = rd = pk = qk = 0.0
            count = 0
            written += 1
        o0, o1, o2, o3 = o0 + h * a0, o1 + h * a1, o2 + h * a2, o3 + h * a3


@kernel
def discharge_along(times, current, held, plant, x, told):
    """The pack's voltage [V] under a log's current [A] at rows (n,), into `told`; the current holds from row to row."""
    for n in range(times.shape[0]):
        if n > 0:
            dt = times[n] - times[n - 1]
            held.battery_current = 0.5 * (current[n] + current[n - 1])
            fall, rise = battery_rates(x, held)
            x[X.CHARGE] += fall * dt
            x[X.RELAXATION] += rise * dt
            warm_pack(x, dt, held, plant)
        hold_battery(x, held, plant)
        told[n] = held.open_circuit_voltage - x[X.RELAXATION] - held.pack_resistance * current[n]
