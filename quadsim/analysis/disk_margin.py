"""Disk margin of several loops at once: every loop may change by its own complex factor at the same time.

All factors f = (1 + d/2)/(1 - d/2) with |d| below alpha leave the loop stable. alpha = 1/max mu((S - T)/2), mu being the
structured singular value for a diagonal of complex numbers; here its upper bound, the least greatest singular value of D M D^-1
over positive diagonal D: exact for up to three loops, and safe (never too great) for more.

References
----------
P. Seiler, A. Packard, P. Gahinet, An Introduction to Disk Margins, IEEE Control Systems Magazine 40(5), 2020.
A. Packard, J. Doyle, The Complex Structured Singular Value, Automatica 29(1), 1993 (upper bound; exact for three blocks).
E. E. Osborne, On Pre-Conditioning of Matrices, J. ACM 7(4), 1960 (balancing, where the search for D starts; from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

SWEEPS = 12
"""Rounds of balancing; each brings the scales a good deal closer."""
REFINED = 6
"""Frequencies, the worst after balancing, at which the scales are searched for."""


@dataclass(frozen=True)
class DiskMargin:
    """alpha : how large |d| may be, at most 2; at_Hz : where that is least

    gain_dB, phase_deg : factor up or down, and phase, that every loop may have at the same time
    """

    alpha: float
    at_Hz: float

    @property
    def gain_dB(self) -> float:
        return 20.0 * math.log10((2.0 + self.alpha) / (2.0 - self.alpha)) if self.alpha < 2.0 else math.inf

    @property
    def phase_deg(self) -> float:
        return math.degrees(2.0 * math.atan(0.5 * self.alpha))


def disk_margin(w: Array, loops: Complex, stable: bool = True) -> DiskMargin:
    """Disk margin of a loop matrix, all loops changing at once.

    Parameters
    ----------
    w : angular frequencies [rad/s], (n,)
    loops : L (n, k, k), negative feedback
    stable : whether the closed loop is; alpha is 0 if not
    """
    size = loops.shape[1]
    sensitivity = np.linalg.inv(np.eye(size) + loops)
    m = np.asarray(sensitivity - 0.5 * np.eye(size), complex)  # (S - T)/2
    bounds, scales = _balanced(m)
    for k in np.argsort(bounds)[-REFINED:]:
        bounds[k] = min(bounds[k], _searched(m[k], scales[k]))
    worst = int(np.argmax(bounds))
    alpha = min(1.0 / float(bounds[worst]), 2.0) if stable else 0.0
    return DiskMargin(alpha, float(w[worst]) / (2.0 * math.pi))


def _balanced(m: Complex) -> tuple[Array, Array]:
    """Greatest singular value (n,) after balancing, and the logarithms of the scales (n, k)."""
    count, size, _ = m.shape
    logs, squares = np.zeros((count, size)), np.abs(m) ** 2
    squares[:, range(size), range(size)] = 0.0
    for _ in range(SWEEPS):
        for k in range(size):
            scaled = squares * np.exp(2.0 * (logs[:, :, None] - logs[:, None, :]))
            row, column = scaled[:, k, :].sum(axis=1), scaled[:, :, k].sum(axis=1)
            both = (row > 1e-30) & (column > 1e-30)
            change = 0.25 * np.log(np.where(both, column, 1.0) / np.where(both, row, 1.0))
            logs[:, k] += np.clip(change, -5.0, 5.0)
    return _greatest(m, logs), logs


def _greatest(m: Complex, logs: Array) -> Array:
    """Greatest singular value of D M D^-1, D = exp(logs)."""
    scaled = m * np.exp(logs[..., :, None] - logs[..., None, :])
    return np.asarray(np.linalg.svd(scaled, compute_uv=False)[..., 0])


def _searched(m: Complex, start: Array) -> float:
    """The least over all scales, from a start: convex in their logarithms, so that a simplex search finds it."""
    if len(start) == 1:
        return float(np.abs(m[0, 0]))
    found = minimize(
        lambda free: float(_greatest(m, np.append(free, start[-1]))), start[:-1], method="Nelder-Mead",
        options={"xatol": 1e-6, "fatol": 1e-9, "maxiter": 600},
    )  # fmt: skip
    return float(found.fun)
