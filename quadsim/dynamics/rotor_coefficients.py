"""Conventions of rotor coefficients: propeller (n, D) against helicopter (tip speed, disc area).

Propeller: CT = T/(rho n^2 D^4), CP = P/(rho n^3 D^5), J = V/(n D). Helicopter: CT = T/(rho A (Omega R)^2), CP
= P/(rho A (Omega R)^3).

References
----------
M. S. Selig and G. K. Ananda, UIUC AE 15-01 (2015), eqs. 1-4. J. G. Leishman, Principles of Helicopter
Aerodynamics, 2nd ed. (Cambridge, 2006), ch. 2.
"""

import math


def helicopter_thrust(ct: float) -> float:
    """Helicopter CT from propeller CT [-]: A (Omega R)^2 = pi^3/4 n^2 D^4."""
    return 4.0 / math.pi**3 * ct


def helicopter_power(cp: float) -> float:
    """Helicopter CP from propeller CP [-]: A (Omega R)^3 = pi^4/4 n^3 D^5."""
    return 4.0 / math.pi**4 * cp


def torque_coefficient(cp: float) -> float:
    """Propeller CQ = Q/(rho n^2 D^5) from CP [-]: P = 2 pi n Q."""
    return cp / (2.0 * math.pi)


def tip_speed_ratio(advance_ratio: float) -> float:
    """mu = V/(Omega R) from J = V/(n D) [-]."""
    return advance_ratio / math.pi


def figure_of_merit(ct: float, cp: float) -> float:
    """Ideal over real hover power from propeller coefficients [-]."""
    return float(ct**1.5 * math.sqrt(2.0 / math.pi) / cp)


def propulsive_efficiency(advance_ratio: float, ct: float, cp: float) -> float:
    """Thrust power over shaft power in axial flight [-]."""
    return advance_ratio * ct / cp
