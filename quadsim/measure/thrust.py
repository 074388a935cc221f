"""A thrust stand's table turned into the bench table of a craft file, and into the motor's numbers where it tells them."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.errors import InputError, Problem
from quadsim.measure.columns import Bench, Column, groups
from quadsim.measure.least_squares import without_outliers
from quadsim.measure.motor import note_motor, runs_of
from quadsim.measure.result import PROPELLER_CAUTION, Notebook, Panel, Result, Setup
from quadsim.measure.thrust_checks import compare, judge_rows
from quadsim.units import G_FORCE

Array = NDArray[np.float64]

COLUMNS = (
    Column("throttle_pct", "%", 0.0, 100.0, "command, share of the supply's voltage"),
    Column("time_s", "s", -1e9, 1e9, "of a log; rows within a second of a change of throttle are left out",
           also=(("time_ms", 1e-3),)),
    Column("rpm", "rpm", 0.0, 200000.0, "measured speed", also=(("speed_rpm", 1.0), ("rev_per_s", 60.0))),
    Column("thrust_g", "g", -2000.0, 50000.0, "thrust of the one propeller; empty: no propeller on",
           also=(("thrust_N", 1.0 / G_FORCE), ("thrust_kg", 1000.0))),
    Column("current_A", "A", -5.0, 500.0, "current, where --current-at says", also=(("current_mA", 1e-3),)),
    Column("voltage_V", "V", 0.0, 100.0, "at the ESC's input in this row"),
    Column("torque_Nm", "N m", -0.5, 100.0, "measured torque",
           also=(("torque_mNm", 1e-3), ("torque_Nmm", 1e-3), ("torque_Ncm", 1e-2))),
)  # fmt: skip
MOTOR_COLUMNS = tuple(column for column in COLUMNS if column.name != "thrust_g")

ONE_SPEED = 0.02
"""Rows whose speeds lie within this share become one row, their mean. Our choice."""
ONE_THROTTLE = 0.75
"""The same in percent of throttle where no speed was measured. Our choice."""
DEPARTURE = 0.03
"""Departure from the power law up to which a row is never an outlier [-]: CT's trend with the Reynolds number bends it. Ours."""
POWERS = (1.8, 2.25)
"""Powers of the speed with which thrust may grow; 2 for a constant CT, a little more where CT rises with the Reynolds
number (AIAA 2014-2151). Our choice."""
SETTLES_S = 1.0
"""Time after a change of throttle until a row of a log counts [s]; some ten time constants of a rotor. Our choice."""
TARE_SHARE = 0.01
"""Drift of the scale's zero over the greatest thrust from which it is said. Our choice."""
MOST_ROWS = 40
"""Of the craft file's table; more rows are joined more widely. Our choice."""


def measure_thrust(bench: Bench, setup: Setup) -> Result:
    """Work out a thrust stand's table.

    Raises
    ------
    InputError
        when too little was measured, or when the rows cannot be, shown with what makes them impossible.
    """
    note = Notebook("thrust", bench)
    if not bench.has("thrust_g"):
        raise InputError(
            [Problem("column thrust_g", "is missing", "needs thrust", "Without a propeller: quadsim measure motor")],
            bench.source,
        )  # fmt: skip
    if not bench.has("rpm") and not (bench.has("throttle_pct") and bench.has("current_A")):
        allowed = "needs rpm, or throttle_pct with current_A (and voltage_V)"
        raise InputError(
            [Problem("", "has no speed", allowed, "Measure the speed; it is the better")], bench.source
        )
    _leave_settling(note, bench)
    thrust = bench.column("thrust_g") - _tare(note, bench)
    if float(np.nanmedian(thrust)) < 0.0:
        thrust = -thrust
        note.rests.append("The scale is pulled: its readings were turned round")
    bare, running = _sorted_rows(note, bench, thrust)
    if bench.has("rpm"):
        running = _power_law(note, bench, setup, thrust, running)
    rows = _table_rows(bench, thrust, running)
    judge_rows(note, bench, setup, rows)
    _write_table(note, bench, setup, rows)
    compare(note, setup, rows)
    note_motor(note, bench, setup, runs_of(bench, setup, bare, running | bare))
    return note.result(setup.craft, (PROPELLER_CAUTION,))


def measure_motor(bench: Bench, setup: Setup) -> Result:
    """Work out runs of a motor without a propeller.

    Raises
    ------
    InputError
        when the table lacks what a motor's circuit needs.
    """
    note = Notebook("motor", bench)
    lacking = [name for name in ("throttle_pct", "rpm", "current_A", "voltage_V") if not bench.has(name)]
    if lacking:
        raise InputError([Problem(f"column {name}", "is missing", "needs all four: throttle_pct (100 at full), rpm, "
                                  "current_A, voltage_V") for name in lacking], bench.source)  # fmt: skip
    everything = np.ones(len(bench), dtype=bool)
    runs = runs_of(bench, setup, everything, everything)
    for k in set(range(len(bench))) - set(runs.index.tolist()):
        note.leave_out(k, "at rest, or a number is missing")
    if runs.index.size == 0:
        raise InputError(
            [Problem("", "has no row with the motor running", "needs one and more")], bench.source
        )
    note_motor(note, bench, setup, runs)
    return note.result(setup.craft, (PROPELLER_CAUTION,))


def _leave_settling(note: Notebook, bench: Bench) -> None:
    """Leave out the rows of a log in which the speed still settles after a change of throttle."""
    if not (bench.has("time_s") and bench.has("throttle_pct")):
        return
    time, throttle = bench.column("time_s"), bench.column("throttle_pct")
    changed = time[0] - SETTLES_S
    for k in range(1, len(bench)):
        if abs(throttle[k] - throttle[k - 1]) > 0.5:
            changed = time[k]
        if time[k] - changed < SETTLES_S:
            note.leave_out(k, "settling after a change of throttle")


def _tare(note: Notebook, bench: Bench) -> float:
    """What the scale showed at rest [g], the median of the rows with throttle or rpm 0."""
    thrust = bench.column("thrust_g")
    rest = ((bench.column("throttle_pct") == 0.0) | (bench.column("rpm") == 0.0)) & np.isfinite(thrust)
    rest &= np.array([k not in note.left for k in range(len(bench))])
    if not rest.any():
        return 0.0
    tare, most = float(np.median(thrust[rest])), float(np.nanmax(np.abs(thrust)))
    for k in np.flatnonzero(rest):
        note.leave_out(int(k), "at rest: gives the scale's zero")
    note.rests.append(f"Scale's zero {tare:+.1f} g from {np.count_nonzero(rest)} rows at rest, taken off")
    drift = float(np.ptp(thrust[rest]))
    if drift > TARE_SHARE * most:
        note.warnings.append(
            f"The scale's zero moved by {drift:.1f} g: it slips, or something touches; tare again"
        )
    return tare


def _sorted_rows(note: Notebook, bench: Bench, thrust: Array) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Which rows ran without a propeller, and which with one; the others are left out with a reason."""
    left = np.array([k in note.left for k in range(len(bench))])
    rpm, has_rpm = bench.column("rpm"), bench.has("rpm")
    bare = ~left & ~np.isfinite(bench.column("thrust_g"))
    running = ~left & ~bare
    for k in np.flatnonzero(running):
        if thrust[k] <= 0.0:
            note.leave_out(int(k), "no thrust")
        elif has_rpm and not np.isfinite(rpm[k]):
            note.leave_out(int(k), "no speed, where other rows have one")
        else:
            continue
        running[k] = False
    if not running.any():
        raise InputError(
            [Problem("", "has no row with thrust and speed", "needs one, or three and more")], bench.source
        )
    return bare, running


def _power_law(
    note: Notebook, bench: Bench, setup: Setup, thrust: Array, running: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """Mark rows off T = c n^p, note p, and draw it."""
    k = np.flatnonzero(running)
    if k.size < 3:
        return running
    x, y = np.log(bench.column("rpm")[k]), np.log(thrust[k])
    if float(np.ptp(x)) < 0.05:
        return running
    middle = float(np.mean(x))
    fit = without_outliers(np.column_stack([np.ones(k.size), x - middle]), y, least=DEPARTURE)
    kept = running.copy()
    for j in np.flatnonzero(~fit.kept):
        note.leave_out(
            int(k[j]), f"thrust {100.0 * math.expm1(fit.residuals[j]):+.0f} % off the other rows' law"
        )
        kept[k[j]] = False
    power, sigma = float(fit.values[1]), float(fit.sigmas[1])
    note.add("power of the speed with which thrust grows", power, sigma if fit.freedom else 0.0, "-")
    if not POWERS[0] <= power <= POWERS[1]:
        note.warnings.append(
            f"Thrust grows with the {power:.2f}th power of the speed, where a propeller has about 2: check the speed "
            "(blades or poles counted wrongly?), the scale, and what touches"
        )
    speeds = np.linspace(float(np.exp(x.min())), float(np.exp(x.max())), 80)
    note.panels.append(
        Panel(
            "Thrust", "speed, rpm", "g", np.exp(x), thrust[k], fit.kept, speeds,
            np.exp(fit.values[0] + power * (np.log(speeds) - middle)), np.expm1(fit.residuals) * 100.0, "%",
        )
    )  # fmt: skip
    note.rests.append(f"Thrust scatters by {100.0 * fit.sigma:.1f} % about its power law")
    return kept


def _table_rows(bench: Bench, thrust: Array, running: NDArray[np.bool_]) -> list[dict[str, float]]:
    """Rows of the craft file's table: neighbours in speed (or throttle) become their mean."""
    k = np.flatnonzero(running)
    by_speed = bench.has("rpm")
    values = bench.column("rpm")[k] if by_speed else bench.column("throttle_pct")[k]
    wide = ONE_SPEED * values if by_speed else np.full(k.size, ONE_THROTTLE)
    while len(list(groups(values, wide))) > MOST_ROWS:
        wide = 1.3 * wide
    names = ("throttle_pct", "rpm", "current_A", "voltage_V", "torque_Nm")
    columns = {name: bench.column(name) for name in names} | {"thrust_g": thrust}
    rows = []
    for group in groups(values, wide):
        row = {}
        for name in ("throttle_pct", "rpm", "thrust_g", "current_A", "voltage_V", "torque_Nm"):
            known = columns[name][k[group]]
            known = known[np.isfinite(known) & (known > 0.0)]
            if known.size:
                row[name] = float(np.mean(known))
        rows.append(row)
    if not all("torque_Nm" in row for row in rows):
        for row in rows:
            row.pop("torque_Nm", None)
    return rows


def _write_table(note: Notebook, bench: Bench, setup: Setup, rows: list[dict[str, float]]) -> None:
    """The section of the craft file."""
    volts = bench.has("voltage_V")
    section: dict[str, Any] = {
        "measured_on": setup.measured_on,
        "temperature_C": round(setup.site.temperature_C, 1),
        "pressure_hPa": round(setup.site.pressure_hPa, 1),
        "supply_held": False,
        "current_measured_at": setup.current_at,
        "rows": [{name: float(f"{value:.4g}") for name, value in row.items()} for row in rows],
    }
    note.entries["propeller.bench"] = section
    if not volts and not bench.has("rpm"):
        raise InputError(
            [Problem("column voltage_V", "is missing", "rows without rpm need the voltage of their moment")], bench.source
        )  # fmt: skip
    for name in ("thrust_scale", "torque_scale"):
        if setup.craft is not None and float(getattr(setup.craft.propeller, name)) != 1.0:
            note.entries[f"propeller.{name}"] = 1.0
            note.rests.append(f"propeller.{name} becomes 1: the new table holds what it stood for")
    note.rests.append(
        f"Air {setup.site.temperature_C:g} deg C, {setup.site.pressure_hPa:.1f} hPa, {setup.site.density:.3f} kg/m3; "
        f"{setup.measured_on}; {len(rows)} speeds after rows within {100.0 * ONE_SPEED:g} % became one"
    )
