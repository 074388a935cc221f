"""Thrust and torque measured by the user, at rest or in a wind tunnel: read, checked, turned into coefficients.

Either a bench: rpm with thrust_N or thrust_g, torque_Nm or shaft_power_W or neither, and the air as density or
temperature_C with pressure_hPa. Or a tunnel: rpm, J (or axial), CT, CP. One static point stands as plain numbers.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from quadsim.constants import R_AIR
from quadsim.dynamics.blade_element import Array
from quadsim.dynamics.table_checks import bench_problems, tunnel_problems
from quadsim.dynamics.table_slips import Bench
from quadsim.errors import Problem
from quadsim.units import CELSIUS, G_FORCE

AIR_KEYS = ("density", "temperature_C", "pressure_hPa")
BENCH_KEYS = ("rpm", "thrust_N", "thrust_g", "torque_Nm", "shaft_power_W", *AIR_KEYS)
SIGMA_KEYS = ("torque_sigma", "speed_sigma")
TUNNEL_KEYS = ("rpm", "J", "axial", "CT", "CP")
PLACES = ("free stand", "own arm")
"""Where a bench stood. On the craft's own arm the table holds the installed loss already."""

Row = dict[str, Any]


@dataclass(frozen=True)
class MeasuredTable:
    """Checked rows as coefficients: rpm [rpm], axial (advance ratio), ct, cp [-] (m,); cp empty if not measured.

    measured_on : one of PLACES; torque_sigma, speed_sigma : relative standard deviations of torque and speed where
    they came from the motor's current and voltage, else 0 [-]
    """

    rpm: tuple[float, ...]
    axial: tuple[float, ...]
    ct: tuple[float, ...]
    cp: tuple[float, ...]
    measured_on: str
    torque_sigma: float = 0.0
    speed_sigma: float = 0.0

    @property
    def point(self) -> bool:
        """One static point."""
        return len(self.rpm) == 1

    @property
    def moving(self) -> bool:
        """Measured in a wind tunnel, over the advance ratio."""
        return any(axial != 0.0 for axial in self.axial)

    def arrays(self) -> tuple[Array, Array, Array, Array]:
        """rpm, axial, CT, CP (m,); CP is NaN if not measured."""
        rpm = np.array(self.rpm)
        cp = np.array(self.cp) if self.cp else np.full(rpm.size, np.nan)
        return rpm, np.array(self.axial), np.array(self.ct), cp

    def words(self) -> str:
        """What was measured, for a sentence."""
        if self.point:
            return f"one static bench point at {self.rpm[0]:.0f} rpm, {self.measured_on}"
        torque = "" if self.cp else " without torque"
        if self.moving:
            return f"a wind-tunnel table of {len(self.rpm)} rows up to J = {max(self.axial):.2f}{torque}"
        speeds = f"{self.rpm[0]:.0f} to {self.rpm[-1]:.0f} rpm"
        return f"a bench table of {len(self.rpm)} rows, {speeds}{torque}, {self.measured_on}"


def read_table(table: Any, diameter: float, problems: list[Problem]) -> MeasuredTable | None:
    """The table for a propeller of this diameter [m]; faults are added to problems."""
    if table is None:
        return None
    faults: list[Problem] = []
    rows = _rows(table, faults)
    if not rows and not faults:
        faults.append(Problem("table", "no rows", "must have rows of rpm and thrust"))
    if not faults:
        tunnel = any(name in row for row in rows for name in ("CT", "CP", "J", "axial"))
        found = (_tunnel if tunnel else _bench)(rows, diameter, faults)
    problems.extend(faults)
    return None if faults else found


def _rows(table: Any, faults: list[Problem]) -> list[Row]:
    """Row mappings from a point, a mapping of columns, or a list of rows; what stands once counts for every row."""
    if isinstance(table, Mapping):
        once = {name: value for name, value in table.items() if not _is_list(value)}
        lists = {name: value for name, value in table.items() if _is_list(value)}
        if set(lists) == {"rows"}:
            return [{**once, **row} for row in _rows(lists["rows"], faults)]
        lengths = {name: len(value) for name, value in lists.items()}
        if len(set(lengths.values())) > 1:
            given = ", ".join(f"{name} {count}" for name, count in lengths.items())
            faults.append(Problem("table", f"columns of {given} values", "every column must be equally long"))
            return []
        count = next(iter(lengths.values()), 1)
        return [{**once, **{name: value[k] for name, value in lists.items()}} for k in range(count)]
    if _is_list(table) and len(table) and all(isinstance(row, Mapping) for row in table):
        return [dict(row) for row in table]
    allowed = (
        f"must be one static point with {', '.join(BENCH_KEYS)}; a mapping of columns; or a list of such rows"
    )
    faults.append(Problem("table", f"a {type(table).__name__}", allowed))
    return []


def _bench(rows: list[Row], diameter: float, faults: list[Problem]) -> MeasuredTable:
    """Coefficients of a bench table, or of one point."""
    _check_keys(rows, (*BENCH_KEYS, "measured_on", *SIGMA_KEYS), faults)
    where = [_where(k, rows) for k in range(len(rows))]
    for name, row in zip(where, rows, strict=True):
        _check_choice(name, row, ("thrust_N", "thrust_g"), faults)
        if "torque_Nm" in row or "shaft_power_W" in row:
            _check_choice(name, row, ("torque_Nm", "shaft_power_W"), faults)
        if "density" not in row and not {"temperature_C", "pressure_hPa"} <= row.keys():
            faults.append(
                Problem(name, "the air is missing", "give density, or temperature_C and pressure_hPa")
            )
    if rows and _torque_gap(rows):
        lacking = [w for w, row in zip(where, rows, strict=True) if _torque_of(row) is None]
        faults.append(Problem(", ".join(lacking), "no torque", "must be in every row or in none"))
    values = [_bench_values(name, row, faults) for name, row in zip(where, rows, strict=True)]
    if faults:
        return MeasuredTable((), (), (), (), "")
    ct, cp = [], []
    for rpm, thrust, power, density in values:
        n = rpm / 60.0
        ct.append(thrust / (density * n**2 * diameter**4))
        cp.append(math.nan if power is None else power / (density * n**3 * diameter**5))
    speeds = [v[0] for v in values]
    bench = Bench(rows, diameter, np.array(speeds), np.array(ct), np.array(cp))
    faults.extend(bench_problems(bench, where))
    return MeasuredTable(
        tuple(speeds),
        (0.0,) * len(rows),
        tuple(ct),
        () if math.isnan(cp[0]) else tuple(cp),
        str(rows[0].get("measured_on", PLACES[0])),
        *(float(rows[0].get(name, 0.0)) for name in SIGMA_KEYS),
    )


def _bench_values(name: str, row: Row, faults: list[Problem]) -> tuple[float, float, float | None, float]:
    """rpm, thrust [N], shaft power [W] or None, density [kg/m3] of a row."""
    for key in BENCH_KEYS:
        low, high = (-60.0, 60.0) if key == "temperature_C" else (1e-9, 1e6)
        if key in row and not is_within(row[key], low, high):
            allowed = (
                "must be within -60 to 60 deg C" if key == "temperature_C" else "must be a positive number"
            )
            faults.append(Problem(f"{name}.{key}", repr(row[key]), allowed))
    if "rpm" not in row:
        faults.append(Problem(f"{name}.rpm", "missing", "must be a positive number"))
    if row.get("measured_on", PLACES[0]) not in PLACES:
        faults.append(
            Problem(f"{name}.measured_on", repr(row["measured_on"]), f"must be one of {', '.join(PLACES)}")
        )
    if faults:
        return 0.0, 0.0, None, 0.0
    thrust = row["thrust_N"] if "thrust_N" in row else row["thrust_g"] * G_FORCE
    if "density" in row:
        density = row["density"]
    else:
        density = 100.0 * row["pressure_hPa"] / (R_AIR * (row["temperature_C"] + CELSIUS))
    if not 0.3 <= density <= 1.7:
        faults.append(Problem(name, f"air of {density:.3g} kg/m3", "must be within 0.3 to 1.7 kg/m3"))
    return float(row["rpm"]), float(thrust), _torque_of(row), float(density)


def _tunnel(rows: list[Row], diameter: float, faults: list[Problem]) -> MeasuredTable:
    """A table over the advance ratio."""
    _check_keys(rows, (*TUNNEL_KEYS, "measured_on"), faults)
    where = [_where(k, rows) for k in range(len(rows))]
    for name, row in zip(where, rows, strict=True):
        _check_choice(name, row, ("J", "axial"), faults)
        for key, low, high in (("rpm", 1.0, 1e6), ("CT", -0.5, 0.6), ("CP", -0.5, 1.0)):
            if not is_within(row.get(key), low, high):
                faults.append(
                    Problem(f"{name}.{key}", repr(row.get(key)), f"must be within {low:g} to {high:g}")
                )
        for key in ("J", "axial"):
            if key in row and not is_within(row[key], 0.0, 3.0):
                faults.append(Problem(f"{name}.{key}", repr(row[key]), "must be within 0 to 3"))
    if faults:
        return MeasuredTable((), (), (), (), "")
    axial = [float(row["J"] if "J" in row else row["axial"]) for row in rows]
    rpm, ct, cp = ([float(row[key]) for row in rows] for key in ("rpm", "CT", "CP"))
    faults.extend(tunnel_problems(rows, where, np.array(axial), np.array(ct), np.array(cp)))
    return MeasuredTable(tuple(rpm), tuple(axial), tuple(ct), tuple(cp), PLACES[0])


def _check_keys(rows: list[Row], known: Sequence[str], faults: list[Problem]) -> None:
    for name in sorted({str(key) for row in rows for key in row} - set(known)):
        faults.append(Problem(f"table.{name}", "unknown key", f"known: {', '.join(known)}"))


def _check_choice(name: str, row: Row, keys: tuple[str, str], faults: list[Problem]) -> None:
    """Exactly one of two keys must be there, with a value."""
    present = [key for key in keys if key in row]
    if not present:
        faults.append(Problem(f"{name}.{keys[0]}", "missing", f"give {keys[0]} or {keys[1]}"))
    elif len(present) == 2:
        faults.append(Problem(name, f"both {keys[0]} and {keys[1]}", "give one of them"))


def _torque_gap(rows: list[Row]) -> bool:
    return len({"torque_Nm" in row or "shaft_power_W" in row for row in rows}) > 1


def _torque_of(row: Row) -> float | None:
    """Shaft power [W] of a row, from its torque if that was given; None if neither was."""
    if "shaft_power_W" in row:
        return float(row["shaft_power_W"])
    return 2.0 * math.pi * row["rpm"] / 60.0 * float(row["torque_Nm"]) if "torque_Nm" in row else None


def _where(k: int, rows: list[Row]) -> str:
    return "table" if len(rows) == 1 else f"table row {k + 1}"


def _is_list(value: Any) -> bool:
    return isinstance(value, (list, tuple, np.ndarray))


def is_within(value: Any, low: float, high: float) -> bool:
    """Whether it is a number, no truth value, from low to high."""
    is_number = isinstance(value, (int, float, np.integer, np.floating)) and not isinstance(value, bool)
    return bool(is_number and low <= value <= high)
