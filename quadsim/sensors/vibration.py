"""What the inertial sensor feels beyond the rigid body's motion: unbalanced rotors and one flexible mode.

Rationale: both stay out of the rigid body. A rotor out of balance by a gram-millimetre moves a craft of half a kilogram by
two micrometres (m e/M), which no flight path shows, but it shakes the accelerometer by metres per second squared. The mode
is the gyroscope's place swinging against the body; what that does to the body's own motion is left out (assumed small).

An unbalanced rotor is a tone of known frequency, and the sensor's analogue limit acts on it before it is sampled: gain and lag
of that limit at the tone's frequency are exact however fast the rotor turns, and sampling then folds down what is left.
(Sampling first and filtering after would let a tone near a multiple of the rate pass as if it were slow.) The mode's answer
to a tone is that of a steady tone; its answer to the body's own motion is stepped in time.
"""

from __future__ import annotations

import math

from quadsim.dynamics.state import X
from quadsim.jit import inner, kernel

TURN = 2.0 * math.pi


@kernel
def update_vibration(late, x, dx, held, plant, sensors, carried):
    """Advance vibration by one sample of the inertial sensor, into the fields `shake_...` of `carried`.

    Parameters
    ----------
    late : time of the sample after this tick [s]
    x, dx : state and its derivative at this tick
    sensors : SENSORS record; `imbalance` is m e of each rotor [kg m]
    carried : phases [rad]; rate [rad/s] and acceleration [m/s2] of the shaking, sensor axes, behind the sensor's own limit
    """
    for k in range(3):
        carried.shake_rate[k] = carried.shake_accel[k] = carried.shake_raw[0, k] = carried.shake_raw[1, k] = (
            0.0
        )
    dt = sensors.imu_period
    for i in range(4):
        if sensors.imbalance[i] == 0.0:
            continue
        speed = x[X.ROTORS + i] + late * dx[X.ROTORS + i]
        # the mean speed since the last sample, to second order
        phase = carried.rotor_phase[i] + (speed - 0.5 * dt * dx[X.ROTORS + i]) * dt
        carried.rotor_phase[i] = phase - TURN * math.floor(phase / TURN)
        if speed != 0.0:
            add_tone(i, speed, held.turning[i], plant, sensors, carried)
    for k in range(3):
        flexible_rate(k, -sensors.mode_share[k] * dx[X.RATES + k], sensors, carried)
        square = 0.5 * (carried.shake_raw[0, k] ** 2 + carried.shake_raw[1, k] ** 2)
        carried.shake_offset[k] = sensors.accel_rectification * square


@inner
def add_tone(i, speed, turning, plant, sensors, carried):
    """Add what the sensor feels of unbalanced rotor i at this `speed` [rad/s] and at the phase in `carried`."""
    force = unbalanced_force(sensors.imbalance[i], speed, carried.rotor_phase[i])
    add_acceleration(i, force, turning, plant, sensors, carried.shake_raw[0], sensors.accel_matrix)
    add_acceleration(i, -1j * force, turning, plant, sensors, carried.shake_raw[1], sensors.accel_matrix)
    felt = force / complex(1.0, speed * sensors.accel_lag)
    add_acceleration(i, felt, turning, plant, sensors, carried.shake_accel, sensors.accel_matrix)
    impulse = force / complex(1.0, speed * sensors.gyro_lag) / complex(0.0, speed)
    w, z = sensors.mode_frequency, sensors.mode_damping
    swing = speed * speed / complex(w * w - speed * speed, 2.0 * z * w * speed)
    m = sensors.gyro_matrix
    for n in range(3):
        rate = turning_up(n, i, impulse * (1.0 + sensors.mode_share[n] * swing), turning, plant)
        for k in range(3):
            carried.shake_rate[k] += m[k, n] * rate


@inner
def unbalanced_force(imbalance, speed, phase):
    """Force [N] on the hub of a rotor out of balance, as a turning complex number: forward now is its real part, and its
    imaginary part the way right for a rotor that turns clockwise seen from above.

    F = m e Omega^2 along the heavy side, which stands at `phase` (J. P. Den Hartog, Mechanical Vibrations, 4th ed. (1956),
    sec. 2.9 and 6.1; from memory). Static imbalance only: a heavy side above or below the disc would add a couple.
    """
    return imbalance * speed * speed * complex(math.cos(phase), math.sin(phase))


@inner
def turning_up(axis, i, force, turning, plant):
    """Angular acceleration [rad/s2] about one body axis by a turning force on the hub of rotor i: inverse inertia times r x F."""
    a, b, c = plant.rotor_position[i, 0], plant.rotor_position[i, 1], plant.rotor_position[i, 2]
    ahead, right = force.real, turning * force.imag
    inverse = plant.inertia_inverse
    return (
        inverse[axis, 0] * (-c * right)
        + inverse[axis, 1] * c * ahead
        + inverse[axis, 2] * (a * right - b * ahead)
    )


@inner
def add_acceleration(i, force, turning, plant, sensors, total, matrix):
    """Add to `total`, sensor axes, the acceleration [m/s2] at the sensor by that force: F/m + w' x r; the small w x (w x r)
    of the shaking is left out."""
    pd, qd, rd = (
        turning_up(0, i, force, turning, plant),
        turning_up(1, i, force, turning, plant),
        turning_up(2, i, force, turning, plant),
    )
    a, b, c = sensors.imu_position[0], sensors.imu_position[1], sensors.imu_position[2]
    ax = force.real / plant.mass + qd * c - rd * b
    ay = turning * force.imag / plant.mass + rd * a - pd * c
    az = pd * b - qd * a
    for k in range(3):
        total[k] += matrix[k, 0] * ax + matrix[k, 1] * ay + matrix[k, 2] * az


@inner
def flexible_rate(axis, drive, sensors, carried):
    """Advance the flexible mode about one body axis by one sample, driven by `drive` [rad/s2]; its rate is carried.mode[axis, 1].

    Base-excited oscillator y'' + 2 z w y' + w^2 y = drive, drive = -share times the body's angular acceleration
    (W. T. Thomson, Theory of Vibration, sec. 3.5; from memory). The step is exact for a drive that runs straight from
    sample to sample; its eight numbers are made by `mode_step` in resolve_sensors. Driven by a steady tone the rate of body
    and mode together is the body's times 1 + share r^2/(1 - r^2 + 2 z i r), r the ratio of the frequencies.
    """
    s, before = sensors.mode_step, carried.mode_drive[axis]
    y, v = carried.mode[axis, 0], carried.mode[axis, 1]
    carried.mode[axis, 0] = s[0] * y + s[1] * v + s[2] * before + s[3] * drive
    carried.mode[axis, 1] = s[4] * y + s[5] * v + s[6] * before + s[7] * drive
    carried.mode_drive[axis] = drive
