"""Where a descent meets its own wake: the vortex-ring state, and the greatest descent rate that keeps clear of it.

W. Johnson, Model for Vortex Ring State Influence on Rotorcraft Flight Dynamics, NASA/TP-2005-213477. The mean inflow of the
state is in the rotor map; what the map has not is its unsteadiness, so a flight in it is worse than simulated.
"""

from __future__ import annotations

import math

from quadsim.dynamics.state import X
from quadsim.jit import inner, kernel
from quadsim.kinematics.quaternion import rotation_matrix

ONSET = 0.5
"""Descent rate over hover induced velocity at which the unsteady flow starts [-]; 0.4 to 0.7, NASA/TP-2005-213477."""
END = 1.5
"""The same ratio where it ends, towards the windmill-brake state [-]; the worst lies at 0.7 to 1.5, same report."""
FORWARD = 1.0
"""Speed along the disc over hover induced velocity that blows the ring away [-]; 0.8 to 1.2, same report."""


@kernel
def in_vortex_ring(descent, forward):
    """True inside the state; descent and forward speed through the air over the hover induced velocity [-]. Numbers or arrays."""
    return (descent > ONSET) & (descent < END) & (forward < FORWARD)


def greatest_safe_descent(hover_induced_velocity: float) -> float:
    """Greatest vertical descent rate [m/s] short of the state, for v_h [m/s]: 0.5 v_h. The onset scatters from 0.4 to 0.7 v_h."""
    return ONSET * hover_induced_velocity


@inner
def hold_descent_ratios(x, held, plant):
    """Descent and edgewise speed of the craft through the air over its hover induced velocity [-], into `held`."""
    r00, r01, r02, r10, r11, r12, r20, r21, r22 = rotation_matrix(
        x[X.QUATERNION], x[X.QUATERNION + 1], x[X.QUATERNION + 2], x[X.QUATERNION + 3]
    )
    n, e, d = x[X.VELOCITY] - held.wind[0], x[X.VELOCITY + 1] - held.wind[1], x[X.VELOCITY + 2] - held.wind[2]
    thrust = 0.25 * (held.thrust[0] + held.thrust[1] + held.thrust[2] + held.thrust[3])
    induced = math.sqrt(max(thrust, 0.0) * plant.per_disc_mass)
    held.descent_ratio = held.edgewise_ratio = 0.0
    if induced > 0.1:  # with next to no thrust there is no wake to sink into
        down = r02 * n + r12 * e + r22 * d
        u, v = r00 * n + r10 * e + r20 * d, r01 * n + r11 * e + r21 * d
        held.descent_ratio = down / induced
        held.edgewise_ratio = math.sqrt(u * u + v * v) / induced
