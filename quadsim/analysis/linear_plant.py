"""Linear model of the plant about an operating point, by central differences of the whole derivative."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from controllers.rotation import multiply
from quadsim.analysis.operating_point import OperatingPoint, rate_of
from quadsim.dynamics.state import X
from quadsim.sensors.inertial import specific_force

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]


class L(IntEnum):
    """Index of the first element of each part of the linear state (length SIZE)."""

    TURN = 0
    """Small turn about the body axes from the operating point's attitude [rad]."""
    RATES = 3
    VELOCITY = 6
    """North-east-down [m/s]."""
    POSITION = 9
    ROTORS = 12


SIZE = 16


class Y(IntEnum):
    """Index of the first element of each output (OUTPUTS in all)."""

    RATES = 0
    """Body axes [rad/s]."""
    FORCE = 3
    """Specific force at the inertial sensor, body axes [m/s2]."""
    POSITION = 6
    """North-east-down [m]."""
    VELOCITY = 9
    TURN = 12
    """As the state [rad]."""


OUTPUTS = 15

STEPS = np.array([1e-5] * 3 + [1e-4] * 3 + [1e-3] * 3 + [1e-3] * 3 + [1e-2] * 4)
DUTY_STEP = 1e-5


@dataclass(frozen=True)
class LinearPlant:
    """dx/dt = A x + B u, y = C x + D u for small departures; u are the four motors' duties (after the ESC).

    A (16, 16), B (16, 4), C (15, 16), D (15, 4); states as in `L`, outputs as in `Y`.
    """

    point: OperatingPoint
    a: Array
    b: Array
    c: Array
    d: Array

    def response(self, w: Array) -> Complex:
        """Frequency response (n, OUTPUTS, 4) at angular frequencies [rad/s]."""
        s = 1j * np.asarray(w)[:, None, None] * np.eye(SIZE)
        inner = np.linalg.solve(s - self.a, np.broadcast_to(self.b, (len(w), SIZE, 4)))
        return np.asarray(self.c @ inner + self.d, complex)


def linearise(point: OperatingPoint, sensors: Any) -> LinearPlant:
    """The linear model about a point; `sensors` (SENSORS record) tells where the inertial sensor sits.

    Battery charge, its slow relaxation and warmth stay as they are; the sag at once is in.
    """
    a, c = np.empty((SIZE, SIZE)), np.empty((OUTPUTS, SIZE))
    for n in range(SIZE):
        ahead, behind = (_seen(point, sensors, n, way * STEPS[n], None) for way in (1.0, -1.0))
        slope = (ahead - behind) / (2.0 * STEPS[n])
        a[:, n], c[:, n] = slope[:SIZE], slope[SIZE:]
    b, d = np.empty((SIZE, 4)), np.empty((OUTPUTS, 4))
    for n in range(4):
        ahead, behind = (_seen(point, sensors, None, way * DUTY_STEP, n) for way in (1.0, -1.0))
        slope = (ahead - behind) / (2.0 * DUTY_STEP)
        b[:, n], d[:, n] = slope[:SIZE], slope[SIZE:]
    return LinearPlant(point, a, b, c, d)


def _seen(point: OperatingPoint, sensors: Any, state: int | None, step: float, motor: int | None) -> Array:
    """Derivative of the linear state and outputs with one state or one motor's duty moved by `step`."""
    x, held = point.x.copy(), point.held
    if state is not None:
        _move(x, state, step)
    held.duty[:] = point.duty
    if motor is not None:
        held.duty[motor] += step
    dx = rate_of(x, held, point.plant)
    p, q, r = (float(one) for one in x[X.RATES : X.RATES + 3])
    force = specific_force(p, q, r, dx, held.force, float(point.plant.mass), sensors)
    turn = np.zeros(3)
    if state is not None and state < L.RATES:
        turn[state] = step
    # a turn e is carried along by the rate w0 of the point: de/dt = w - w0 - w0 x e
    base = point.x[X.RATES : X.RATES + 3]
    turning = x[X.RATES : X.RATES + 3] - base - np.cross(base, turn)
    held.duty[:] = point.duty
    velocity, position = slice(X.VELOCITY, X.VELOCITY + 3), slice(X.POSITION, X.POSITION + 3)
    rates, rotors = slice(X.RATES, X.RATES + 3), slice(X.ROTORS, X.ROTORS + 4)
    change = [turning, dx[rates], dx[velocity], dx[position], dx[rotors]]
    return np.concatenate([*change, x[rates], force, x[position], x[velocity], turn])


def _move(x: Array, state: int, step: float) -> None:
    """Move one linear state in the full state vector."""
    if state < L.RATES:
        half = np.zeros(3)
        half[state] = 0.5 * step
        w = np.sqrt(1.0 - half @ half)
        q = x[X.QUATERNION : X.QUATERNION + 4]
        x[X.QUATERNION : X.QUATERNION + 4] = multiply(*q, w, *half)
    elif state < L.VELOCITY:
        x[X.RATES + state - L.RATES] += step
    elif state < L.POSITION:
        x[X.VELOCITY + state - L.VELOCITY] += step
    elif state < L.ROTORS:
        x[X.POSITION + state - L.POSITION] += step
    else:
        x[X.ROTORS + state - L.ROTORS] += step
