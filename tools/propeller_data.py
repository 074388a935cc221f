"""Measured propellers read from a folder of wind-tunnel files, for fit_typical_blade.py."""

from __future__ import annotations

import argparse
import re
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from quadsim.dynamics.blade_element import Array, coefficients
from quadsim.dynamics.blade_fit import POWER_SIGMA, THRUST_SIGMA, Measured
from quadsim.dynamics.typical_blade import Geometry, rotor
from quadsim.units import INCH

STATIC_SIGMA, SWEEP_SIGMA = 0.02, 0.04
"""How well nine unknowns can describe CT and CP, over their static values; about what fits of single propellers
leave."""
INDEPENDENT = 6.0
"""Rows of a test at rest, and of a sweep, that count as independent (their errors are alike); assumed."""


@dataclass(frozen=True)
class Propeller:
    """One measured propeller: rows of (rpm, J, CT, CP), the first `static_rows` of them at rest."""

    name: str
    family: str
    geometry: Geometry
    rows: Array
    static_rows: int

    def predict(self, geometry: Geometry, unknowns: Array) -> Array:
        """CT and CP (m, 2) of the rows."""
        still = np.zeros(len(self.rows))
        return coefficients(*rotor(geometry, unknowns), self.rows[:, 0], self.rows[:, 1], still)[:, :2]

    def relative_errors(self, predicted: Array) -> Array:
        """Errors (m, 2) of CT and CP over their static values at the top speed."""
        return (predicted - self.rows[:, 2:]) / self.rows[self.static_rows - 1, 2:]

    def weights(self) -> Array:
        """Square roots of the weights (m,) of the rows: rest and sweep count alike."""
        k, m = self.static_rows, len(self.rows)
        return np.sqrt(INDEPENDENT / np.where(np.arange(m) < k, float(k), float(m - k)))

    def bench(self, only_one: bool, torque: bool) -> Measured:
        """The static rows as a user's bench table, or one near the top of the measured speeds as his one point."""
        return self.bench_at([self.static_rows - 3] if only_one else list(range(self.static_rows)), torque)

    def bench_at(self, numbers: list[int], torque: bool) -> Measured:
        """These static rows as a user's bench table."""
        rows = self.rows[numbers]
        many = np.sqrt(len(rows))
        rpm, axial, ct, cp = rows.T
        cp = cp if torque else np.full_like(cp, np.nan)
        return Measured(rpm, axial, ct, cp, ct, cp, THRUST_SIGMA * many, POWER_SIGMA * many)

    def known_as(self, kind: str) -> Geometry | None:
        """The geometry cut down to a kind of evidence, None if it was not measured."""
        if kind == "diameter_pitch":
            return replace(self.geometry, chord_75=None, table=None)
        if self.geometry.table is None:
            return None
        return self.geometry if kind == "full_geometry" else replace(self.geometry, table=None)


def zero_thrust(axial: Array, ct: Array) -> float:
    """Advance ratio of no thrust by a quadratic through the sweep [-]; NaN if it never comes to that."""
    roots = np.roots(np.polyfit(axial, ct, 2))
    real = roots[np.isreal(roots)].real
    return float(np.min(real[real > 0.1], initial=np.inf)) if np.any(real > 0.1) else float("nan")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What tells a tool where the propellers are and what their folders' names do not say."""
    parser.add_argument("folder", type=Path)
    parser.add_argument("--blades", action="append", default=[], metavar="FAMILY=COUNT")
    parser.add_argument("--diameter", action="append", default=[], metavar="PROPELLER=INCHES")


def read_propellers(given: argparse.Namespace) -> list[Propeller]:
    """Every propeller in the folder."""
    diameters, blades = (dict(item.split("=") for item in items) for items in (given.diameter, given.blades))
    folders = sorted(path for path in given.folder.iterdir() if path.is_dir())
    if not folders:
        raise SystemExit(f"{given.folder}: no propeller folders in it")
    return [read_propeller(folder, diameters, blades) for folder in folders]


def read_propeller(folder: Path, diameters: dict[str, str], blades: dict[str, str]) -> Propeller:
    """Read one folder; static rows above 40 % of the top speed, 8 of them, and 30 rows of the sweep with CT >
    -0.02."""
    named = re.fullmatch(r"(.+)_([\d.]+)x([\d.]+)", folder.name)
    if named is None:
        raise SystemExit(f"{folder.name}: must be named family_DIAMETERxPITCH, for example mine_10x4.5")
    family, diameter, pitch = named.groups()
    static = np.loadtxt(next(folder.glob("*static*.txt")), skiprows=1)
    static = np.insert(_thin(static[static[:, 0] >= 0.4 * static[-1, 0]], 8), 1, 0.0, axis=1)
    sweep = []
    for path in sorted(folder.glob("*.txt")):
        speed = re.search(r"_(\d+)\.txt$", path.name)
        if speed and "static" not in path.name:
            run = np.loadtxt(path, skiprows=1)
            sweep.append(np.column_stack([np.full(len(run), float(speed[1])), run[:, :3]]))
    moving = np.vstack(sweep)
    counted = re.search(r"-(\d)b", folder.name)
    count = int(counted[1] if counted else blades.get(family, 2))
    metres = float(diameters.get(folder.name, diameter)) * INCH
    geometry = Geometry(metres, float(pitch) / float(diameter), count, *_shape(folder))
    rows = np.vstack([static, _thin(moving[moving[:, 2] > -0.02], 30)])
    return Propeller(folder.name, family, geometry, rows, len(static))


def _shape(folder: Path) -> tuple[float | None, tuple[tuple[float, ...], ...] | None]:
    path = next(folder.glob("*geom*.txt"), None)
    if path is None:
        return None, None
    table = np.loadtxt(path, skiprows=1)
    return float(np.interp(0.75, table[:, 0], table[:, 1])), tuple(map(tuple, table.tolist()))


def _thin(rows: Array, count: int) -> Array:
    return rows[np.unique(np.linspace(0, len(rows) - 1, count).astype(int))]
