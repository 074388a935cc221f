"""The derivative of the whole plant. It lists the stages and does nothing else."""

from __future__ import annotations

from quadsim.dynamics.airframe import airframe_drag
from quadsim.dynamics.battery import battery_rates, hold_battery
from quadsim.dynamics.drive import hold_circuit, hold_resistances
from quadsim.dynamics.ground import REACH, ground_forces
from quadsim.dynamics.payload import load_forces, no_load
from quadsim.dynamics.propulsion import propulsion
from quadsim.dynamics.rigid_body import angular_acceleration, rotor_accelerations
from quadsim.dynamics.rotor import update_rotors
from quadsim.dynamics.state import X
from quadsim.jit import kernel
from quadsim.kinematics.quaternion import quaternion_rate, rotation_matrix


@kernel(noalias=True)
def derivative(t, x, held, plant, dx):
    """dx/dt of the plant.

    Parameters
    ----------
    t : float [s]; the plant does not depend on it, what changes with time is in `held`
    x : state, shape (SIZE,), see `state.X`
    held : HELD record: inputs of this step; currents, thrusts and forces are left in it
    plant : PLANT record
    dx : array like x, written
    """
    w, i, j, k = x[X.QUATERNION], x[X.QUATERNION + 1], x[X.QUATERNION + 2], x[X.QUATERNION + 3]
    p, q, r = x[X.RATES], x[X.RATES + 1], x[X.RATES + 2]
    r00, r01, r02, r10, r11, r12, r20, r21, r22 = rotation_matrix(w, i, j, k)
    u, v, s = airspeed(x, r00, r01, r02, r10, r11, r12, r20, r21, r22, held)
    fx, fy, fz, mx, my, mz, h = propulsion(x, u, v, s, held, plant)
    ax, ay, az, bx, by, bz = airframe_drag(u, v, s, p, q, r, plant)
    fx, fy, fz, mx, my, mz = fx + ax, fy + ay, fz + az, mx + bx, my + by, mz + bz
    held.contact_force = 0.0
    if x[X.POSITION + 2] > -REACH:
        ax, ay, az, bx, by, bz = ground_forces(x, r00, r01, r02, r10, r11, r12, r20, r21, r22, held, plant)
        fx, fy, fz, mx, my, mz = fx + ax, fy + ay, fz + az, mx + bx, my + by, mz + bz
    if plant.load_mass > 0.0:
        lx, ly, lz, ox, oy, oz = load_forces(x, r00, r01, r02, r10, r11, r12, r20, r21, r22, held, plant, dx)
        fx, fy, fz, mx, my, mz = fx + lx, fy + ly, fz + lz, mx + ox, my + oy, mz + oz
    else:
        no_load(dx)
    drive = 0.0
    for n in range(4):
        drive += held.turning[n] * held.motor_torque[n]
    mx, my, mz = mx + held.outside_torque[0], my + held.outside_torque[1], mz + held.outside_torque[2]
    pd, qd, rd = angular_acceleration(p, q, r, mx, my, mz, h, drive, plant)
    held.force[0], held.force[1], held.force[2] = fx, fy, fz
    per_mass = held.per_mass
    for n in range(3):
        dx[X.POSITION + n] = x[X.VELOCITY + n]
    dx[X.VELOCITY] = (r00 * fx + r01 * fy + r02 * fz) * per_mass
    dx[X.VELOCITY + 1] = (r10 * fx + r11 * fy + r12 * fz) * per_mass
    dx[X.VELOCITY + 2] = (r20 * fx + r21 * fy + r22 * fz) * per_mass + plant.gravity
    (dx[X.QUATERNION], dx[X.QUATERNION + 1], dx[X.QUATERNION + 2], dx[X.QUATERNION + 3]) = quaternion_rate(
        w, i, j, k, p, q, r
    )
    dx[X.RATES], dx[X.RATES + 1], dx[X.RATES + 2] = pd, qd, rd
    rotor_accelerations(rd, held, dx)
    dx[X.CHARGE], dx[X.RELAXATION] = battery_rates(x, held)


@kernel(forceinline=True)
def airspeed(x, r00, r01, r02, r10, r11, r12, r20, r21, r22, held):
    """Velocity of the centre of mass through the air, body axes [m/s]."""
    n = x[X.VELOCITY] - held.wind[0]
    e = x[X.VELOCITY + 1] - held.wind[1]
    d = x[X.VELOCITY + 2] - held.wind[2]
    return r00 * n + r10 * e + r20 * d, r01 * n + r11 * e + r21 * d, r02 * n + r12 * e + r22 * d


@kernel
def refresh_held(x, ahead, held, plant):
    """Bring up to date what is held over some steps: the rotors' patches of the map with their thrust gains, battery and motor
    resistances, and reciprocals of the plant's parameters. `ahead` as for `update_rotors`."""
    w, i, j, k = x[X.QUATERNION], x[X.QUATERNION + 1], x[X.QUATERNION + 2], x[X.QUATERNION + 3]
    r00, r01, r02, r10, r11, r12, r20, r21, r22 = rotation_matrix(w, i, j, k)
    u, v, s = airspeed(x, r00, r01, r02, r10, r11, r12, r20, r21, r22, held)
    for n in range(4):
        for axis in range(3):
            held.hub[axis, n] = plant.rotor_position[n, axis]
    update_rotors(x, u, v, s, r20, r21, r22, ahead, held, plant)
    held.per_mass, held.per_rotor_inertia = 1.0 / plant.mass, 1.0 / plant.rotor_inertia
    held.any_blocked = held.blocked[0] + held.blocked[1] + held.blocked[2] + held.blocked[3]
    hold_resistances(held, plant)
    hold_battery(x, held, plant)


@kernel
def full_derivative(t, x, held, plant, dx):
    """As `derivative`, with nothing held from the start of the step: for adaptive solvers and linearisation."""
    refresh_held(x, 0.0, held, plant)
    hold_circuit(held, plant)
    derivative(t, x, held, plant, dx)
