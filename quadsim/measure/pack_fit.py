"""A pack's resistance, slow voltage drop and charge from its voltage and current over time.

Circuit: V = E(q) - R I - v, dv/dt = (R1 I - v)/tau (M. Chen & G. A. Rincon-Mora, IEEE Trans. Energy Conversion 21(2), 2006,
504-511). For a given tau all else is linear, E a polynomial of the charge drawn q; tau is searched (variable projection, G. H.
Golub & V. Pereyra, SIAM J. Numer. Anal. 10(2), 1973, 413-432; from memory). R is what acts within one sample: the DC
resistance of two currents, as in IEC 61960-3 (from memory), not that of a 1 kHz meter.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from quadsim.measure.least_squares import ALIKE, Fit, apart, linear

Array = NDArray[np.float64]

TAUS_S = (1.0, 300.0)
"""Range in which the slow time constant is searched [s]."""
GLITCH = 6.0
"""Residual over the others' scatter from which a sample is left out; its scatter by the median, our choice."""
GLITCH_V = 0.01
"""Residual up to which none is [V]. Our choice."""
DEGREES = (1, 2, 3, 4)
"""Of the open-circuit voltage over the charge drawn."""
MOST_TIMES = 200_000
"""Of the even grid on which the slow voltage is followed."""


@dataclass(frozen=True)
class PackFit:
    """Circuit of a pack: R [ohm], R1 [ohm] and tau [s] of the slow pair (0 and NaN if not there) with standard errors,
    open-circuit voltage V + R I + v and the fitted voltage at the samples (n,) [V]."""

    resistance: float
    resistance_sigma: float
    slow: float
    slow_sigma: float
    tau: float
    tau_sigma: float
    open_circuit: Array
    voltage: Array
    kept: NDArray[np.bool_]
    covariance: float
    """Of R and R1 [ohm2]."""


def slow_current(time: Array, current: Array, tau: float) -> Array:
    """The current behind a first-order lag of tau [s], from rest (n,) [A]; held between samples, on an even grid of times."""
    from scipy.signal import lfilter

    step = max(float(np.median(np.diff(time))), float(time[-1] - time[0]) / MOST_TIMES)
    grid = np.arange(time[0], time[-1] + step, step)
    held = current[np.clip(np.searchsorted(time, grid + 1e-6 * step, side="right") - 1, 0, time.size - 1)]
    keep = math.exp(-step / tau)
    lagged = lfilter([0.0, 1.0 - keep], [1.0, -keep], held)
    return np.asarray(np.interp(time, grid, lagged))


def charge_drawn(time: Array, current: Array) -> Array:
    """Charge since the first sample (n,) [C], trapezoids."""
    return np.concatenate([[0.0], np.cumsum(0.5 * (current[1:] + current[:-1]) * np.diff(time))])


def fit_pack(time: Array, voltage: Array, current: Array, usable: NDArray[np.bool_] | None = None) -> PackFit:
    """Fit the circuit to the samples that are `usable`, all by default.

    The degree of E is chosen by Schwarz's criterion; how much the next two degrees move a result adds to its uncertainty, since
    no polynomial is the truth.

    Raises
    ------
    UndeterminedError
        when the current never changes enough to tell a resistance.
    """
    everything = np.ones(time.size, dtype=bool) if usable is None else usable
    charge = charge_drawn(time, current)
    drawn = charge / max(float(charge[-1]), 1e-9)
    kept = everything
    for _ in range(2):  # once with all samples, once without glitches
        degree, tau = _chosen(time, voltage, current, drawn, kept)
        residuals = np.abs(_fit(time, voltage, current, drawn, tau, degree, kept)[0].residuals)
        scatter = 1.4826 * float(np.median(residuals[kept]))
        sound = residuals <= max(GLITCH * scatter, GLITCH_V)
        if np.count_nonzero(everything & ~sound) <= 0.2 * np.count_nonzero(everything):
            kept = everything & sound
    found = _whole(time, voltage, current, drawn, tau, degree, kept)
    moved = np.zeros(3)
    for further in (degree + 1, degree + 2):
        other = None if tau is None else _searched(time, voltage, current, drawn, further, kept)
        if tau is None or other is not None:
            one = _whole(time, voltage, current, drawn, other, further, kept)
            apart_by = (one.resistance - found.resistance, one.slow - found.slow, one.tau - found.tau)
            moved = np.fmax(moved, np.abs(apart_by))
    return replace(
        found, resistance_sigma=math.hypot(found.resistance_sigma, moved[0]),
        slow_sigma=math.hypot(found.slow_sigma, moved[1]), tau_sigma=math.hypot(found.tau_sigma, moved[2]),
    )  # fmt: skip


def _chosen(
    time: Array, voltage: Array, current: Array, drawn: Array, kept: NDArray[np.bool_]
) -> tuple[int, float | None]:
    """Degree of E and tau [s] (or None) of least Schwarz criterion n ln s^2 + p ln n."""
    best = math.inf
    chosen: tuple[int, float | None] = (1, None)
    for degree in DEGREES:
        for tau in {None, _searched(time, voltage, current, drawn, degree, kept)}:
            fit = _fit(time, voltage, current, drawn, tau, degree, kept)[0]
            if tau is not None and fit.values[-1] <= 0.0:
                continue
            n, p = int(np.count_nonzero(kept)), degree + 2 + 2 * (tau is not None)
            score = n * math.log(max(fit.sigma, 1e-6) ** 2 * fit.freedom / n) + p * math.log(n)
            if score < best:
                best, chosen = score, (degree, tau)
    return chosen


def _without_slow(current: Array, drawn: Array, degree: int) -> list[Array]:
    """Columns of the polynomial of the charge, then of R."""
    return [drawn**k for k in range(degree + 1)] + [-current]


def _fit(
    time: Array,
    voltage: Array,
    current: Array,
    drawn: Array,
    tau: float | None,
    degree: int,
    kept: NDArray[np.bool_],
) -> tuple[Fit, Array]:
    """The linear part: polynomial of the charge, R, and R1 when there is a tau; residuals of all samples."""
    columns = _without_slow(current, drawn, degree)
    if tau is not None:
        columns.append(-slow_current(time, current, tau))
    design = np.column_stack(columns)
    fit = linear(design[kept], voltage[kept])
    residuals = voltage - design @ fit.values
    return Fit(fit.values, fit.sigmas, fit.covariance, residuals, fit.sigma, kept, fit.freedom), design


def _searched(
    time: Array, voltage: Array, current: Array, drawn: Array, degree: int, kept: NDArray[np.bool_]
) -> float | None:
    """The tau [s] of least squares; None when none within reach of the record makes a minimum."""
    high = min(TAUS_S[1], 0.5 * float(time[-1] - time[0]))
    low = max(TAUS_S[0], 2.0 * float(np.median(np.diff(time))))
    if high < 2.0 * low:
        return None

    # all but the slow column is projected out once: a whole fit for every tau takes minutes of a log of 50 rows a second
    q, _ = np.linalg.qr(np.column_stack(_without_slow(current, drawn, degree))[kept])
    bare = voltage[kept] - q @ (q.T @ voltage[kept])

    def cost(log_tau: float) -> float:
        """Sum of squares that the slow current of a tau leaves [V2]."""
        slow = slow_current(time, current, math.exp(log_tau))[kept]
        own = slow - q @ (q.T @ slow)
        if float(own @ own) <= ALIKE**2 * float(slow @ slow):
            return math.inf
        return float(bare @ bare - (own @ bare) ** 2 / (own @ own))

    grid = np.linspace(math.log(low), math.log(high), 12)
    costs = [cost(float(x)) for x in grid]
    k = int(np.argmin(costs))
    if k in (0, len(grid) - 1) or not math.isfinite(costs[k]):
        return None
    a, b, ratio = float(grid[k - 1]), float(grid[k + 1]), 0.5 * (math.sqrt(5.0) - 1.0)
    for _ in range(22):
        left, right = b - ratio * (b - a), a + ratio * (b - a)
        a, b = (a, right) if cost(left) < cost(right) else (left, b)
    return math.exp(0.5 * (a + b))


def _whole(
    time: Array,
    voltage: Array,
    current: Array,
    drawn: Array,
    tau: float | None,
    degree: int,
    kept: NDArray[np.bool_],
) -> PackFit:
    """The fit with standard errors, tau's included by the slope of the model along it."""
    fit, design = _fit(time, voltage, current, drawn, tau, degree, kept)
    at = degree + 1
    sigmas, covariance = fit.sigmas, fit.covariance
    if tau is not None:
        above, below = (slow_current(time, current, tau * f) for f in (1.01, 1.0 / 1.01))
        slope = -fit.values[-1] * (above - below) / (2.0 * math.log(1.01))
        full = linear(np.column_stack([design, slope])[kept], voltage[kept])
        sigmas, covariance = full.sigmas, full.covariance
    grown = apart(fit.residuals[kept])
    slow = float(fit.values[-1]) if tau is not None else 0.0
    held = slow * slow_current(time, current, tau) if tau is not None else 0.0
    open_circuit = voltage + float(fit.values[at]) * current + held
    return PackFit(
        float(fit.values[at]), grown * float(sigmas[at]), slow, grown * float(sigmas[at + 1]) if tau else 0.0,
        math.nan if tau is None else tau, math.nan if tau is None else grown * tau * float(sigmas[-1]),
        open_circuit, voltage - fit.residuals, kept, grown**2 * float(covariance[at, at + 1]) if tau else 0.0,
    )  # fmt: skip
