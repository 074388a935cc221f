"""What measured propellers say about the unknowns of a blade before it is measured itself: a normal distribution.

Its centre moves with size and pitch ratio, its spread is that between makes. Both were estimated by empirical
Bayes from 18 measured propellers of 10 families (tools/fit_typical_blade.py wrote the numbers): small blades
at low Reynolds numbers have a smaller effective zero-lift angle, steep ones more drag with incidence. The chord is
one of the unknowns; where it was measured the others follow it as they do among the makes: wide blades have less
drag with incidence and a smaller lift slope than narrow ones.

Reference: C. M. Bishop, Pattern Recognition and Machine Learning (Springer, 2006), sec. 2.3 (conditional normal
distributions), 3.3 (normal prior) and 3.5 (its parameters from the data).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np

from quadsim.dynamics import typical_blade_data as data
from quadsim.dynamics.blade_element import Array
from quadsim.dynamics.typical_blade import UNKNOWNS, Geometry

SIZE_MIDDLE, PITCH_MIDDLE = 0.2, 0.6
"""Diameter [m] and pitch ratio [-] at which `mean` is stated; about the middle of the data. Our choice."""
SIZES, PITCHES = (0.1, 0.28), (0.35, 1.0)
"""Diameters [m] and pitch ratios [-] of the data; trends are held outside."""
CHORDS = (0.12, 0.21)
"""Chords at 75 % radius over tip radius of the data [-]; what they say of the section is held outside."""
CHORD_SIGMA = 0.03
"""How well a rule gives the chord that the typical plan form has to have, relative [-]; assumed."""
CHORD = UNKNOWNS.index("chord_75")


@dataclass(frozen=True)
class Normal:
    """Normal distribution of the unknowns of one propeller: centre (9,), covariance (9, 9)."""

    centre: Array
    covariance: Array

    @property
    def deviation(self) -> Array:
        """Standard deviations (9,)."""
        return np.asarray(np.sqrt(np.diag(self.covariance)))

    def whitening(self) -> Array:
        """W (9, 9) such that W (unknowns - centre) has unit variance and no correlation."""
        return np.linalg.inv(np.linalg.cholesky(self.covariance))

    def with_chord(self, chord: float) -> Normal:
        """The same once the chord over tip radius was measured: conditional on its logarithm."""
        seen = math.log(min(max(chord, CHORDS[0]), CHORDS[1]))
        gain = self.covariance[:, CHORD] / (self.covariance[CHORD, CHORD] + CHORD_SIGMA**2)
        centre = self.centre + gain * (seen - self.centre[CHORD])
        return Normal(centre, self.covariance - np.outer(gain, self.covariance[CHORD]))


@dataclass(frozen=True)
class BladePrior:
    """Normal distribution of the unknowns: mean, trends with ln(diameter / 0.2 m) and with pitch ratio - 0.6,
    standard deviations (9,) and correlations (9, 9)."""

    mean: Array
    size_trend: Array
    pitch_trend: Array
    deviation: Array
    correlation: Array

    def given(self, geometry: Geometry) -> Normal:
        """What is known of a propeller of which only this was measured. A table of the geometry has the chords in it and a
        prior of its own."""
        centre = np.column_stack([self.mean, self.size_trend, self.pitch_trend]) @ features(geometry)
        sized = Normal(centre, self.correlation * np.outer(self.deviation, self.deviation))
        chord = geometry.chord_75
        return sized if chord is None or geometry.table is not None else sized.with_chord(chord)


def features(geometry: Geometry) -> Array:
    """What the mean and the two trends are multiplied by (3,)."""
    size = min(max(geometry.diameter, SIZES[0]), SIZES[1])
    pitch = min(max(geometry.pitch_ratio, PITCHES[0]), PITCHES[1])
    return np.array([1.0, math.log(size / SIZE_MIDDLE), pitch - PITCH_MIDDLE])


@cache
def blade_prior(kind: str) -> BladePrior:
    """The prior for a kind of evidence: diameter_pitch and chord_75 have one, full_geometry another."""
    name = "full_geometry" if kind == "full_geometry" else "rule"
    rows = np.array(data.PRIORS[name])
    lower = np.array([np.pad(row, (0, 9 - len(row))) for row in data.CORRELATIONS[name]])
    correlation = lower + lower.T - np.diag(np.diag(lower))
    mean, size_trend, pitch_trend, deviation = rows.T
    return BladePrior(mean, size_trend, pitch_trend, deviation, correlation)
