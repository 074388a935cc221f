"""Dryden turbulence in its military low-altitude form, MIL-F-8785C (1980) sec. 3.7.3.4, stepped exactly.

Spectra over the spatial frequency O [rad/m], one-sided (the scales of MIL-STD-1797 are half as long and its spectra are
written for them; the two must not be mixed):

    Phi_u = 2 s^2 L/pi / (1 + (L O)^2)        Phi_v, Phi_w = s^2 L/pi (1 + 3 (L O)^2) / (1 + (L O)^2)^2

The air's pattern is frozen and the craft moves through it at the airspeed V. White noise n, E[n n'] = delta, shaped by
sqrt(2 tau)/(1 + tau s) and sqrt(tau) (1 + sqrt3 tau s)/(1 + tau s)^2 with tau = L/V gives it in time. Each filter is one
or two lags, kept here as numbers of unit variance that do not depend on V, L and sigma; over an interval T they go on
by the matrix exponential and by draws with the exact covariance, so there is no error of a step.

Beyond the standard: below 10 ft, its lowest height, scales and intensities stay those of 10 ft, above 1000 ft those of
1000 ft (assumed). In hover a frozen pattern would stand still: V counts mean wind and motion together and is at least
LEAST_AIRSPEED (assumed). V and the height are renewed every RENEW looks.
"""

from __future__ import annotations

import math

from quadsim.jit import inner, kernel
from quadsim.noise import gauss, sample_key
from quadsim.units import FOOT

LOWEST, HIGHEST = 10.0, 1000.0
"""Heights between which the low-altitude form holds [ft]. MIL-F-8785C sec. 3.7.3.4."""
LEAST_AIRSPEED = 1.0
"""Least speed at which the pattern passes the craft [m/s]; assumed."""
RENEW = 16
"""Looks (one per millisecond) for which the coefficients of a step stand."""
FIRST_CHANNEL = 32
"""Channels of the random numbers used here: from this one on, two times five."""

W20_KNOTS = {"light": 15.0, "moderate": 30.0, "severe": 45.0}
"""Wind at 20 ft [kt] that stands for an intensity in words. MIL-F-8785C fig. 10 and text (read in a copy of the page)."""
PEAK_FACTOR = 3.5
"""A forecast gust minus the mean, in standard deviations. EN 1991-1-4:2005 eq. 4.8, note (from memory)."""
GUST_FACTOR = 1.5
"""Forecast gust over mean wind where the forecast names none (common practice, no source)."""


@kernel
def dryden_scales(height):
    """L_u = L_v [m], L_w [m] and sigma_u/sigma_w [-] at a height [m]: h/t^1.2, h, t^-0.4 with t = 0.177 + 0.000823 h, h in ft.

    MIL-F-8785C (1980) sec. 3.7.3.4, figs. 10 and 11.
    """
    feet = min(max(height / FOOT, LOWEST), HIGHEST)
    t = 0.177 + 0.000823 * feet
    return feet * FOOT / t**1.2, feet * FOOT, 1.0 / t**0.4


@kernel
def lag_step(theta):
    """(e, a, b, c) of one exact step of two equal lags in a row over theta = T/tau.

    With unit white noise the scaled lags p, q of stationary covariance [[1, 1/2], [1/2, 1/2]] go on as
    p' = e p + a n1, q' = e (q + theta p) + b n1 + c n2; [[a, 0], [b, c]] is the Cholesky factor of
    integral_0^theta g g^T ds, g = sqrt2 e^-s (1, s). For short steps c follows from its series, which does not cancel.
    """
    e = math.exp(-theta)
    gone = -math.expm1(-2.0 * theta)
    a = math.sqrt(gone)
    b = (0.5 * gone - theta * e * e) / a
    if theta < 0.1:
        series = 1.0 - theta * (
            1.0 - theta * (7.0 / 15.0 - theta * (2.0 / 15.0 - theta * (2.0 / 63.0 - theta / 105.0)))
        )
        return e, a, b, math.sqrt(theta * theta * theta / 6.0 * series)
    return e, a, b, math.sqrt(max(0.5 - e * e * (theta * theta + theta + 0.5) - b * b, 0.0))


@inner
def renew_steps(height, airspeed, wind, carried):
    """Coefficients of the steps to come, for this height [m] and mean speed through the air [m/s]."""
    long, short, ratio = dryden_scales(height)
    passing = max(airspeed, LEAST_AIRSPEED) * wind.interval
    for k, scale in enumerate((long, short)):
        step = carried.eddy_step[k]
        step[0] = passing / scale
        step[1], step[2], step[3], step[4] = lag_step(step[0])
    carried.eddy_sigma[0], carried.eddy_sigma[1] = ratio * wind.sigma_w, wind.sigma_w


@inner
def begin_eddies(carried):
    """Draw the lags from their stationary distribution."""
    key, eddies = sample_key(carried.key, 0), carried.eddies
    eddies[0] = gauss(key, FIRST_CHANNEL + 5)
    for k in (1, 3):
        eddies[k] = gauss(key, FIRST_CHANNEL + 5 + k)
        eddies[k + 1] = 0.5 * (eddies[k] + gauss(key, FIRST_CHANNEL + 6 + k))


@inner
def step_eddies(look, carried):
    """Go on by one interval: the lag of u, the two of v, the two of w. Draws belong to the look's number."""
    key, eddies = sample_key(carried.key, look), carried.eddies
    step = carried.eddy_step[0]
    eddies[0] = step[1] * eddies[0] + step[2] * gauss(
        key, FIRST_CHANNEL + 0
    )  # a literal would compile gauss once more
    for k in range(2):
        step, at = carried.eddy_step[k], 1 + 2 * k
        first, second = gauss(key, FIRST_CHANNEL + at), gauss(key, FIRST_CHANNEL + at + 1)
        eddies[at + 1] = (
            step[1] * (eddies[at + 1] + step[0] * eddies[at]) + step[3] * first + step[4] * second
        )
        eddies[at] = step[1] * eddies[at] + step[2] * first


@kernel
def eddy_velocity(carried):
    """Turbulence along the mean wind, to the right of it and down [m/s].

    (1 + sqrt3 tau s)/(1 + tau s)^2 = sqrt3/(1 + tau s) + (1 - sqrt3)/(1 + tau s)^2.
    """
    eddies, sigma = carried.eddies, carried.eddy_sigma
    root = math.sqrt(3.0)
    v = (root * eddies[1] + (1.0 - root) * eddies[2]) * math.sqrt(0.5)
    w = (root * eddies[3] + (1.0 - root) * eddies[4]) * math.sqrt(0.5)
    return sigma[0] * eddies[0], sigma[0] * v, sigma[1] * w
