"""The blade most likely to have given a measurement: unknowns by maximum a posteriori.

Torque is matched a little more loosely than thrust, as benches measure it.

Reference: C. M. Bishop, Pattern Recognition and Machine Learning (Springer, 2006), sec. 3.3 (normal prior),
solved by Gauss-Newton.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from quadsim.dynamics.blade_element import Array, coefficients
from quadsim.dynamics.blade_prior import BladePrior, blade_prior
from quadsim.dynamics.typical_blade import UNKNOWNS, Geometry, rotor

THRUST_SIGMA, POWER_SIGMA = 0.015, 0.025
"""How tightly one static point is matched, relative [-]. Chosen by left-out families."""
_ITERATIONS = 8
_PROBE = 1e-3
_LONGEST_STEP = 1.0
"""Greatest change of an unknown in one iteration, in its standard deviations: keeps Gauss-Newton in the range
where the linear model holds."""


@dataclass(frozen=True)
class Measured:
    """Rows of a measurement: rpm [rpm], axial (advance ratio), CT, CP (m,) [-]; NaN where CP was not measured.

    ct_scale, cp_scale : what errors are relative to (m,), the values at rest or the rows' own;
    ct_sigma, cp_sigma : standard deviations of one row [-].
    """

    rpm: Array
    axial: Array
    ct: Array
    cp: Array
    ct_scale: Array
    cp_scale: Array
    ct_sigma: float
    cp_sigma: float

    def errors(self, geometry: Geometry, unknowns: Array) -> Array:
        """Errors (2 m,) of CT and CP over their standard deviations, 0 where nothing was measured."""
        model = coefficients(*rotor(geometry, unknowns), self.rpm, self.axial, np.zeros(self.rpm.size))
        ct = (model[:, 0] - self.ct) / (self.ct_scale * self.ct_sigma)
        cp = (model[:, 1] - self.cp) / (self.cp_scale * self.cp_sigma)
        return np.concatenate([ct, np.where(np.isfinite(cp), cp, 0.0)])


def fit_blade(geometry: Geometry, measured: Measured, prior: BladePrior | None = None) -> Array:
    """Unknowns (9,) most likely to have given the measurement."""
    known = (prior or blade_prior(geometry.kind)).given(geometry)
    centre, whitening, deviation = known.centre, known.whitening(), known.deviation
    unknowns = centre.copy()
    for _ in range(_ITERATIONS):
        now = measured.errors(geometry, unknowns)
        slope = np.empty((now.size, len(UNKNOWNS)))
        for k in range(len(UNKNOWNS)):
            probe = unknowns.copy()
            probe[k] += _PROBE
            slope[:, k] = (measured.errors(geometry, probe) - now) / _PROBE
        left = np.vstack([slope, whitening])
        step = np.linalg.lstsq(left, -np.concatenate([now, whitening @ (unknowns - centre)]), rcond=None)[0]
        step *= min(1.0, _LONGEST_STEP / float(np.max(np.abs(step) / deviation)))
        unknowns = unknowns + step
        if np.max(np.abs(step) / deviation) < 1e-3:
            break
    return unknowns
