"""What a craft can fly, as numbers per unit of mass: the limits of a line, and where a line passes them.

The thrust over mass that a motion asks for is f = a - g + (d1 + d2 |V|) V, along the shafts (differential flatness with a drag
that is the same in all directions: the rotors' linear one and the airframe's quadratic one). Every limit is a number that is zero
at the limit and 1 far beyond it (`look_kernels`):
    thrust  |f|/(f0 - (k + p |V|) w) - 1, w = V f/|f| the climb along the shafts, not below zero: thrust falls with the inflow,
            and the air pushes a tilted body down along them harder than drag alone says
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
LEAST_THRUST = 0.1
"""Of f0: the limits let the thrust fall no further, since a search may look far beyond any speed that can be reached."""


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
    push : p, of the air on the body along the shafts [1/m]
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
    push: float = 0.0

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

    @property
    def numbers(self) -> Array:
        """As the kernels take them."""
        upright = math.cos(self.tilt) if self.tilt < math.pi else -1.0
        own = (self.gravity, self.thrust, self.thrust_fall, self.least_thrust, self.rate, upright)
        return np.array([*own, self.drag, self.drag_squared, self.push])

    def greatest(self, speed: Array | float, climb: Array | float) -> Array:
        """Thrust over mass that there is [m/s2] at speeds and climbs along the shafts, not below zero [m/s]."""
        left = self.thrust - (self.thrust_fall + self.push * speed) * climb
        return np.asarray(np.maximum(left, LEAST_THRUST * self.thrust))

    @property
    def live(self) -> tuple[int, ...]:
        """Which of NAMES there are."""
        some = (True, self.least_thrust > 0.0, math.isfinite(self.rate), self.tilt < math.pi)
        return tuple(k for k, one in enumerate(some) if one)

    def passed(self, velocity: Array, acceleration: Array, jerk: Array) -> list[tuple[Array, Partials]]:
        """Every limit of NAMES that there is at states (n, 3), with its partial derivatives."""
        from quadsim.planning.look_kernels import limits_of  # compiles

        states = np.ascontiguousarray(
            np.stack([np.zeros_like(velocity), velocity, acceleration, jerk], axis=1), dtype=float
        )
        g, by = np.empty((len(states), 4)), np.zeros((len(states), 5, 3, 3))
        limits_of(states, self.numbers, g, by)
        return [(g[:, k].copy(), (by[:, k, 0], by[:, k, 1], by[:, k, 2])) for k in self.live]
