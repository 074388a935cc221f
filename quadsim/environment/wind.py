"""Wind at the craft, a velocity of the air in north-east-down axes: the mean at its height, gusts, turbulence."""

from __future__ import annotations

import math

from quadsim.environment.profile import UNIFORM, profile_share
from quadsim.environment.turbulence import RENEW, begin_eddies, eddy_velocity, renew_steps, step_eddies
from quadsim.jit import kernel

CALM = 1e-3
"""Mean wind below which its direction is not looked at [m/s]; the last one stays."""


@kernel
def one_minus_cosine(since, duration):
    """Share of the peak of a 1-cosine gust `since` its start [s]: (1 - cos(2 pi t/T))/2, back to zero at `duration`.

    The form that returns to zero, as in CS-23/FAR 23.333(c) discrete gusts (T = 2H/V).
    """
    if since <= 0.0 or since >= duration:
        return 0.0
    return 0.5 * (1.0 - math.cos(2.0 * math.pi * since / duration))


@kernel
def ramp_and_hold(since, build_up):
    """Share of the peak of a gust that builds up and stays: (1 - cos(pi t/T))/2 for `build_up` T [s], then 1.

    The military form: MIL-F-8785C (1980) sec. 3.7.3.3 and 3.7.1.3, T = d_m/V for a build-up length d_m.
    """
    if since <= 0.0:
        return 0.0
    if since >= build_up:
        return 1.0
    return 0.5 * (1.0 - math.cos(math.pi * since / build_up))


@kernel
def mean_wind(t, winds, carried):
    """Reference wind at time t [s], north-east-down [m/s]: straight lines between the rows (t, n, e, d) of `winds`.

    The first row holds before it, the last row after it; two rows of one time are a jump.
    """
    row = carried.wind_row
    while row > 0 and winds[row, 0] > t:
        row -= 1
    while row + 1 < winds.shape[0] and winds[row + 1, 0] <= t:
        row += 1
    carried.wind_row = row
    n, e, d = winds[row, 1], winds[row, 2], winds[row, 3]
    if row + 1 < winds.shape[0] and t > winds[row, 0]:
        share = (t - winds[row, 0]) / (winds[row + 1, 0] - winds[row, 0])
        n += share * (winds[row + 1, 1] - n)
        e += share * (winds[row + 1, 2] - e)
        d += share * (winds[row + 1, 3] - d)
    return n, e, d


@kernel
def stir(look, height, n, e, d, vn, ve, vd, wind, carried):
    """Turbulence of look number `look`; n, e, d: mean wind at the craft, vn, ve, vd: velocity of the craft [m/s]."""
    if look % RENEW == 0:
        a, b, c = n - vn, e - ve, d - vd
        renew_steps(height, math.sqrt(a * a + b * b + c * c), wind, carried)
        speed = math.hypot(n, e)
        if speed > CALM:
            carried.wind_along[0], carried.wind_along[1] = n / speed, e / speed
    if look == 0:
        begin_eddies(carried)
    else:
        step_eddies(look, carried)


@kernel
def wind_at(t, look, north, east, height, vn, ve, vd, winds, gusts, wind, carried, held):
    """Write the wind at time t [s] into `held.wind`.

    Parameters
    ----------
    look : number of this look, one per `wind.interval`; negative between looks, when the turbulence stays as it is
    north, east, height : place of the craft [m]
    vn, ve, vd : its velocity, north-east-down [m/s]
    winds : reference wind over time at the take-off point, see `mean_wind`; elsewhere it comes later by `wind.delay`
    gusts : GUSTS records, on top of the mean, at any height
    wind : WIND record
    carried : the flight's memory: key, row in `winds`, turbulence
    """
    n, e, d = mean_wind(t - wind.delay[0] * north - wind.delay[1] * east, winds, carried)
    if wind.profile != UNIFORM:
        share = profile_share(height, wind)
        n, e = share * n, share * e
    if wind.sigma_w > 0.0:
        if look >= 0:
            stir(look, height, n, e, d, vn, ve, vd, wind, carried)
        along, right, down = eddy_velocity(carried)
        n += along * carried.wind_along[0] - right * carried.wind_along[1]
        e += along * carried.wind_along[1] + right * carried.wind_along[0]
        d += down
    for k in range(gusts.shape[0]):
        gust = gusts[k]
        since = t - gust.start
        share = (
            ramp_and_hold(since, gust.duration)
            if gust.holds > 0.0
            else one_minus_cosine(since, gust.duration)
        )
        if share > 0.0:
            n += share * gust.velocity[0]
            e += share * gust.velocity[1]
            d += share * gust.velocity[2]
    held.wind[0], held.wind[1], held.wind[2] = n, e, d
