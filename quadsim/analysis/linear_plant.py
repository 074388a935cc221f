"""Linear model of the plant about an operating point, by central differences of the whole derivative."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import IntEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from controllers.rotation import multiply
from quadsim.analysis.operating_point import OperatingPoint, rate_of
from quadsim.dynamics.rotor import AXIAL_STEP, INPLANE_STEP
from quadsim.dynamics.state import X
from quadsim.kinematics.quaternion import rotation_matrix
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
    VOLTAGE = 15
    """At the pack [V]."""


OUTPUTS = 16

STEPS = np.array([1e-5] * 3 + [1e-4] * 3 + [1e-3] * 3 + [1e-3] * 3 + [1e-2] * 4)
DUTY_STEP = 1e-5
CELL = np.array([INPLANE_STEP, INPLANE_STEP, AXIAL_STEP])
"""One cell of the rotor map along the body axes [-], as advance ratio."""


@dataclass(frozen=True)
class LinearPlant:
    """dx/dt = A x + B u, y = C x + D u for small departures; u are the four motors' duties (after the ESC).

    A (16, 16), B (16, 4), C (16, 16), D (16, 4); states as in `L`, outputs as in `Y`.
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

    The rotor map is made of planes: its slopes jump from cell to cell, and with front and rear rotors in two cells the
    pitching moment would seem to depend on the angle of attack five times as much as just before and after. So what the air
    does is the slope over one whole cell, as a flight through a few of them feels it: that goes on without a jump. All else is
    differenced in small steps while the air moves and turns with the craft.
    """
    air = _air_slopes(point, sensors)
    a, c = np.empty((SIZE, SIZE)), np.empty((OUTPUTS, SIZE))
    for n in range(SIZE):
        ahead, behind = (_moved(point, sensors, n, way * STEPS[n]) for way in (1.0, -1.0))
        slope = (ahead - behind) / (2.0 * STEPS[n]) + air @ _airspeed_by(point, n)
        a[:, n], c[:, n] = slope[:SIZE], slope[SIZE:]
    b, d = np.empty((SIZE, 4)), np.empty((OUTPUTS, 4))
    for n in range(4):
        ahead, behind = (_driven(point, sensors, n, way * DUTY_STEP) for way in (1.0, -1.0))
        slope = (ahead - behind) / (2.0 * DUTY_STEP)
        b[:, n], d[:, n] = slope[:SIZE], slope[SIZE:]
    return LinearPlant(point, a, b, c, d)


def _airspeed_by(point: OperatingPoint, state: int) -> Array:
    """Change of the airspeed in body axes per change of a linear state, (3,); a body turned by e sees v turned by v x e."""
    one = np.zeros(SIZE)
    one[state] = 1.0
    turned = np.cross(point.turn.T @ point.airspeed, one[L.TURN : L.TURN + 3])
    return np.asarray(turned + point.turn.T @ one[L.VELOCITY : L.VELOCITY + 3])


def _air_slopes(point: OperatingPoint, sensors: Any) -> Array:
    """Change of the derivative and the outputs per airspeed along each body axis, over one cell of the rotor map, (n, 3)."""
    turn, columns = point.turn, []
    mean_speed = float(np.mean(point.x[X.ROTORS : X.ROTORS + 4]))
    cells = CELL * mean_speed * float(point.plant.rotor_radius) / math.pi
    for cell, along in zip(cells, turn.T, strict=True):
        ahead, behind = (_seen(point, sensors, point.x, wind=way * cell * along) for way in (-0.5, 0.5))
        columns.append((ahead - behind) / cell)
    return np.array(columns).T


def _moved(point: OperatingPoint, sensors: Any, state: int, step: float) -> Array:
    """What is seen with one linear state moved by `step`, the air moving and turning with the craft."""
    x = point.x.copy()
    _move(x, state, step)
    turned = np.array(rotation_matrix(*x[X.QUATERNION : X.QUATERNION + 4])).reshape(3, 3)
    wind = x[X.VELOCITY : X.VELOCITY + 3] - turned @ point.turn.T @ point.airspeed - point.held.wind
    turn = np.zeros(3)
    if state < L.RATES:
        turn[state] = step
    return _seen(point, sensors, x, wind=wind, turn=turn)


def _driven(point: OperatingPoint, sensors: Any, motor: int, step: float) -> Array:
    """What is seen with one motor's duty moved by `step`."""
    duty = point.duty.copy()
    duty[motor] += step
    return _seen(point, sensors, point.x, duty=duty)


def _seen(
    point: OperatingPoint,
    sensors: Any,
    x: Array,
    *,
    duty: Array | None = None,
    wind: Array | None = None,
    turn: Array | None = None,
) -> Array:
    """Derivative of the linear state, and the outputs, in state x.

    duty : motor commands other than the point's
    wind : on top of the point's, north-east-down [m/s]
    turn : small turn of x from the point's attitude, body axes [rad]
    """
    held, still = point.held, point.held.wind.copy()
    held.duty[:] = point.duty if duty is None else duty
    held.wind[:] = still if wind is None else still + wind
    turn = np.zeros(3) if turn is None else turn
    dx = rate_of(x, held, point.plant)
    p, q, r = (float(one) for one in x[X.RATES : X.RATES + 3])
    force = specific_force(p, q, r, dx, held.force, float(point.plant.mass), sensors)
    # a turn e is carried along by the rate w0 of the point: de/dt = w - w0 - w0 x e
    base = point.x[X.RATES : X.RATES + 3]
    turning = x[X.RATES : X.RATES + 3] - base - np.cross(base, turn)
    volts = [float(held.battery_voltage)]
    held.duty[:], held.wind[:] = point.duty, still
    velocity, position = slice(X.VELOCITY, X.VELOCITY + 3), slice(X.POSITION, X.POSITION + 3)
    rates, rotors = slice(X.RATES, X.RATES + 3), slice(X.ROTORS, X.ROTORS + 4)
    change = [turning, dx[rates], dx[velocity], dx[position], dx[rotors]]
    return np.concatenate([*change, x[rates], force, x[position], x[velocity], turn, volts])


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
