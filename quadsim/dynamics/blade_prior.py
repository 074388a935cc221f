"""What measured propellers say about the unknowns of a blade before it is measured itself: a normal distribution.

Its centre moves with size and pitch ratio, its spread is that between makes. Both were estimated by empirical
Bayes from 18 measured propellers of 10 families (tools/fit_typical_blade.py wrote the numbers): small blades
at low Reynolds numbers have a smaller effective zero-lift angle, steep ones more drag with incidence.

Reference: C. M. Bishop, Pattern Recognition and Machine Learning (Springer, 2006), sec. 3.3 (normal prior) and
3.5 (its parameters from the data).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np

from quadsim.dynamics import typical_blade_data as data
from quadsim.dynamics.blade_element import Array
from quadsim.dynamics.typical_blade import Geometry

SIZE_MIDDLE, PITCH_MIDDLE = 0.2, 0.6
"""Diameter [m] and pitch ratio [-] at which `mean` is stated; about the middle of the data. Our choice."""
SIZES, PITCHES = (0.1, 0.28), (0.35, 1.0)
"""Diameters [m] and pitch ratios [-] of the data; trends are held outside."""


@dataclass(frozen=True)
class BladePrior:
    """Normal distribution of the unknowns: mean, trends with ln(diameter / 0.2 m) and with pitch ratio - 0.6,
    standard deviations (9,) and correlations (9, 9)."""

    mean: Array
    size_trend: Array
    pitch_trend: Array
    deviation: Array
    correlation: Array

    def centre(self, geometry: Geometry) -> Array:
        """Most likely unknowns (9,) of a propeller of which only this is known."""
        return np.column_stack([self.mean, self.size_trend, self.pitch_trend]) @ features(geometry)

    def whitening(self) -> Array:
        """W (9, 9) such that W (unknowns - centre) has unit variance and no correlation."""
        covariance = self.correlation * np.outer(self.deviation, self.deviation)
        return np.linalg.inv(np.linalg.cholesky(covariance))


def features(geometry: Geometry) -> Array:
    """What the mean and the two trends are multiplied by (3,)."""
    size = min(max(geometry.diameter, SIZES[0]), SIZES[1])
    pitch = min(max(geometry.pitch_ratio, PITCHES[0]), PITCHES[1])
    return np.array([1.0, math.log(size / SIZE_MIDDLE), pitch - PITCH_MIDDLE])


@cache
def blade_prior(kind: str) -> BladePrior:
    """The prior for a kind of evidence: diameter_pitch, chord_75 or full_geometry."""
    rows = np.array(data.PRIORS[kind])
    lower = np.array([np.pad(row, (0, 9 - len(row))) for row in data.CORRELATIONS[kind]])
    correlation = lower + lower.T - np.diag(np.diag(lower))
    mean, size_trend, pitch_trend, deviation = rows.T
    return BladePrior(mean, size_trend, pitch_trend, deviation, correlation)
