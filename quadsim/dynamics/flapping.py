"""Blade flapping: the hub moments of a stiff blade in edgewise flow, and the aft tilt of the thrust.

A blade is a rigid beam on a spring at the hub, with first flap frequency ratio nu (1 for a free hinge). Its
flap angle b0 + b_c cos psi + b_s sin psi, psi from aft in the sense of rotation, answers the once-per-turn
aerodynamic moment m_c cos psi + m_s sin psi (over I_b Omega^2) as
    [nu^2 - 1    gamma/8 ] [b_c]   [m_c]
    [-gamma/8    nu^2 - 1] [b_s] = [m_s]
and the hub takes N/2 (nu^2 - 1) I_b Omega^2 b. Coning and the lateral tilt of the thrust are left out.

References
----------
J. G. Leishman, Principles of Helicopter Aerodynamics, 2nd ed. (Cambridge, 2006), ch. 4; A. R. S. Bramwell,
Helicopter Dynamics (1976), ch. 4; W. Johnson, Helicopter Theory (1980), ch. 5 (equations from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from quadsim.dynamics.blade_element import Array, Blade, Section

FLAP_RATIO, FLAP_RATIO_SIGMA = 1.5, 0.35
"""First flap frequency of a small moulded propeller over its speed [-]; assumed. nu^2 = k + (f/n)^2 with k =
1.2 for a cantilever (Southwell), and f = 0.56 sqrt(EI/(rho A L^4)) times 1.7 for taper is about 100 Hz for a
10 in blade 2.3 mm thick of filled nylon: close to its 100 turns a second at 80 m/s of tip speed, whatever the
size. Softer plastic or speed gives 1.25, carbon at low speed over 2."""

MATERIAL_DENSITY = 1300.0
"""Moulded plastic [kg/m3]; assumed."""
THICKNESS_RATIO, AREA_FACTOR = 0.10, 0.65
"""Blade thickness over chord and section area over thickness times chord [-]; assumed."""
AIR_DENSITY = 1.225
"""Sea level [kg/m3], ICAO Doc 7488."""


@dataclass(frozen=True)
class FlapHinge:
    """What the flapping equation needs of a blade.

    flap_ratio : nu [-]; damping : gamma/8 [-]; inertia : I_b over air density and tip radius^5 [-]; blades
    """

    flap_ratio: float
    damping: float
    inertia: float
    blades: int


def flap_hinge(blade: Blade, section: Section, flap_ratio: float = FLAP_RATIO) -> FlapHinge:
    """The hinge that stands for a solid moulded blade of this plan form.

    gamma/8 = a/2 int c r^3 dr / I_b with I_b = (rho_m / rho) int A r^2 dr; for the typical blade gamma is about 2.
    """
    r, c, w = blade.radius, blade.chord, blade.weight
    inertia = MATERIAL_DENSITY / AIR_DENSITY * AREA_FACTOR * THICKNESS_RATIO * float(w @ (c * c * r * r))
    damping = 0.5 * section.lift_slope * float(w @ (c * r**3)) / inertia
    return FlapHinge(flap_ratio, damping, inertia, blade.blades)


def flap(hinge: FlapHinge, rigid_cosine: Array, rigid_sine: Array) -> tuple[Array, Array]:
    """Flap angles b_c, b_s (m,) [rad] from the rigid rotor's once-per-turn hub moments over rho n^2 D^5 (m,).

    The moments are those of all blades: N/2 times one blade's amplitude.
    """
    per_moment = 16.0 / (math.pi**2 * hinge.blades * hinge.inertia)
    m_c, m_s = per_moment * rigid_cosine, per_moment * rigid_sine
    k, g = hinge.flap_ratio**2 - 1.0, hinge.damping
    size = k * k + g * g
    return (k * m_c - g * m_s) / size, (g * m_c + k * m_s) / size


def flapping_coefficients(hinge: FlapHinge, rigid: Array) -> Array:
    """CT, CP, CH, CMR, CMP (m, 5) from a rigid rotor's CT, CP, CH and hub moments sine, cosine (m, 5).

    With e along the hub's in-plane velocity through the air and z down: CMR is the moment along e of a rotor
    that turns clockwise seen from above (the other way its opposite), CMP that along z x e, nose up for
    flight along e. The thrust tilts aft by -b_c.
    """
    ct, cp, ch, sine, cosine = rigid.T
    b_c, b_s = flap(hinge, cosine, sine)
    stiffness = (hinge.flap_ratio**2 - 1.0) * math.pi**2 * hinge.blades * hinge.inertia / 16.0
    return np.stack([ct, cp, ch - b_c * ct, stiffness * b_s, -stiffness * b_c], axis=1)
