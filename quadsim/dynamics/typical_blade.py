"""The typical small-propeller blade: geometry and section from what is known of it and nine unknowns.

References
----------
J. B. Brandt and M. S. Selig, Propeller Performance Data at Low Reynolds Numbers, AIAA 2011-1255.
R. W. Deters, G. K. Ananda and M. S. Selig, Reynolds Number Effects on the Performance of Small-Scale
Propellers, AIAA 2014-2151. Data: J. B. Brandt, R. W. Deters, G. K. Ananda, O. D. Dantsker and M. S. Selig,
UIUC Propeller Database, Vols 1 and 2.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from quadsim.dynamics.blade_element import Array, Blade, Section, stations

SHAPE_RADIUS = np.array([0.15, 0.30, 0.45, 0.60, 0.75, 0.85, 0.90, 0.95, 1.00])
SHAPE_CHORD = np.array([0.86, 1.06, 1.15, 1.14, 1.00, 0.83, 0.71, 0.52, 0.14])
"""Chord over chord at 75 % radius: median of the 14 measured geometries, rounded."""

HELIX_FROM = 0.35
"""Radius [-] inside which the twist no longer follows the helix (the measured blades flatten there)."""

UNKNOWNS = (
    "twist_offset",  # added to the blade angle to reach the zero-lift line [rad]
    "helix",  # ln of the share of the nominal pitch that the twist follows
    "chord_75",  # ln of the chord over tip radius at 75 % radius, where that was not measured
    "lift_slope",  # ln of the section's five numbers (blade_element.Section) ...
    "cl_max",
    "drag_zero",
    "drag_angle",
    "lift_reynolds",  # ... the two exponents as they are
    "drag_reynolds",
)
"""What evidence leaves open, in the order of every vector of unknowns."""


@dataclass(frozen=True)
class Geometry:
    """What was measured of a propeller with a rule.

    diameter : [m]; pitch_ratio : nominal pitch over diameter [-]; blades : count; chord_75 : chord over tip
    radius at 75 % radius [-]; table : rows of r/R, c/R [-] and blade angle [deg]
    """

    diameter: float
    pitch_ratio: float
    blades: int
    chord_75: float | None = None
    table: tuple[tuple[float, ...], ...] | None = None

    @property
    def kind(self) -> str:
        """Kind of evidence: diameter_pitch, chord_75 or full_geometry."""
        if self.table is not None:
            return "full_geometry"
        return "diameter_pitch" if self.chord_75 is None else "chord_75"


def rotor(geometry: Geometry, unknowns: Array) -> tuple[Blade, Section]:
    """Blade and section with these unknowns (9,)."""
    offset, helix, chord, slope, cl_max, zero, angle, lift_reynolds, drag_reynolds = unknowns.tolist()
    exp = math.exp
    section = Section(exp(slope), exp(cl_max), exp(zero), exp(angle), lift_reynolds, drag_reynolds)
    radius, weight = stations()
    if geometry.table is not None:
        table = np.array(geometry.table)
        chords = np.interp(radius, table[:, 0], table[:, 1])
        twist = np.radians(np.interp(radius, table[:, 0], table[:, 2]))
    else:
        chords = chord_at(radius, exp(chord) if geometry.chord_75 is None else geometry.chord_75)
        twist = helix_twist(radius, exp(helix) * geometry.pitch_ratio)
    return Blade(radius, chords, twist + offset, weight, geometry.blades, geometry.diameter), section


def chord_at(radius: Array, chord_75: float) -> Array:
    """Chord over tip radius (n,) of the typical plan form with this chord at 75 % radius."""
    return chord_75 * np.interp(radius, SHAPE_RADIUS, SHAPE_CHORD)


def helix_twist(radius: Array, pitch_ratio: float) -> Array:
    """Blade angle (n,) [rad] of a helix of pitch_ratio = pitch / diameter, held constant near the root."""
    return np.asarray(np.arctan(pitch_ratio / (np.pi * np.maximum(radius, HELIX_FROM))))
