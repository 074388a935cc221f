"""Fits of a motor's equivalent circuit: u V = n/Kv + i R, and the power balance with what friction and iron take.

M. Drela, First-Order DC Electric Motor Model (MIT, 2007) and Second-Order DC Electric Motor Model (MIT, 2006; from memory).
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from quadsim.measure.least_squares import Fit, curve, without_outliers
from quadsim.units import RPM

Array = NDArray[np.float64]


def voltage_law(throttle: Array, voltage: Array, rpm: Array, current: Array) -> Fit:
    """Fit u V = n/Kv + i R to relative residuals: values are 1/Kv [V/rpm] and R [ohm]."""
    applied = throttle * voltage
    return without_outliers(np.column_stack([rpm, current]), applied, 1.0 / applied, least=0.01)


def power_balance(rpm: Array, torque: Array, power: Array, iron: float = 0.5) -> Fit:
    """Fit P = (Q + t) w + c (Q + t)^2 to relative residuals, t = t0 (1 - iron + iron w/mean w): values are the torque lost at the
    mean speed t0 [N m] and c = R/kt^2 [1/(N m s)]. Needs no throttle: input power, torque and speed tell it.

    iron : the part of the lost torque that grows with speed
    """
    speed = rpm * RPM
    share = 1.0 - iron + iron * speed / float(np.mean(speed))

    def relative(values: Array) -> Array:
        whole = torque + values[0] * share
        return np.asarray((whole * speed + values[1] * whole**2) / power)

    typical = float(np.mean(torque))
    lost = max(float(np.median(power - torque * speed)), 1e-6) / float(np.mean(speed))
    start = (0.3 * lost, 0.3 * lost * float(np.mean(speed)) / typical**2)
    return curve(relative, np.ones(rpm.size), start, start)


def at_least(fit: Fit, scatter: float) -> Fit:
    """The fit with standard errors as if the rows scattered so much at least."""
    grown = max(scatter / fit.sigma, 1.0) if 0.0 < fit.sigma < math.inf else 1.0
    if fit.sigma == 0.0:
        return replace(fit, sigmas=np.full(fit.values.size, math.inf))
    return replace(fit, sigmas=grown * fit.sigmas, covariance=grown**2 * fit.covariance)
