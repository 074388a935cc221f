"""The rotor map: thrust, power and in-plane coefficients over the advance ratios, from what is known of a
propeller.

Every map has the same constant axes, so that the record of a craft has one size and the flight loop needs one
look-up. Hover (axial = 0) and in-plane rest are nodes, so the kink of the induced flow in hover falls on a
node.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from quadsim.dynamics import blade_element, map_correction, rotor_map_cache
from quadsim.dynamics.flapping import FLAP_RATIO, flap_hinge, flapping_coefficients
from quadsim.dynamics.map_uncertainty import Sigmas, away, half_width, spread
from quadsim.dynamics.measured_table import PLACES, MeasuredTable
from quadsim.dynamics.rotor_evidence import read_evidence
from quadsim.errors import InputError, Problem

Array = NDArray[np.float64]

N_AXIAL = 24
N_INPLANE = 24
N_CHANNELS = 5
"""CT, CP, CH, CMR, CMP."""
AXIAL_STEP = 0.08
INPLANE_STEP = 0.07
_HOVER = 7
"""Index of the node axial = 0."""
AXIAL_MIN = -_HOVER * AXIAL_STEP
AXIAL_MAX = AXIAL_MIN + (N_AXIAL - 1) * AXIAL_STEP
INPLANE_MAX = (N_INPLANE - 1) * INPLANE_STEP
"""Axes of every map: axial advance ratio -0.56 to 1.28 (negative in descent), in-plane 0 to 1.61 [-]."""

REFERENCE_TIP_SPEED = 80.0
"""Tip speed [m/s] at which the grid is made; a 10 in propeller at 6000 rpm, a 5 in one at 12000. Our
choice."""

SLOPE_RATIO = 1.25
"""Ratio of the speeds, either side of the reference, whose maps give the trend with speed. Our choice."""


@dataclass(frozen=True)
class RotorMap:
    """Coefficients of one propeller; propeller convention, rotor speed n in rev/s, diameter D.

    diameter : [m]; pitch_ratio : pitch over diameter [-]; blades : count
    reference_rpm : rotor speed of `grid` [rpm]
    grid : (24, 24, 5) CT = T/(rho n^2 D^4), CP = P/(rho n^3 D^5), CH = H/(rho n^2 D^4), where H opposes the
        in-plane air-relative velocity, and the hub moments CMR and CMP = M/(rho n^2 D^5) (`hub_moments`); axes
        axial (first) and in-plane advance ratio V/(n D)
    rpm_slope : (24, 24, 5) change of the coefficients per unit of ln(rpm / reference_rpm): the Reynolds trend
    speed_factors : (k, 3) ln rpm and the factors on CT and CP there, from a bench table; held outside
    sigmas : standard deviations of CT and CP, static and over the advance ratio [-]
    evidence : what the map rests on, one sentence; evidence_kind : the same in short, for `what_would_narrow`
    measured_on : "own arm" if the map holds the installed loss of the craft already, else "free stand"
    """

    diameter: float
    pitch_ratio: float
    blades: int
    reference_rpm: float
    grid: Array
    rpm_slope: Array
    sigmas: Sigmas
    evidence: str
    evidence_kind: str = "diameter_pitch"
    measured_on: str = PLACES[0]
    speed_factors: Array = field(default_factory=lambda: np.array([[0.0, 1.0, 1.0]]))

    @property
    def ct_sigma(self) -> float:
        """Relative standard uncertainty of static CT [-]."""
        return self.sigmas.ct

    @property
    def cp_sigma(self) -> float:
        """Relative standard uncertainty of static CP [-]."""
        return self.sigmas.cp

    @property
    def sweep_sigma(self) -> float:
        """Standard uncertainty of CT where no thrust is left, over static CT [-]."""
        return self.sigmas.ct_sweep

    def grid_at(self, rpm: float) -> Array:
        """The grid (24, 24, 5) at one rotor speed [rpm], for a craft whose hover speed is known."""
        return (self.grid + self._trend(rpm) * self.rpm_slope) * self._factors(rpm)

    def interval(
        self, rpm: ArrayLike, axial: ArrayLike = 0.0, inplane: ArrayLike = 0.0, level: float = 0.8
    ) -> tuple[tuple[Any, Any], tuple[Any, Any]]:
        """Bounds (low, high) of CT and of CP that hold the true value with this probability, 0 < level < 1.

        Checked on left-out families of propellers at 80 % (tools/fit_typical_blade.py); in-plane flow is assumed.
        Beyond the speeds of a bench table the bounds widen with the logarithm of the speed.
        """
        if not 0.0 < level < 1.0:
            raise InputError([Problem("level", repr(level), "must be within 0 to 1")], "interval")
        static, still, there = (
            self._at(rpm, 0.0, 0.0),
            self._at(rpm, axial, 0.0),
            self._at(rpm, axial, inplane),
        )
        left = self.sigmas
        fallen = np.abs(1.0 - np.asarray(still[0]) / static[0])
        bounds = []
        rests = self._static_sigmas(np.asarray(rpm, dtype=float))
        for k, (sigma, sweep) in enumerate(zip(rests, (left.ct_sweep, left.cp_sweep), strict=True)):
            change = (np.asarray(there[k]) - still[k]) / static[k]
            width = half_width(level) * np.abs(static[k]) * spread(fallen, sigma, sweep, change)
            low, high = there[k] - width, there[k] + width
            bounds.append((float(low), float(high)) if np.ndim(low) == 0 else (low, high))
        return bounds[0], bounds[1]

    def _static_sigmas(self, rpm: Array) -> tuple[Array, Array]:
        """Standard deviations of static CT and CP at these speeds, relative [-]."""
        _, _, bench = self.evidence_kind.partition(" + ")
        if bench in ("", "tunnel"):
            return np.full(rpm.shape, self.sigmas.ct), np.full(rpm.shape, self.sigmas.cp)
        return away(rpm, self.speed_factors[:, 0], self.sigmas, torque=bench != "thrust")

    def coefficients(
        self, rpm: ArrayLike, axial: ArrayLike = 0.0, inplane: ArrayLike = 0.0
    ) -> tuple[Any, Any, Any]:
        """CT, CP, CH at rotor speed [rpm] and advance ratios V/(n D) [-], bilinear; numbers or arrays.

        axial is positive when climbing along the thrust. Outside the axes the value at the edge is held.
        """
        ct, cp, ch, _, _ = self._at(rpm, axial, inplane)
        return ct, cp, ch

    def hub_moments(
        self, rpm: ArrayLike, axial: ArrayLike = 0.0, inplane: ArrayLike = 0.0
    ) -> tuple[Any, Any]:
        """CMR and CMP at rotor speed [rpm] and advance ratios [-]: M/(rho n^2 D^5) about the hub.

        With e along the hub's in-plane velocity through the air and z down along the body axis: CMR along e,
        positive, for a rotor that turns clockwise seen from above (its opposite for the other sense); CMP along
        z x e, nose up, for both.
        """
        *_, roll, pitch = self._at(rpm, axial, inplane)
        return roll, pitch

    def _at(self, rpm: ArrayLike, axial: ArrayLike, inplane: ArrayLike) -> tuple[Any, ...]:
        rpm, axial, inplane = np.broadcast_arrays(rpm, axial, inplane)
        values = self._look_up(self.grid, axial, inplane)
        values = values + self._trend(rpm)[..., None] * self._look_up(self.rpm_slope, axial, inplane)
        values = values * self._factors(rpm)
        return tuple(values.tolist()) if values.ndim == 1 else tuple(np.moveaxis(values, -1, 0))

    def _trend(self, rpm: ArrayLike) -> Array:
        """ln(rpm / reference), held outside a factor of four, where nothing was measured."""
        ratio = np.asarray(rpm, dtype=float) / self.reference_rpm
        return np.log(np.clip(ratio, 0.25, 4.0))

    def _factors(self, rpm: ArrayLike) -> Array:
        """What the bench table multiplies the five coefficients by (..., 5)."""
        size = np.log(np.maximum(np.asarray(rpm, dtype=float), 1e-9))
        factors = np.ones((*np.shape(size), N_CHANNELS))
        for k in (0, 1):
            factors[..., k] = np.interp(size, self.speed_factors[:, 0], self.speed_factors[:, k + 1])
        return factors

    @staticmethod
    def _look_up(grid: Array, axial: Array, inplane: Array) -> Array:
        u = np.clip((axial - AXIAL_MIN) / AXIAL_STEP, 0.0, N_AXIAL - 1.0)
        v = np.clip(np.abs(inplane) / INPLANE_STEP, 0.0, N_INPLANE - 1.0)
        i = np.minimum(u.astype(int), N_AXIAL - 2)
        j = np.minimum(v.astype(int), N_INPLANE - 2)
        a, b = (u - i)[..., None], (v - j)[..., None]
        low = grid[i, j] * (1.0 - b) + grid[i, j + 1] * b
        high = grid[i + 1, j] * (1.0 - b) + grid[i + 1, j + 1] * b
        return np.asarray(low * (1.0 - a) + high * a)


def axes() -> tuple[Array, Array]:
    """Axial (24,) and in-plane (24,) advance ratios of the nodes [-]."""
    axial: Array = AXIAL_MIN + AXIAL_STEP * np.arange(N_AXIAL, dtype=np.float64)
    axial[_HOVER] = 0.0
    return axial, INPLANE_STEP * np.arange(N_INPLANE, dtype=np.float64)


def rotor_map(
    diameter_in: float,
    pitch_in: float,
    blades: int = 2,
    geometry: Any = None,
    table: Any = None,
    flap_ratio: float = FLAP_RATIO,
) -> RotorMap:
    """Map of a propeller from what is known of it; the more is known, the smaller its uncertainty.

    diameter_in, pitch_in : [in]; blades : count
    geometry : None, {"chord_75": chord over tip radius at 75 % radius}, or rows of (r/R, c/R, blade angle in
    deg)
    table : None; one static point {"rpm", "thrust_N" or "thrust_g", "torque_Nm" or "shaft_power_W" or neither,
        "density" [kg/m3] or "temperature_C" and "pressure_hPa", "measured_on": "free stand" or "own arm"}; a bench
        table of such points; or a wind-tunnel table of "rpm", "J", "CT", "CP". A table is a mapping of columns or a
        list of row mappings.
    flap_ratio : first flap frequency of a blade over the rotor's speed, 1 for a free hinge [-]

    Bad values raise InputError. The map is kept on disk under a key made of the inputs and of the sources
    that make it.
    """
    known = read_evidence(diameter_in, pitch_in, blades, geometry, table, flap_ratio)
    reference_rpm = 60.0 * REFERENCE_TIP_SPEED / (math.pi * known.geometry.diameter)
    key = rotor_map_cache.key(known)
    grids = rotor_map_cache.load(key, (2, N_AXIAL, N_INPLANE, N_CHANNELS))
    if grids is None:
        grids = build_grids(*known.rotor(), reference_rpm, known.flap_ratio)
        rotor_map_cache.store(key, grids)
    built = RotorMap(
        known.geometry.diameter,
        known.geometry.pitch_ratio,
        known.geometry.blades,
        reference_rpm,
        grid=grids[0],
        rpm_slope=grids[1],
        sigmas=known.sigmas(),
        evidence=known.sentence(),
        evidence_kind=known.kind,
    )
    return built if known.table is None else corrected(built, known.table)


def corrected(built: RotorMap, table: MeasuredTable) -> RotorMap:
    """The map with what the table says beyond the fitted blade."""
    rpm, axial, ct, cp = table.arrays()
    mapped = built.coefficients(rpm, axial)
    if not table.moving:
        ratios = [ct / mapped[0], cp / mapped[1] if table.cp else np.ones(rpm.size)]
        factors = [map_correction.speed_factors(rpm, ratio) for ratio in ratios]
        nodes = np.column_stack([np.log(rpm), *factors])
        return replace(built, speed_factors=nodes, measured_on=table.measured_on)
    weights = map_correction.node_weights(axial, AXIAL_MIN, AXIAL_STEP, N_AXIAL)
    grid, slope = built.grid.copy(), built.rpm_slope.copy()
    for k, (measured, model) in enumerate(((ct, mapped[0]), (cp, mapped[1]))):
        trend = np.log(rpm / built.reference_rpm)
        value, rise = map_correction.node_corrections(
            weights, trend, measured - model, float(np.max(measured))
        )
        grid[..., k] += value[:, None]
        slope[..., k] += rise[:, None]
    return replace(built, grid=grid, rpm_slope=slope)


def build_grids(
    blade: blade_element.Blade,
    section: blade_element.Section,
    reference_rpm: float,
    flap_ratio: float = FLAP_RATIO,
) -> Array:
    """Grid and trend with speed (2, 24, 24, 5) by blade-element momentum theory on the nodes."""
    axial, inplane = (mesh.ravel() for mesh in np.meshgrid(*axes(), indexing="ij"))
    hinge = flap_hinge(blade, section, flap_ratio)
    both = []
    for rpm in (reference_rpm / SLOPE_RATIO, reference_rpm * SLOPE_RATIO):
        rigid = blade_element.loads_and_moments(blade, section, np.full(axial.size, rpm), axial, inplane)
        both.append(flapping_coefficients(hinge, rigid).reshape(N_AXIAL, N_INPLANE, N_CHANNELS))
    slow, fast = both
    return np.stack([_settled(0.5 * (slow + fast)), (fast - slow) / (2.0 * math.log(SLOPE_RATIO))])


def _settled(grid: Array) -> Array:
    """Nodes moved by a sixteenth of the second difference, so that chords lie half above and half below the
    curve.

    A chord between exact nodes errs by h^2 f''/8 to one side; this halves the error. Hover, descent (not
    smooth) and the edges keep their values.
    """
    settled = grid.copy()
    middle = grid[_HOVER + 1 : -1, 1:-1]
    along_axial = grid[_HOVER:-2, 1:-1] - 2.0 * middle + grid[_HOVER + 2 :, 1:-1]
    along_inplane = grid[_HOVER + 1 : -1, :-2] - 2.0 * middle + grid[_HOVER + 1 : -1, 2:]
    settled[_HOVER + 1 : -1, 1:-1] -= (along_axial + along_inplane) / 16.0
    return settled
