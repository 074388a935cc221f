"""A thrust stand's table turned into the bench table of a craft file, and into the motor's numbers where it tells them."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.config.propeller_evidence import propeller_map
from quadsim.config.quantity import Uncertain
from quadsim.dynamics.measured_table import PLACES, read_table
from quadsim.errors import InputError, Problem
from quadsim.measure.columns import Bench, Column, groups
from quadsim.measure.least_squares import without_outliers
from quadsim.measure.motor import note_motor, runs_of
from quadsim.measure.result import PROPELLER_CAUTION, Notebook, Panel, Result, Setup
from quadsim.units import G_FORCE, INCH, RPM

Array = NDArray[np.float64]

COLUMNS = (
    Column("throttle_pct", "%", 0.0, 100.0, "command, share of the supply's voltage"),
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
SAG = 0.05
"""Fall of the supply's voltage from which it is said. Our choice."""
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
    thrust = bench.column("thrust_g") - _tare(note, bench)
    bare, running = _sorted_rows(note, bench, thrust)
    if bench.has("rpm"):
        running = _power_law(note, bench, setup, thrust, running)
    rows = _table_rows(bench, thrust, running)
    _judge_rows(note, bench, setup, rows)
    _write_table(note, bench, setup, rows)
    _compare(note, setup, rows)
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


def _tare(note: Notebook, bench: Bench) -> float:
    """What the scale showed at rest [g], the median of the rows with throttle or rpm 0."""
    thrust = bench.column("thrust_g")
    rest = ((bench.column("throttle_pct") == 0.0) | (bench.column("rpm") == 0.0)) & np.isfinite(thrust)
    if not rest.any():
        return 0.0
    tare, most = float(np.median(thrust[rest])), float(np.nanmax(thrust))
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


def _judge_rows(note: Notebook, bench: Bench, setup: Setup, rows: list[dict[str, float]]) -> None:
    """Refuse rows that cannot be, by the rotor map's own checks and by the power the supply gave; warn of what is weak."""
    problems: list[Problem] = []
    diameter = None if setup.craft is None else float(setup.craft.propeller.diameter_in) * INCH
    if len(rows) == 2:
        problems.append(
            Problem("", "has two speeds", "needs one, or three and more", "Measure more throttles")
        )
    if diameter is not None and all("rpm" in row for row in rows) and len(rows) != 2:
        table = [
            {name: row[name] for name in ("rpm", "thrust_g", "torque_Nm") if name in row} for row in rows
        ]
        air = {"temperature_C": setup.site.temperature_C, "pressure_hPa": setup.site.pressure_hPa}
        read_table([one | air | {"measured_on": setup.measured_on} for one in table], diameter, problems)
    for row in rows:
        problems += _power_problems(row, setup, diameter)
    if problems:
        raise InputError(problems, bench.source)
    if 2 < len(rows) < 5:
        note.warnings.append(f"{len(rows)} speeds: five and more, up to full throttle, tell the trend")
    if len(rows) == 1:
        note.warnings.append("One speed: a point, not a table; three and more speeds tell the trend")
    volts = bench.column("voltage_V")
    if bench.has("voltage_V") and np.nanmin(volts) < (1.0 - SAG) * np.nanmax(volts):
        note.warnings.append(
            f"The supply sagged from {np.nanmax(volts):.2f} to {np.nanmin(volts):.2f} V; each row keeps its own voltage"
        )
    if not setup.air_stated:
        note.warnings.append(
            "The air was not stated, standard air was taken: 10 deg C or 35 hPa off make 3.5 % of thrust "
            "(--temperature-C, --pressure-hPa or --elevation-m)"
        )
    if diameter is None:
        note.warnings.append(
            "Without the propeller's diameter nothing says whether these thrusts can be: name the craft (--craft)"
        )
    if not bench.has("torque_Nm"):
        note.rests.append("Without torque the rotor's power follows from the motor's current, 8 % uncertain")


def _power_problems(row: dict[str, float], setup: Setup, diameter: float | None) -> list[Problem]:
    """What a row asks of physics: shaft power under electrical power, ideal power of its thrust under it."""
    where = f"at {row['rpm']:.0f} rpm" if "rpm" in row else f"at {row.get('throttle_pct', 0.0):g} % throttle"
    given = row.get("current_A", math.nan) * row.get("voltage_V", math.nan)
    if setup.current_at == "motor":
        given *= row.get("throttle_pct", math.nan) / 100.0
    found = []
    shaft = row.get("torque_Nm", math.nan) * row.get("rpm", math.nan) * RPM
    if shaft > given:
        found.append(
            Problem(where, f"torque and speed make {shaft:.1f} W of {given:.1f} W from the supply",
                    "the shaft's power must be less", "Check the torque's unit and arm, and the current's place (--current-at)")
        )  # fmt: skip
    if diameter is not None and not found:
        area = math.pi * diameter**2 / 4.0
        ideal = (row["thrust_g"] * G_FORCE) ** 1.5 / math.sqrt(2.0 * setup.site.density * area)
        if ideal > given:
            found.append(
                Problem(where, f"that thrust takes {ideal:.1f} W even of an ideal rotor, and the supply gave {given:.1f} W",
                        "must be less", "Check the thrust's unit and the scale's lever, and the current")
            )  # fmt: skip
    return found


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


def _compare(note: Notebook, setup: Setup, rows: list[dict[str, float]]) -> None:
    """Thrust and figure of merit of the first, middle and last speed, beside what the craft's map says."""
    shown = sorted({0, len(rows) // 2, len(rows) - 1})
    if setup.craft is None or any("rpm" not in row for row in rows):
        for k in shown:
            at = f"{rows[k]['rpm']:.0f} rpm" if "rpm" in rows[k] else f"{rows[k]['throttle_pct']:g} %"
            note.add(f"thrust at {at}", rows[k]["thrust_g"], setup.scale_g, "g")
        return
    rotor = propeller_map(setup.craft)
    loss = setup.craft.propeller.installed_loss_pct / 100.0
    share = 1.0 - loss if setup.measured_on == PLACES[1] and rotor.measured_on == PLACES[0] else 1.0
    density, speeds, lines = setup.site.density, [row["rpm"] for row in rows], []
    for rpm in speeds:
        n = rpm / 60.0
        ct, cp = (float(v) for v in rotor.coefficients(rpm)[:2])
        thrust = share * ct * density * n**2 * rotor.diameter**4 / G_FORCE
        lines.append((thrust, cp * density * n**2 * rotor.diameter**5 / (2.0 * math.pi)))
    for k in shown:
        name = f"thrust at {speeds[k]:.0f} rpm"
        note.before[name] = Uncertain(lines[k][0], lines[k][0] * rotor.ct_sigma)
        note.add(name, rows[k]["thrust_g"], math.hypot(setup.scale_g, 0.01 * rows[k]["thrust_g"]), "g")
        if "torque_Nm" in rows[k]:
            name = f"torque at {speeds[k]:.0f} rpm"
            note.before[name] = Uncertain(1e3 * lines[k][1], 1e3 * lines[k][1] * rotor.cp_sigma)
            note.add(name, 1e3 * rows[k]["torque_Nm"], 20.0 * rows[k]["torque_Nm"], "mN m")
    if "torque_Nm" in rows[-1]:
        _merit(note, rows[-1], density, rotor.diameter)
    note.rests.append("Thrust 1 % and torque 2 % beside the scale's reading, assumed")


def _merit(note: Notebook, row: dict[str, float], density: float, diameter: float) -> None:
    area = math.pi * diameter**2 / 4.0
    ideal = (row["thrust_g"] * G_FORCE) ** 1.5 / math.sqrt(2.0 * density * area)
    merit = ideal / (row["torque_Nm"] * row["rpm"] * RPM)
    note.add(f"figure of merit at {row['rpm']:.0f} rpm", merit, 0.025 * merit, "-")
