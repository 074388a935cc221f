"""Operating points of the plant: steady flight, or all motors at one command, as a state to linearise about."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import root

from controllers.signals import rows
from quadsim.config.equilibrium import balance, hover_balance
from quadsim.config.warmth import begin_at
from quadsim.dynamics.derivative import full_derivative
from quadsim.dynamics.records import HELD
from quadsim.dynamics.state import SIZE, X
from quadsim.errors import InputError
from quadsim.kinematics.quaternion import from_euler, rotation_matrix

Array = NDArray[np.float64]

HIGH = 1000.0
"""Height at which points are taken [m]: far from the ground."""
CLOSE = 1e-6
"""Greatest residual of a steady flight [m/s2, rad/s2]; rotor accelerations count a thousandth."""


@dataclass(frozen=True)
class OperatingPoint:
    """A state with what belongs to it.

    plant, held : PLANT and HELD records
    x : state, (SIZE,)
    duty : motor commands, (4,)
    steady : True when nothing but the place changes
    """

    name: str
    plant: Any
    held: Any
    x: Array
    duty: Array
    steady: bool

    @property
    def euler(self) -> tuple[float, float]:
        """Roll and pitch [rad]."""
        w, x, y, z = self.x[X.QUATERNION : X.QUATERNION + 4]
        return math.atan2(2.0 * (w * x + y * z), 1.0 - 2.0 * (x * x + y * y)), math.asin(
            2.0 * (w * y - z * x)
        )

    @property
    def turn(self) -> Array:
        """Body to world matrix (3, 3)."""
        return np.array(rotation_matrix(*self.x[X.QUATERNION : X.QUATERNION + 4])).reshape(3, 3)

    @property
    def airspeed(self) -> Array:
        """Velocity of the centre of mass through the air, north-east-down [m/s], (3,)."""
        return np.asarray(self.x[X.VELOCITY : X.VELOCITY + 3] - self.held.wind)

    @property
    def thrust(self) -> float:
        """Total thrust [N]."""
        return float(np.sum(self.held.thrust))


def healthy(plant: Any, duty: Any) -> Any:
    """HELD of sound rotors at given commands, still air, at working temperature."""
    held = rows(HELD)[0]
    held.thrust_factor[:] = held.torque_factor[:] = 1.0
    held.turning[:] = plant.spin
    begin_at(held, plant)
    held.winding_temperature[:] = plant.working_temperature
    held.duty[:] = duty
    return held


def state_at(forward: float, climb: float, roll: float, pitch: float, rotors: Any, charge: float) -> Array:
    """State heading north at a forward speed and climb rate [m/s], roll and pitch [rad], rotor speeds [rad/s]."""
    x = np.zeros(SIZE)
    x[X.POSITION + 2], x[X.VELOCITY], x[X.VELOCITY + 2] = -HIGH, forward, -climb
    x[X.QUATERNION : X.QUATERNION + 4] = from_euler(roll, pitch, 0.0)
    x[X.ROTORS : X.ROTORS + 4], x[X.CHARGE] = rotors, charge
    return x


def rate_of(x: Array, held: Any, plant: Any) -> Array:
    """dx/dt with everything renewed."""
    dx = np.zeros(SIZE)
    full_derivative(0.0, x, held, plant, dx)
    return dx


def steady_flight(
    plant: Any, forward: float = 0.0, climb: float = 0.0, charge: float = 1.0
) -> OperatingPoint:
    """Straight and level or climbing flight through still air, heading along the path.

    Ten unknowns (roll, pitch, four rotor speeds, four commands) against no change of velocity, rates and rotor speeds:
    scipy's hybrid Powell method.

    Parameters
    ----------
    plant : PLANT record
    forward, climb : speed over ground and climb rate [m/s]
    charge : state of charge 0..1

    Raises
    ------
    InputError
        when the craft cannot fly like that.
    """
    words = f"{forward:g} m/s" if forward else "hover"
    words += f" climbing at {climb:g} m/s" if climb else ""
    hover = hover_balance(plant, charge)
    if hover is None:
        raise InputError(f"the craft cannot hover with {100.0 * charge:.0f} % charge")
    scale, duty0 = hover.rotor_speed, hover.duty
    held = healthy(plant, duty0)

    def unpacked(z: Array) -> Array:
        held.duty[:] = z[6:]
        return state_at(forward, climb, z[0], z[1], scale * z[2:6], charge)

    def residual(z: Array) -> Array:
        dx = rate_of(unpacked(z), held, plant)
        rotors = dx[X.ROTORS : X.ROTORS + 4] / 1000.0
        return np.concatenate([dx[X.VELOCITY : X.VELOCITY + 3], dx[X.RATES : X.RATES + 3], rotors])

    lean = -math.atan2(_drag(plant, forward), float(plant.mass * plant.gravity))
    found = root(
        residual, np.array([0.0, lean, *[1.0] * 4, *[duty0] * 4]), method="hybr", options={"xtol": 1e-12}
    )
    x = unpacked(found.x)
    if np.max(np.abs(residual(found.x))) > CLOSE:
        raise InputError(f"no steady flight was found at {words}: it is too fast for this craft")
    if np.max(held.duty) > 1.0:
        raise InputError(f"{words} would take {100.0 * np.max(held.duty):.0f} % motor command")
    return OperatingPoint(words, plant, held, x, np.array(held.duty), True)


def _drag(plant: Any, speed: float) -> float:
    """A guess at the drag [N] to start the search from."""
    return (
        0.5 * float(plant.air_density * plant.drag_area[0]) * speed * speed + 0.05 * float(plant.mass) * speed
    )


def at_command(plant: Any, duty: float, charge: float = 1.0) -> OperatingPoint:
    """Level and at rest with all four motors at one command 0..1: a moment of a climb or fall, not a steady flight."""
    speed = balance(plant, duty, charge).rotor_speed
    held = healthy(plant, duty)
    x = state_at(0.0, 0.0, 0.0, 0.0, speed, charge)

    def residual(rotors: Array) -> Array:
        x[X.ROTORS : X.ROTORS + 4] = speed * rotors
        return rate_of(x, held, plant)[X.ROTORS : X.ROTORS + 4] / 1000.0

    root(residual, np.ones(4), method="hybr", options={"xtol": 1e-12})
    residual(np.asarray(x[X.ROTORS : X.ROTORS + 4]) / speed)
    return OperatingPoint(f"{100.0 * duty:.0f} % command", plant, held, x, np.full(4, duty), False)
