"""Motion of a rigid body that carries spinning rotors."""

from __future__ import annotations

from quadsim.dynamics.state import X
from quadsim.jit import inner, kernel


@inner(forceinline=True)
def angular_acceleration(p, q, r, mx, my, mz, h, drive, plant):
    """Angular acceleration of the body [rad/s2], body axes.

    Euler's equation with stored angular momentum: J dw/dt = M - w x (I w + h z) - T z. I counts the rotors as locked, J
    leaves their axial inertia out, h [kg m2/s] is the rotors' angular momentum relative to the body along z, and T [N m],
    here `drive`, is the sum of s T_i over the motors' torques T_i on rotors that turn in the sense s. With
    Jr (domega_i/dt + s dr/dt) = T_i - Q_i for each rotor (Q_i from the air) this is the exact multi-body equation.

    References: S. Bouabdallah, EPFL thesis 3727 (2007), ch. 2; held against MuJoCo in tests/verification.
    """
    inertia = plant.inertia
    a = inertia[0, 0] * p + inertia[0, 1] * q + inertia[0, 2] * r
    b = inertia[1, 0] * p + inertia[1, 1] * q + inertia[1, 2] * r
    c = inertia[2, 0] * p + inertia[2, 1] * q + inertia[2, 2] * r + h
    tx, ty, tz = mx - (q * c - r * b), my - (r * a - p * c), mz - (p * b - q * a) - drive
    inverse = plant.inertia_inverse
    return (
        inverse[0, 0] * tx + inverse[0, 1] * ty + inverse[0, 2] * tz,
        inverse[1, 0] * tx + inverse[1, 1] * ty + inverse[1, 2] * tz,
        inverse[2, 0] * tx + inverse[2, 1] * ty + inverse[2, 2] * tz,
    )


@inner(forceinline=True)
def rotor_accelerations(yaw_acceleration, held, dx):
    """Accelerations of the rotors relative to the body [rad/s2], into `dx`."""
    per_inertia = held.per_rotor_inertia
    for i in range(4):
        free = (held.motor_torque[i] - held.rotor_torque[i]) * per_inertia
        dx[X.ROTORS + i] = free - held.turning[i] * yaw_acceleration


@kernel
def stop_blocked(x, held, plant):
    """Hold every blocked rotor at rest by the impulse P along its shaft that this takes; angular momentum stays.

    P = omega/(1/Jr + z.J^-1 z) with J as in `angular_acceleration`; the body gets s P, the free rotors feel its jump in
    yaw rate. Follows from momentum balance of rotor and body.
    """
    if held.any_blocked == 0.0:
        return
    inverse = plant.inertia_inverse
    for i in range(4):
        if held.blocked[i] > 0.0:
            push = held.turning[i] * x[X.ROTORS + i] / (1.0 / plant.rotor_inertia + inverse[2, 2])
            for k in range(3):
                x[X.RATES + k] += inverse[k, 2] * push
            for n in range(4):
                x[X.ROTORS + n] -= held.turning[n] * inverse[2, 2] * push
            x[X.ROTORS + i] = 0.0
