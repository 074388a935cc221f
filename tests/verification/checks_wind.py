"""Checks of the wind against outside values. Each takes the modules of `quadsim.environment`: the shipped ones or a
plain copy with something wrong.

Military form: MIL-F-8785C (1980) sec. 3.7.3.4 and figs. 10, 11; formulas read on independent pages, numbers computed from
them. Shaping filters for white noise E[n n'] = delta: sqrt(2 tau)/(1 + tau s), sqrt(tau) (1 + sqrt3 tau s)/(1 + tau s)^2.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.testing import assert_allclose
from scipy.linalg import expm, logm, solve_discrete_lyapunov

from quadsim.dynamics.records import GUSTS, HELD, WIND, rows
from quadsim.simulation.carried import CARRIED

FOOT = 0.3048
LAGS = np.array([[-1.0, 0.0], [1.0, -1.0]])
"""Two equal lags in a row, time in units of tau."""


def length_scales(air: Any) -> None:
    """Lu = h/t^1.2, Lw = h, sigma_u/sigma_w = t^-0.4, t = 0.177 + 0.000823 h; isotropic at 1000 ft. Coarse: R. Beard &
    T. McLain, Small Unmanned Aircraft (2012) table 4.1 at 50 m (from memory): 200 m, 50 m, ratio 1.514."""
    scales = air.turbulence.dryden_scales
    found = [scales(h * FOOT) for h in (20.0, 100.0, 1000.0)]
    expected = [(43.7659, 6.096, 1.92914), (153.976, 30.48, 1.71585), (304.8, 304.8, 1.0)]
    assert_allclose(found, expected, rtol=1e-4)
    assert_allclose(scales(50.0), (202.29, 50.0, 1.5934), rtol=1e-4)
    assert_allclose(scales(50.0)[:2], (200.0, 50.0), rtol=0.02)
    assert_allclose(scales(50.0)[2], 1.514, rtol=0.06)
    assert_allclose(scales(1.0), scales(10.0 * FOOT), err_msg="below the lowest height")


def _lags(air: Any, theta: float) -> tuple[np.ndarray, np.ndarray]:
    """Transition matrix and factor of the draws of one step."""
    e, a, b, c = air.turbulence.lag_step(theta)
    return np.array([[e, 0.0], [theta * e, e]]), np.array([[a, 0.0], [b, c]])


def lags_step_exactly(air: Any) -> None:
    """Van Loan, IEEE Trans. Automatic Control 23(3), 1978: transition and covariance from one matrix exponential."""
    noise = np.array([[2.0, 0.0], [0.0, 0.0]])
    for theta in (0.003, 0.03, 0.0999, 0.1001, 0.7, 3.0):
        block = expm(np.block([[-LAGS, noise], [np.zeros((2, 2)), LAGS.T]]) * theta)
        step, factor = _lags(air, theta)
        assert_allclose(step, block[2:, 2:].T, rtol=1e-10, atol=1e-14)
        assert_allclose(factor @ factor.T, block[2:, 2:].T @ block[:2, 2:], rtol=1e-8, atol=1e-14)
    tiny, factor = 1e-6, _lags(air, 1e-6)[1]
    assert_allclose(factor @ factor.T, [[2 * tiny, tiny**2], [tiny**2, 2 * tiny**3 / 3]], rtol=1e-5)


def _output(air: Any) -> np.ndarray:
    """What v (row 0) and w (row 1) read of their two lags, for unit sigma."""
    carried, found = rows(CARRIED)[0], np.zeros((2, 2))
    carried.eddy_sigma[:] = 1.0
    for row, first in enumerate((1, 3)):
        for k in range(2):
            carried.eddies[:] = 0.0
            carried.eddies[first + k] = 1.0
            found[row, k] = air.turbulence.eddy_velocity(carried)[1 + row]
    return found


def correlation_over_distance(air: Any) -> None:
    """Fourier transform of the spectra: R_v, R_w = s^2 e^(-x/L) (1 - x/2L): 1, 0.454898, 0.183940, 0, -0.0248935 at 0, L/2,
    L, 2 L, 3 L; the variance is s^2."""
    for read in _output(air):
        step, factor = _lags(air, 0.5)
        covariance = solve_discrete_lyapunov(step, factor @ factor.T)
        found = [read @ np.linalg.matrix_power(step, k) @ covariance @ read for k in (0, 1, 2, 4, 6)]
        assert_allclose(found, [1.0, 0.454898, 0.183940, 0.0, -0.0248935], atol=1e-6)


def spectrum_of_the_steps(air: Any) -> None:
    """Phi(O) one-sided over rad/m: 7.006584 at 0.05 rad/m for L = 30 m, sigma 1 (1797's form with L = 30 m: 5.347606); the
    integral over all is 1."""
    step, factor = _lags(air, 0.5)
    lags = logm(step) / 0.5
    push = np.sqrt(-2.0 * lags[0, 0])
    for read in _output(air):
        found = [
            abs(read @ np.linalg.solve(1j * o * 30.0 * np.eye(2) - lags, [push, 0.0])) ** 2 * 30.0 / math.pi
            for o in (0.05, 0.0)
        ]
        assert_allclose(found, [7.006584, 30.0 / math.pi], rtol=1e-6)
    assert_allclose(factor[0, 0] ** 2, 1.0 - math.exp(-1.0), rtol=1e-12)


def drawn_turbulence(air: Any) -> None:
    """Variances and correlations of what is really drawn. At 20 ft, W20 = 30 kt: sigma_u = sigma_v = 2.97730, sigma_w =
    1.543333 m/s; e^-x/L and e^-x/L (1 - x/2L). Steps of a whole L_w: one is nearly as good as independent."""
    carried, record = rows(CARRIED)[0], rows(WIND)[0]
    carried.key, record.interval, record.sigma_w = np.uint64(11), 0.6096, 1.543333
    count = 20000
    uvw = np.empty((count, 3))
    for look in range(count):
        air.wind.stir(look, 6.096, 0.0, 0.0, 0.0, 0.0, -6.0, 8.0, record, carried)
        uvw[look] = air.turbulence.eddy_velocity(carried)
    assert_allclose(uvw.std(axis=0), [2.97730, 2.97730, 1.543333], rtol=0.05)
    assert_allclose(uvw.mean(axis=0), 0.0, atol=0.25)
    unit = uvw / [2.97730, 2.97730, 1.543333]
    x = 6.096 * np.arange(1, 4)
    far = np.exp(-x / 43.7659)
    near = np.exp(-x / 6.096)
    expected = np.array([far, far * (1.0 - x / (2.0 * 43.7659)), near * (1.0 - x / (2.0 * 6.096))])
    found = [[np.mean(unit[k:, axis] * unit[:-k, axis]) for k in (1, 2, 3)] for axis in range(3)]
    assert_allclose(found, expected, atol=0.06)
    across = np.corrcoef(uvw.T)
    assert_allclose(across, np.eye(3), atol=0.06, err_msg="u, v and w are independent")


def pattern_passes_at_airspeed(air: Any) -> None:
    """Frozen field: the steps depend on the mean speed through the air, motion and wind together, and never stand still
    (a frozen field at rest has no end of correlation, so hover needs a floor; the floor of 1 m/s is assumed)."""
    record, found = rows(WIND)[0], []
    record.interval, record.sigma_w = 1.0, 1.0
    for n, vn, vd in ((3.0, -1.0, 3.0), (0.0, 5.0, 0.0), (2.0, 1.9, 0.0), (0.0, 0.0, 0.2)):
        carried = rows(CARRIED)[0]
        air.wind.stir(0, 100.0 * FOOT, n, 0.0, 0.0, vn, 0.0, vd, record, carried)
        found.append(float(carried.eddy_step[1, 0]))
    assert_allclose(found, np.array([5.0, 5.0, 1.0, 1.0]) / 30.48, rtol=1e-9)


def turbulence_turns_with_the_wind(air: Any) -> None:
    """u along the mean wind, v to its right, w down: in a wind to the south-west (from 45 deg) right is north-west."""
    record, held, carried = rows(WIND)[0], rows(HELD)[0], rows(CARRIED)[0]
    record.interval, record.sigma_w = 1e-3, 1.0
    root = math.sqrt(0.5)
    winds = np.array([[0.0, -5.0 * root, -5.0 * root, 0.0]])
    _blow(air, 0, winds, record, carried, held)
    u, v, w = air.turbulence.eddy_velocity(carried)
    assert abs(v) > 0.1 < abs(u)
    assert_allclose(held.wind, [-root * (5.0 + u) + root * v, -root * (5.0 + u) - root * v, w], rtol=1e-12)
    _blow(air, -1, np.zeros((1, 4)), record, carried, held)
    assert_allclose(held.wind, [-root * u + root * v, -root * u - root * v, w], err_msg="held, in a calm too")


def _blow(air: Any, look: int, winds: np.ndarray, record: Any, carried: Any, held: Any) -> None:
    air.wind.wind_at(0.0, look, 0.0, 0.0, 30.48, 0.0, 0.0, 0.0, winds, rows(GUSTS, 0), record, carried, held)


def gust_forms(air: Any) -> None:
    """Returning: CS-23/FAR 23.333(c). Holding: MIL-F-8785C sec. 3.7.3.3, Vm/2 (1 - cos(pi x/dm)), then Vm."""
    holding = [air.wind.ramp_and_hold(x, 1.0) for x in (0.0, 0.25, 0.5, 0.75, 1.0, 2.0)]
    assert_allclose(holding, [0.0, 0.146447, 0.5, 0.853553, 1.0, 1.0], atol=1e-6)
    returning = [air.wind.one_minus_cosine(x, 2.0) for x in (0.0, 0.25, 0.5, 1.0, 1.5, 2.0, 4.0)]
    assert_allclose(returning, [0.0, 0.146447, 0.5, 1.0, 0.5, 0.0, 0.0], atol=1e-6)


def mean_over_height(air: Any) -> None:
    """MIL-F-8785C sec. 3.7.3 (paragraph not confirmed): u/W20 for z0 = 0.15 and 2 ft. AMS Glossary: seventh root, 0.794597 at
    2 m of 10 m. IEC 61400-1 normal wind profile, exponent 0.2: 0.724780."""
    log_share, power_share, gain = air.profile.log_share, air.profile.power_share, air.profile.log_gain
    heights = (3.0, 6.0, 10.0, 50.0, 100.0)
    for z0, expected in (
        (0.15, (0.612267, 0.753932, 0.858335, 1.187271, 1.328937)),
        (2.0, (0.176091, 0.477121, 0.698970, 1.397940, 1.698970)),
    ):
        found = [log_share(h * FOOT, z0 * FOOT, gain(z0 * FOOT, 20.0 * FOOT)) for h in heights]
        assert_allclose(found, expected, atol=1e-6)
        assert_allclose([log_share(h * z0 * FOOT, z0 * FOOT, 1.0) for h in (1.0, 0.5, 0.0)], 0.0)
    found = [power_share(100.0, 10.0, 1 / 7), power_share(2.0, 10.0, 1 / 7), power_share(2.0, 10.0, 0.2)]
    assert_allclose(found, [1.389495, 0.794597, 0.724780], rtol=1e-5)
    assert power_share(0.0, 10.0, 0.2) == power_share(-1.0, 10.0, 0.2) == 0.0


def eurocode_terrain(air: Any) -> None:
    """EN 1991-1-4 (2005) table 4.1, eqs 4.4, 4.5: k_r and c_r(10 m) of terrain 0, I, II, III, IV."""
    terrain, factor = air.profile.TERRAIN, air.profile.terrain_factor
    assert_allclose(list(terrain.values()), [0.003, 0.01, 0.05, 0.3, 1.0])
    assert_allclose(
        [factor(z0) for z0 in terrain.values()], [0.156036, 0.169756, 0.19, 0.215389, 0.234329], rtol=1e-5
    )
    found = [air.profile.log_share(10.0, z0, factor(z0)) for z0 in terrain.values()]
    assert_allclose(found, [1.26572, 1.17263, 1.00668, 0.755279, 0.539562], rtol=1e-5)


CHECKS = (
    length_scales, lags_step_exactly, correlation_over_distance, spectrum_of_the_steps, drawn_turbulence,
    pattern_passes_at_airspeed, turbulence_turns_with_the_wind, gust_forms, mean_over_height, eurocode_terrain,
)  # fmt: skip
"""Every check, each once."""
