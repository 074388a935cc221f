"""Induced velocity of a lifting rotor: hover, climb, descent, forward flight.

Plain scalar formulas (numbers in, number out). Axial speeds are positive when the rotor climbs along its
thrust; `speed_ratio` is the axial speed over the hover induced velocity v_h of the same thrust [-].

References
----------
J. G. Leishman, Principles of Helicopter Aerodynamics, 2nd ed. (Cambridge, 2006), ch. 2.
H. Glauert, A General Theory of the Autogyro, ARC R&M 1111 (1926).
W. Castles and R. B. Gray, Empirical relation between induced velocity, thrust, and rate of descent, NACA TN
2474 (1951).
"""

import bisect
import itertools
import math

DESCENT_QUARTIC = (-1.125, -1.372, -1.718, -0.655)
"""Coefficients of x, x^2, x^3, x^4 of v_i/v_h in descent, -2 <= x <= 0. Leishman (2006), ch. 2."""

WINDMILL_RATIO = -2.0
"""Speed ratio below which the windmill-brake state has a slipstream again. Leishman (2006), ch. 2."""


def hover_induced_velocity(thrust: float, density: float, disc_area: float) -> float:
    """Hover induced velocity v_h = sqrt(T / (2 rho A)) [m/s]; thrust [N], density [kg/m3], disc_area [m2].

    Leishman (2006), ch. 2 (hover).
    """
    return math.sqrt(max(thrust, 0.0) / (2.0 * density * disc_area))


def ideal_hover_power(thrust: float, density: float, disc_area: float) -> float:
    """Least shaft power that hovers, P = T v_h [W]. Leishman (2006), ch. 2 (hover)."""
    return thrust * hover_induced_velocity(thrust, density, disc_area)


def climb_induced_ratio(speed_ratio: float) -> float:
    """v_i/v_h in axial climb, from v_i (V + v_i) = v_h^2; speed_ratio >= 0. Leishman (2006), ch. 2."""
    half = 0.5 * speed_ratio
    return 1.0 / (half + math.sqrt(half * half + 1.0))


def windmill_induced_ratio(speed_ratio: float) -> float:
    """v_i/v_h in the windmill-brake state, from v_i (-V - v_i) = v_h^2; speed_ratio <= -2. Leishman (2006),
    ch. 2."""
    half = -0.5 * speed_ratio
    return 1.0 / (half + math.sqrt(max(half * half - 1.0, 0.0)))


def descent_induced_ratio(speed_ratio: float, hover_ratio: float = 1.0) -> float:
    """v_i/v_h through the vortex-ring and turbulent-wake states, -2 <= speed_ratio <= 0: a quartic fit to
    tests.

    hover_ratio is the measured induced-power factor in hover (1 for an ideal rotor). Momentum theory has no
    solution here; rotors disagree by about 0.3 (NACA TN 2474, fig. 12). Leishman (2006), ch. 2.
    """
    k1, k2, k3, k4 = DESCENT_QUARTIC
    x = speed_ratio
    return hover_ratio + x * (k1 + x * (k2 + x * (k3 + x * k4)))


def axial_induced_ratio(speed_ratio: float) -> float:
    """v_i/v_h over every axial speed: climb, descent quartic, windmill brake. The joins differ by under
    0.03."""
    if speed_ratio >= 0.0:
        return climb_induced_ratio(speed_ratio)
    if speed_ratio > WINDMILL_RATIO:
        return descent_induced_ratio(speed_ratio)
    return windmill_induced_ratio(speed_ratio)


def axial_power_ratio(speed_ratio: float) -> float:
    """Induced plus climb power over the ideal hover power of the same thrust, (V + v_i)/v_h [-]."""
    return speed_ratio + axial_induced_ratio(speed_ratio)


def forward_induced_ratio(inplane_ratio: float, axial_ratio: float = 0.0) -> float:
    """v_i/v_h in forward flight, v_i = v_h^2 / sqrt(V_x^2 + (V_z + v_i)^2), Glauert.

    inplane_ratio, axial_ratio : air speed along and through the disc over v_h [-]; axial_ratio >= 0
    (disc tilted nose down by a at flight speed V: V cos a and V sin a). Leishman (2006), ch. 2.
    """
    low, high = 0.0, 1.0
    for _ in range(60):  # the left side rises and the right side falls with v_i, so bisection cannot fail
        middle = 0.5 * (low + high)
        if middle * math.hypot(inplane_ratio, axial_ratio + middle) < 1.0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def wake_flow_ratio(descent_ratio: float) -> float:
    """Effective flow through the disc over v_i, as a function of s = -V/v_i (axial, s > 0 in descent).

    Written m(s) in T = 2 rho A v_i (m v_i), so that one expression covers every state: m = 1 - s in climb, m
    = s - 1 deep in the windmill brake, and between them a monotone cubic through WAKE_KNOTS. The slope of
    momentum theory is kept in hover, so that the rotor has a derivative there.

    Rationale: the quartic lies up to 0.4 below the measurements of NACA TN 2474, and an annulus is no whole
    rotor. The knots were set so that blade elements with this m, for an untwisted rotor of constant chord at
    6 deg, give the faired line of that report (fig. 12), with m/s^2 falling throughout so that the inflow has
    one solution.
    """
    s = descent_ratio
    if s <= 0.0:
        return 1.0 - s
    if s >= _KNOT_S[-1]:
        return s - 1.0
    k = bisect.bisect_right(_KNOT_S, s) - 1
    width = _KNOT_S[k + 1] - _KNOT_S[k]
    u = (s - _KNOT_S[k]) / width
    rise = _KNOT_M[k + 1] - _KNOT_M[k]
    start, end = width * _KNOT_SLOPE[k], width * _KNOT_SLOPE[k + 1]
    return _KNOT_M[k] + u * (start + u * (3.0 * rise - 2.0 * start - end + u * (start + end - 2.0 * rise)))


WAKE_KNOTS = (
    (0.0, 1.0),
    (0.278, 0.51),
    (0.442, 0.33),
    (0.536, 0.185),
    (0.602, 0.147),
    (0.67, 0.171),
    (0.75, 0.203),
    (1.0, 0.347),
    (1.45, 0.58),
    (2.55, 1.6),
    (8.0, 7.0),
)
"""Points (s, m) of wake_flow_ratio, fitted to Castles and Gray, NACA TN 2474 (1951), fig. 12, p. 51. The last
is momentum theory; that the two have met there is assumed."""


def _monotone_slopes() -> tuple[float, ...]:
    """Slopes at the knots: harmonic means of the secants, 0 at the minimum (F. N. Fritsch and J. Butland,
    SIAM J. Sci. Stat. Comput. 5 (1984) 300); momentum theory's -1 and +1 at the ends."""
    secant = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in itertools.pairwise(WAKE_KNOTS)]
    inner = [2.0 * a * b / (a + b) if a * b > 0.0 else 0.0 for a, b in itertools.pairwise(secant)]
    return (-1.0, *inner, 1.0)


_KNOT_S = tuple(s for s, _ in WAKE_KNOTS)
_KNOT_M = tuple(m for _, m in WAKE_KNOTS)
_KNOT_SLOPE = _monotone_slopes()
