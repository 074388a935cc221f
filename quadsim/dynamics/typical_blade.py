"""The typical small-propeller blade: geometry and section from diameter, pitch and blade count alone.

A handful of coefficients, fitted to 18 measured propellers of 10 families (4 to 11 in, two to four blades) by
tools/fit_typical_blade.py, which prints the errors quoted here.

References
----------
J. B. Brandt and M. S. Selig, Propeller Performance Data at Low Reynolds Numbers, AIAA 2011-1255.
R. W. Deters, G. K. Ananda and M. S. Selig, Reynolds Number Effects on the Performance of Small-Scale
Propellers, AIAA 2014-2151. Data: J. B. Brandt, R. W. Deters, G. K. Ananda, O. D. Dantsker and M. S. Selig,
UIUC Propeller Database, Vols 1 and 2.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from quadsim.dynamics.blade_element import Array, Blade, Section, stations

SHAPE_RADIUS = np.array([0.15, 0.30, 0.45, 0.60, 0.75, 0.85, 0.90, 0.95, 1.00])
SHAPE_CHORD = np.array([0.86, 1.06, 1.15, 1.14, 1.00, 0.83, 0.71, 0.52, 0.14])
"""Chord over chord at 75 % radius: median of the 14 measured geometries, rounded."""

HELIX_FROM = 0.35
"""Radius [-] inside which the twist no longer follows the helix (the measured blades flatten there)."""

PITCH_RATIO_MEAN = 0.6
"""Pitch over diameter at which `chord_75` is stated [-]. Our choice, the middle of the data."""


@dataclass(frozen=True)
class TypicalBlade:
    """Fitted coefficients of one kind of evidence and the errors that a left-out family showed.

    twist_offset : added to the blade angle to reach the zero-lift line [rad]
    helix : share of the nominal pitch that the twist follows [-]
    chord_75 : chord over tip radius at 75 % radius [-]; chord_trend : its logarithmic growth with pitch ratio
    [-] ct_sigma, cp_sigma : relative standard uncertainty of static thrust and power [-]
    """

    twist_offset: float
    helix: float
    chord_75: float
    chord_trend: float
    section: Section
    ct_sigma: float
    cp_sigma: float


def _typical(
    offset_deg: float,
    helix: float,
    chord_75: float,
    chord_trend: float,
    section: Section,
    ct: float,
    cp: float,
) -> TypicalBlade:
    return TypicalBlade(float(np.radians(offset_deg)), helix, chord_75, chord_trend, section, ct, cp)


DIAMETER_PITCH = _typical(
    8.83, 0.627, 0.186, 0.705, Section(5.83, 2.04, 0.0223, 1.236, 0.146, 0.249), 0.16, 0.17
)
"""Evidence (a): diameter, pitch and blade count alone. Median errors of a left-out family: static CT 11 %,
static CP 16 %, CT over the advance ratio 12 % of static; root mean squares 15, 17 and 13 %."""

CHORD_75 = _typical(7.70, 0.728, 0.175, 0.0, Section(6.06, 2.50, 0.0231, 1.334, 0.127, 0.148), 0.09, 0.18)
"""Evidence (b): the same with the measured chord at 75 % radius. Medians 7, 16 and 12 %."""

FULL_GEOMETRY = _typical(3.82, 1.0, 0.175, 0.0, Section(5.81, 2.23, 0.0255, 1.167, 0.120, 0.091), 0.17, 0.21)
"""Evidence (b) with a table of chord and twist. Medians 7, 18 and 15 %, no better than the chord alone: the
zero-lift angle of the section stays unknown, and a measured twist cannot make up for it as the fitted helix
does."""


def chord_at(radius: Array, chord_75: float) -> Array:
    """Chord over tip radius (n,) of the typical plan form with this chord at 75 % radius."""
    return chord_75 * np.interp(radius, SHAPE_RADIUS, SHAPE_CHORD)


def helix_twist(radius: Array, pitch_ratio: float) -> Array:
    """Blade angle (n,) [rad] of a helix of pitch_ratio = pitch / diameter, held constant near the root."""
    return np.asarray(np.arctan(pitch_ratio / (np.pi * np.maximum(radius, HELIX_FROM))))


def typical_blade(
    typical: TypicalBlade, diameter: float, pitch_ratio: float, blades: int, chord_75: float | None = None
) -> Blade:
    """Blade of a propeller known by diameter [m], pitch over diameter [-], blade count and perhaps chord_75
    [-]."""
    radius, weight = stations()
    if chord_75 is None:
        chord_75 = typical.chord_75 * float(np.exp(typical.chord_trend * (pitch_ratio - PITCH_RATIO_MEAN)))
    twist = helix_twist(radius, typical.helix * pitch_ratio) + typical.twist_offset
    return Blade(radius, chord_at(radius, chord_75), twist, weight, blades, diameter)


def measured_blade(typical: TypicalBlade, diameter: float, blades: int, table: Array) -> Blade:
    """Blade with a measured table (n, 3) of r/R [-], c/R [-] and blade angle [deg]."""
    radius, weight = stations()
    chord = np.interp(radius, table[:, 0], table[:, 1])
    twist = np.radians(np.interp(radius, table[:, 0], table[:, 2])) + typical.twist_offset
    return Blade(radius, chord, twist, weight, blades, diameter)
