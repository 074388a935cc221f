"""What craft and ground do to the thrust of a rotor: loss by the airframe in its wake, gain close to the ground.

Both are factors on the thrust at equal rotor speed and torque. A bench measures neither.
"""

from __future__ import annotations

import math

from quadsim.jit import inner, kernel

LOSS_SWEPT_AWAY = 0.65
"""Share of the installed loss that is gone once the wake is swept back along the craft [-]. Fitted to three level runs in
wind of Russell, Jung, Willink & Glasner, NASA/TM-2018-219758, table C18 (thrust +20, +15 and +13 % at 6.4 m/s). It stays below
one since the rear rotors then fly in the wake of the front ones."""
BODY_LIFT = 0.5
"""Strength of the fountain between the wakes that lifts the body, K_b [-]. Fitted to the thrust needed near the ground by two
small quadrotors: Kan, Thomas, Teng, Tanner, Kumar & Karydis, IEEE RA-L 4(4) 2019, eq. 11; 2 in the paper of the formula."""
LOWEST = 0.6
"""Height over radius below which the gain is held [-]: the formula has a pole at 1/4, and two quadrotors measured 0.76 of the
thrust at 0.5 (Kan et al. 2019), which is what the formula gives here."""
HIGHEST = 40.0
"""Height over radius from which there is no ground effect [-]; the gain, under 0.05 % there, fades to nothing by then."""
UPRIGHT = 0.3
"""Cosine of the tilt at which ground effect has faded to nothing [-]; assumed, nothing was measured."""


@kernel(forceinline=True)
def induced_squared_inverse(hover_squared, inplane):
    """r of v_i^2 = vh^4/r, the square of the induced velocity in edgewise flow: r = V^2/2 + sqrt(V^4/4 + vh^4) [m2/s2].

    Glauert, ARC R&M 1111 (1926), without flow through the disc. hover_squared : vh^2 = T/(2 rho A) [m2/s2]; inplane : V [m/s].
    """
    half = 0.5 * inplane * inplane
    return half + math.sqrt(half * half + hover_squared * hover_squared)


@kernel(forceinline=True)
def loss_left(hover_squared, axial, inplane):
    """Share of the installed loss that is left, 1 - c sin^2 of the wake's skew, at air speeds along shaft and disc [m/s].

    tan^2 of the skew is V^2/(V_c^2 + v_i^2): climb and induced velocity by their squares, which spares the loop a root.
    """
    r = induced_squared_inverse(hover_squared, inplane)
    along, climb = inplane * inplane * r, max(axial, 0.0)
    return 1.0 - LOSS_SWEPT_AWAY * along / max(
        along + climb * climb * r + hover_squared * hover_squared, 1e-9
    )


@kernel
def ground_gain(height, speed_ratio, radius, beside, across, body_lift):
    """Thrust in ground effect over thrust out of it [-], four rotors in hover or forward flight.

    1/(1 - (R/4z)^2 - R^2 z/(d^2 + 4 z^2)^1.5 - R^2 z/(2 (2 d^2 + 4 z^2)^1.5) - 2 K_b R^2 z/(b^2 + 4 z^2)^1.5), every term divided
    by 1 + (V/v_i)^2: P. J. Sanchez-Cuevas, G. Heredia & A. Ollero, Int. J. Aerospace Eng. 2017, 1823056 (as in Kan et al., IEEE
    RA-L 4(4) 2019, eq. 7), with the fading of I. C. Cheeseman & W. E. Bennett, ARC R&M 3021 (1955). Rotors infinitely far apart
    leave that report's (R/4z)^2.

    Parameters
    ----------
    height : rotor above the ground along its axis, z [m]; speed_ratio : V/v_i [-]; radius : R [m]
    beside, across : distances of neighbouring hubs d and of opposite hubs b [m]; body_lift : K_b [-]
    """
    z = max(height, LOWEST * radius)
    area, four = radius * radius, 4.0 * z * z
    near, diagonal, body = beside * beside + four, 2.0 * beside * beside + four, across * across + four
    share = area / (4.0 * four) + area * z / (near * math.sqrt(near))
    share += 0.5 * area * z / (diagonal * math.sqrt(diagonal))
    share += 2.0 * body_lift * area * z / (body * math.sqrt(body))
    far = z / (HIGHEST * radius)
    share *= max(1.0 - far * far, 0.0) / (1.0 + speed_ratio * speed_ratio)
    return 1.0 / (1.0 - share)


@kernel(forceinline=True)
def thrust_gain(thrust, axial, inplane, height, upright, plant):
    """Factor on the thrust of a free rotor [-].

    Parameters
    ----------
    thrust : of the free rotor [N]; axial, inplane : speed of the hub through the air, along and across the shaft [m/s]
    height : of the hub above the ground [m]; upright : cosine of the tilt [-]
    """
    hover_squared = max(thrust, 0.0) * plant.per_disc_mass
    gain = 1.0 - plant.installed_loss * loss_left(hover_squared, axial, inplane)
    if height < HIGHEST * plant.rotor_radius and upright > UPRIGHT:
        gain *= _near_ground(hover_squared, inplane, height, upright, plant)
    return gain


@inner
def _near_ground(hover_squared, inplane, height, upright, plant):
    """Ground effect of a tilted craft [-]: along the shaft, fading with the tilt."""
    r = induced_squared_inverse(hover_squared, inplane)
    ratio = inplane * math.sqrt(r) / max(hover_squared, 1e-6)
    near = ground_gain(height / upright, ratio, plant.rotor_radius, plant.beside, plant.across, BODY_LIFT)
    return 1.0 + (near - 1.0) * (upright - UPRIGHT) / (1.0 - UPRIGHT)
