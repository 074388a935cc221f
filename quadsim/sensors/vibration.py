"""What the inertial sensor feels beyond the rigid body's motion: unbalanced rotors and one flexible mode.

Rationale: both stay out of the rigid body. A rotor out of balance by a gram-millimetre moves a craft of half a kilogram by
two micrometres (m e/M), which no flight path shows, but it shakes the accelerometer by metres per second squared. The mode
is the gyroscope's place swinging against the body; what that does to the body's own motion is left out (assumed small).
"""

from __future__ import annotations

import math

from quadsim.dynamics.state import X
from quadsim.jit import kernel

TURN = 2.0 * math.pi


@kernel
def update_vibration(late, x, dx, held, plant, sensors, carried):
    """Advance vibration by one sample of the inertial sensor, into the fields `shake_...` of `carried`.

    Parameters
    ----------
    late : time of the sample after this tick [s]
    x, dx : state and its derivative at this tick
    sensors : SENSORS record; `imbalance` is m e of each rotor [kg m]
    carried : phases [rad], force [N], angular acceleration [rad/s2] and rate [rad/s], body axes, of the shaking
    """
    fx, fy, mx, my, mz, lx, ly, lz = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    dt = sensors.imu_period
    for i in range(4):
        if sensors.imbalance[i] == 0.0:
            continue
        speed = x[X.ROTORS + i] + late * dx[X.ROTORS + i]
        # the mean speed since the last sample, to second order
        phase = carried.rotor_phase[i] + (speed - 0.5 * dt * dx[X.ROTORS + i]) * dt
        carried.rotor_phase[i] = phase - TURN * math.floor(phase / TURN)
        ahead, right, jx, jy = unbalanced_force(
            sensors.imbalance[i], speed, carried.rotor_phase[i], held.turning[i]
        )
        a, b, c = plant.rotor_position[i, 0], plant.rotor_position[i, 1], plant.rotor_position[i, 2]
        fx, fy = fx + ahead, fy + right
        mx, my, mz = mx - c * right, my + c * ahead, mz + a * right - b * ahead
        lx, ly, lz = lx - c * jy, ly + c * jx, lz + a * jy - b * jx
    carried.shake_force[0], carried.shake_force[1] = fx, fy
    inverse = plant.inertia_inverse
    for k in range(3):
        carried.shake_turning[k] = inverse[k, 0] * mx + inverse[k, 1] * my + inverse[k, 2] * mz
        carried.shake_rate[k] = inverse[k, 0] * lx + inverse[k, 1] * ly + inverse[k, 2] * lz
        drive = dx[X.RATES + k] + carried.shake_turning[k]
        carried.shake_rate[k] += flexible_rate(k, -sensors.mode_share[k] * drive, sensors, carried)


@kernel
def unbalanced_force(imbalance, speed, phase, turning):
    """Force [N] on the hub of a rotor that is out of balance, forward and right, and that force's integral over time [N s].

    F = m e Omega^2 along the heavy side, which stands at `phase` and turns clockwise seen from above when `turning` is +1
    (J. P. Den Hartog, Mechanical Vibrations, 4th ed. (1956), sec. 2.9 and 6.1; from memory). The integral holds at the
    present speed. Static imbalance only: a heavy side above or below the disc would add a couple.
    """
    impulse = imbalance * speed
    c, s = math.cos(phase), math.sin(phase)
    return impulse * speed * c, impulse * speed * turning * s, impulse * s, -impulse * turning * c


@kernel
def flexible_rate(axis, drive, sensors, carried):
    """Rate [rad/s] of the flexible mode about one body axis, one sample later, driven by `drive` [rad/s2].

    Base-excited oscillator y'' + 2 z w y' + w^2 y = drive, drive = -share times the body's angular acceleration
    (W. T. Thomson, Theory of Vibration, sec. 3.5; from memory). The step is exact for a drive that runs straight from
    sample to sample; its eight numbers are made by `mode_step` in resolve_sensors.
    """
    s, before = sensors.mode_step, carried.mode_drive[axis]
    y, v = carried.mode[axis, 0], carried.mode[axis, 1]
    carried.mode[axis, 0] = s[0] * y + s[1] * v + s[2] * before + s[3] * drive
    carried.mode[axis, 1] = s[4] * y + s[5] * v + s[6] * before + s[7] * drive
    carried.mode_drive[axis] = drive
    return carried.mode[axis, 1]
