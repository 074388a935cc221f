"""Fit the typical blade to measured propellers and print its errors, a whole family left out at a time.

    python tools/fit_typical_blade.py FOLDER --blades mit=3 --diameter mi_4x2.7=3.95 --diameter mit_5x4=4.90

FOLDER holds one folder per propeller, named family_DIAMETERxPITCH (inches; `-3b` in the name gives the blade
count), with files as the UIUC Propeller Database has them: *_static_*.txt (RPM, CT, CP), *_RPM.txt (J, CT,
CP, eta), *_geom.txt (r/R, c/R, blade angle in deg). The data are not part of this project. The printed
coefficients are the ones in quadsim/dynamics/typical_blade.py, the printed errors the ones quoted there.
"""

from __future__ import annotations

import argparse
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.optimize import least_squares

from quadsim.dynamics.blade_element import Array, Blade, Section, coefficients
from quadsim.dynamics.static_point import StaticPoint, adapt
from quadsim.dynamics.typical_blade import TypicalBlade, measured_blade, typical_blade
from quadsim.units import INCH

NAMES = ["offset_deg", "helix", "chord_75", "chord_trend", "lift_slope", "cl_max", "drag_zero", "drag_angle"]
NAMES += ["lift_reynolds", "drag_reynolds"]
PRIOR = np.array([2.0, 1.0, 0.175, 0.0, 5.7, 1.2, 0.025, 1.3, 0.15, 0.4])
SPREAD = np.array([3.0, 0.3, 0.02, 0.3, 0.7, 0.5, 0.0125, 0.6, 0.15, 0.3])
LOWEST = np.array([-6.0, 0.5, 0.12, -2.0, 3.0, 0.5, 0.005, 0.2, -0.1, 0.0])
HIGHEST = np.array([9.0, 1.6, 0.25, 2.0, 7.5, 2.5, 0.1, 3.0, 0.5, 1.0])
"""Weak priors and bounds of the coefficients; assumed, from thin-section theory and the measured chords."""
KINDS = ("diameter_pitch", "chord_75", "full_geometry")
RESIDUAL, POWER_WEIGHT, SOFT = 0.12, 0.7, 0.5
"""Expected model error relative to the static value, weight of power, width of the soft loss. Chosen by the
errors."""


@dataclass(frozen=True)
class Propeller:
    """One measured propeller: rows of (rpm, J, CT, CP), the first `static_rows` of them at rest."""

    name: str
    family: str
    diameter: float
    pitch_ratio: float
    blades: int
    rows: Array
    static_rows: int
    geometry: Array | None

    def predict(self, x: Array, kind: str, point: StaticPoint | None = None) -> Array:
        blade, section = self.rotor(x, kind)
        if point is not None:
            blade, section = adapt(blade, section, point)
        return coefficients(blade, section, self.rows[:, 0], self.rows[:, 1], np.zeros(len(self.rows)))

    def rotor(self, x: Array, kind: str) -> tuple[Blade, Section]:
        section = Section(*x[4:])
        typical = TypicalBlade(float(np.radians(x[0])), x[1], x[2], x[3], section, 0.0, 0.0)
        if kind == "diameter_pitch" or self.geometry is None:
            return typical_blade(typical, self.diameter, self.pitch_ratio, self.blades), section
        if kind == "full_geometry":
            return measured_blade(typical, self.diameter, self.blades, self.geometry), section
        chord = float(np.interp(0.75, self.geometry[:, 0], self.geometry[:, 1]))
        return typical_blade(typical, self.diameter, self.pitch_ratio, self.blades, chord), section

    def middle_point(self) -> StaticPoint:
        """A static row near the top of the measured speeds, as a user's bench point."""
        rpm, _, ct, cp = self.rows[self.static_rows - 3]
        n, density = rpm / 60.0, 1.225
        torque = cp * density * n**2 * self.diameter**5 / (2.0 * np.pi)
        return StaticPoint(rpm, ct * density * n**2 * self.diameter**4, torque, density)


def read_propeller(folder: Path, diameters: dict[str, str], blades: dict[str, str]) -> Propeller:
    """Read one folder; static rows above 40 % of the top speed, 8 of them, and 30 rows of the sweep with CT >
    -0.02."""
    named = re.fullmatch(r"(.+)_([\d.]+)x([\d.]+)", folder.name)
    if named is None:
        raise SystemExit(
            f"{folder.name}: a folder must be named family_DIAMETERxPITCH, for example mine_10x4.5"
        )
    family, diameter, pitch = named.groups()
    static = np.loadtxt(next(folder.glob("*static*.txt")), skiprows=1)
    static = _thin(static[static[:, 0] >= 0.4 * static[-1, 0]], 8)
    sweep = []
    for path in sorted(folder.glob("*.txt")):
        speed = re.search(r"_(\d+)\.txt$", path.name)
        if speed and "static" not in path.name:
            run = np.loadtxt(path, skiprows=1)
            sweep.append(np.column_stack([np.full(len(run), float(speed[1])), run[:, :3]]))
    moving = np.vstack(sweep)
    at_rest = np.insert(static, 1, 0.0, axis=1)
    counted = re.search(r"-(\d)b", folder.name)
    geometry = next(folder.glob("*geom*.txt"), None)
    return Propeller(
        folder.name,
        family,
        float(diameters.get(folder.name, diameter)) * INCH,
        float(pitch) / float(diameter),
        int(counted[1] if counted else blades.get(family, 2)),
        np.vstack([at_rest, _thin(moving[moving[:, 2] > -0.02], 30)]),
        len(at_rest),
        None if geometry is None else np.loadtxt(geometry, skiprows=1),
    )


def _thin(rows: Array, count: int) -> Array:
    return rows[np.unique(np.linspace(0, len(rows) - 1, count).astype(int))]


def fit(propellers: list[Propeller], kind: str) -> Array:
    """Coefficients most likely for these propellers; a family counts with the fourth root of its size
    less."""
    families = [p.family for p in propellers]

    def residuals(x: Array) -> Array:
        parts = [(x - PRIOR) / SPREAD]
        for p in propellers:
            error = _relative_errors(p, p.predict(x, kind)) * [1.0, POWER_WEIGHT]
            share = np.where(np.arange(len(error)) < p.static_rows, p.static_rows, len(error) - p.static_rows)
            weight = families.count(p.family) ** -0.25 / np.sqrt(share)
            parts.append((error * weight[:, None]).ravel() / RESIDUAL)
        return np.concatenate(parts)

    bounds = (LOWEST, HIGHEST)
    tolerances = {"xtol": 1e-3, "ftol": 1e-3, "max_nfev": 25, "diff_step": 1e-3}
    loss = {"loss": "soft_l1", "f_scale": SOFT}
    return np.asarray(least_squares(residuals, PRIOR, bounds=bounds, x_scale=SPREAD, **loss, **tolerances).x)


def _relative_errors(propeller: Propeller, predicted: Array) -> Array:
    """Errors (m, 2) of CT and CP over their static values at the top speed."""
    return (predicted[:, :2] - propeller.rows[:, 2:4]) / propeller.rows[propeller.static_rows - 1, 2:4]


def score(propeller: Propeller, predicted: Array) -> Array:
    """Static CT and CP (mean relative error), CT and CP over the advance ratio (rms over the static
    value)."""
    k, rows = propeller.static_rows, propeller.rows
    static = (predicted[:k, :2] / rows[:k, 2:4] - 1.0).mean(axis=0)
    sweep = np.sqrt((_relative_errors(propeller, predicted)[k:] ** 2).mean(axis=0))
    return np.concatenate([static, sweep])


def leave_families_out(propellers: list[Propeller], kind: str) -> None:
    """Print the errors with and without one static point, every family predicted from the others alone."""
    bare, pointed = [], []
    for family in sorted({p.family for p in propellers}):
        x = fit([p for p in propellers if p.family != family], kind)
        for p in (p for p in propellers if p.family == family):
            bare.append(score(p, p.predict(x, kind)))
            pointed.append(score(p, p.predict(x, kind, p.middle_point())))
    for label, scores in ((kind, bare), (f"{kind} + static point", pointed)):
        table = np.array(scores)
        median, rms = np.median(np.abs(table), axis=0), np.sqrt((table**2).mean(axis=0))
        print(f"{label:32s} median {median.round(3)}  rms {rms.round(3)}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--blades", action="append", default=[], metavar="FAMILY=COUNT")
    parser.add_argument("--diameter", action="append", default=[], metavar="PROPELLER=INCHES")
    given = parser.parse_args()
    diameters, blades = (dict(item.split("=") for item in items) for items in (given.diameter, given.blades))
    folders = sorted(path for path in given.folder.iterdir() if path.is_dir())
    if not folders:
        raise SystemExit(f"{given.folder}: no propeller folders in it")
    propellers = [read_propeller(folder, diameters, blades) for folder in folders]
    print("errors: static CT, static CP, CT over J, CP over J")
    for kind in KINDS:
        known = [p for p in propellers if kind == "diameter_pitch" or p.geometry is not None]
        print(kind, dict(zip(NAMES, fit(known, kind).round(4).tolist(), strict=True)))
        leave_families_out(known, kind)


if __name__ == "__main__":
    main()
