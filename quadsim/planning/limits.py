"""What a craft can fly, as numbers per unit of mass: the limits of a line, and where a line passes them.

The thrust over mass that a motion asks for is f = a - g + (d1 + d2 |V|) V, along the shafts (differential flatness with a drag that
is the same in all directions: the rotors' linear one and the airframe's quadratic one). Every limit is a number that is zero at the
limit and 1 far beyond it:
    thrust  |f|/(f0 - k w) - 1, w = V f/|f| the climb along the shafts, not below zero: thrust falls with the inflow
    least   1 - |f|/f_least
    rate    w^2/w_max^2 - 1 with w = |j_across|/|f|, the turning of the thrust by the jerk j
    tilt    (cos(tilt_max) - cos(tilt))/(1 - cos(tilt_max))

References
----------
M. Faessler, A. Franchi, D. Scaramuzza, Differential Flatness of Quadrotor Dynamics Subject to Rotor Drag for Accurate Tracking of
High-Speed Trajectories, IEEE RA-L 3 (2018), doi 10.1109/LRA.2017.2776353 (drag in the flat map; from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Partials = tuple[Array, Array, Array]
"""Of a limit by velocity, acceleration and jerk, (n, 3) each."""

NAMES = ("thrust", "least", "rate", "tilt")
TINY = 1e-9


@dataclass(frozen=True)
class Limits:
    """Of one craft at one site.

    gravity : [m/s2]
    thrust : f0, greatest thrust over mass in still air, what is kept for attitude taken off [m/s2]
    thrust_fall : k, by which it falls with the climb along the shafts [1/s]
    least_thrust : over mass, that keeps hold of the attitude [m/s2]
    rate : greatest turning of the thrust [rad/s]; infinite for a point mass
    tilt : greatest angle of the thrust from upright [rad]
    drag, drag_squared : d1 [1/s], d2 [1/m]
    radius : of the sphere that holds the craft [m]
    """

    gravity: float
    thrust: float
    thrust_fall: float
    least_thrust: float
    rate: float
    tilt: float
    drag: float
    drag_squared: float
    radius: float

    @property
    def of_point_mass(self) -> Limits:
        """The same thrust, drag, size and greatest tilt without what turning takes: the attitude changes at once."""
        return replace(self, least_thrust=0.0, rate=math.inf)

    @property
    def of_free_point_mass(self) -> Limits:
        """The same, and the thrust may point anywhere, also at the ground."""
        return replace(self.of_point_mass, tilt=math.pi)

    def force(self, velocity: Array, acceleration: Array) -> Array:
        """f (n, 3) [m/s2], north-east-down, along the thrust."""
        speed = np.linalg.norm(velocity, axis=-1, keepdims=True)
        pushed = acceleration + (self.drag + self.drag_squared * speed) * velocity
        return np.asarray(pushed - np.array([0.0, 0.0, self.gravity]))

    def passed(self, velocity: Array, acceleration: Array, jerk: Array) -> list[tuple[Array, Partials]]:
        """Every limit of NAMES that there is at states (n, 3), with its partial derivatives."""
        f = self.force(velocity, acceleration)
        size = np.sqrt(np.sum(f * f, axis=1, keepdims=True) + TINY)
        unit = f / size
        found = [self._thrust(velocity, f, size, unit)]
        if self.least_thrust > 0.0:
            found.append((1.0 - size[:, 0] / self.least_thrust, self._by_force(velocity, -unit / self.least_thrust)))
        if math.isfinite(self.rate):
            found.append(self._turning(velocity, f, size, jerk))
        if self.tilt < math.pi:
            found.append(self._leaning(velocity, size, unit))
        return found

    def _by_force(self, velocity: Array, by_f: Array, by_v: Array | None = None, by_j: Array | None = None) -> Partials:
        """From the partials by the force, and by velocity and jerk beside it, to those by velocity, acceleration and jerk."""
        speed = np.sqrt(np.sum(velocity * velocity, axis=1, keepdims=True) + TINY)
        along = np.sum(velocity * by_f, axis=1, keepdims=True) / speed
        v = (self.drag + self.drag_squared * speed) * by_f + self.drag_squared * along * velocity
        return v if by_v is None else v + by_v, by_f, np.zeros_like(by_f) if by_j is None else by_j

    def _thrust(self, velocity: Array, f: Array, size: Array, unit: Array) -> tuple[Array, Partials]:
        climb = np.sum(velocity * unit, axis=1, keepdims=True)
        live = climb > 0.0
        given = self.thrust - self.thrust_fall * np.where(live, climb, 0.0)
        floor = 0.1 * self.thrust  # far beyond any speed that can be reached the search may still look
        live &= given > floor
        given = np.maximum(given, floor)
        fall = np.where(live, self.thrust_fall, 0.0)
        ratio = size / given
        by_climb = ratio / given * fall
        by_f = unit / given + by_climb * (velocity - climb * unit) / size
        return ratio[:, 0] - 1.0, self._by_force(velocity, by_f, by_climb * unit)

    def _turning(self, velocity: Array, f: Array, size: Array, jerk: Array) -> tuple[Array, Partials]:
        square, both = size * size, np.sum(f * jerk, axis=1, keepdims=True)
        jerks = np.sum(jerk * jerk, axis=1, keepdims=True)
        scale = 1.0 / self.rate**2
        rate = jerks / square - (both / square) ** 2
        by_j = 2.0 * (jerk / square - both * f / square**2) * scale
        by_f = 2.0 * (-jerks * f / square**2 - both * jerk / square**2 + 2.0 * both**2 * f / square**3) * scale
        return rate[:, 0] * scale - 1.0, self._by_force(velocity, by_f, None, by_j)

    def _leaning(self, velocity: Array, size: Array, unit: Array) -> tuple[Array, Partials]:
        least = math.cos(self.tilt)
        scale = 1.0 / (1.0 - least)
        upright = -unit[:, 2:]
        by_f = scale * (np.array([0.0, 0.0, 1.0]) + upright * unit) / size
        return (least - upright[:, 0]) * scale, self._by_force(velocity, by_f)
