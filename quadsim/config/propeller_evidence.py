"""The rotor map of a craft's propeller from what its file knows: size, chord, the builder's bench.

A bench without a speed sensor: the motor tells. u V = i R + kt omega gives the speed, kt (i - i0) the torque, loosely,
as i0, R and kt are those of a data sheet (M. Drela, First-Order DC Electric Motor Model, MIT, 2007). With a speed sensor and
the ESC's input current and voltage the same motor tells the torque by its power, whatever the throttle.
"""

from __future__ import annotations

import math
from typing import Any

from quadsim.config.bench_schema import Bench, BenchRow
from quadsim.config.craft_schema import Craft
from quadsim.config.resolve_drive import COPPER_PER_K, NOMINAL_CELL, no_load
from quadsim.dynamics.rotor_map import RotorMap, rotor_map
from quadsim.errors import InputError, Problem
from quadsim.units import INCH, MILLI, MM, RPM, torque_constant

BENCH_WINDING_C = 50.0
"""Winding temperature on a bench [deg C]; assumed, between the room and long flight."""
TORQUE_FROM_CURRENT = 0.08
"""Relative standard deviation of a torque that follows from the current; assumed: no-load current, Kv, the meter."""
SPEED_FROM_VOLTAGE = 0.03
"""The same of a speed that follows from throttle, voltage and current; assumed: Kv 2 %, resistance, the voltage."""


def propeller_map(craft: Craft) -> RotorMap:
    """The rotor map of the craft's propeller. Its `measured_on` says whether the installed loss is in it.

    Raises
    ------
    InputError
        that shows the rows of the bench table that cannot be.
    """
    propeller = craft.propeller
    radius = propeller.diameter_in * INCH / 2.0
    chord = propeller.chord_75_mm
    try:
        return rotor_map(
            float(propeller.diameter_in),
            float(propeller.pitch_in),
            propeller.blades,
            geometry=None if chord is None else {"chord_75": chord * MM / radius},
            table=None if propeller.bench is None else bench_table(craft, propeller.bench),
            flap_ratio=float(propeller.flap_ratio),
        )
    except InputError as error:
        raise InputError(
            [_in_file(problem) for problem in error.problems], str(craft.path or craft.name)
        ) from None


def bench_table(craft: Craft, bench: Bench) -> dict[str, Any]:
    """The bench as the table that `rotor_map` reads; speeds and torques that lack follow from the motor."""
    lines: list[dict[str, float]] = []
    problems = []
    for k, row in enumerate(bench.rows):
        current = _motor_current(row, bench)
        rpm = row.rpm if row.rpm is not None else _speed(craft, bench, row, current)
        line = {"rpm": rpm, "thrust_g": float(row.thrust_g)}
        torque = row.torque_Nm if row.torque_Nm is not None else _torque(craft, bench, row, current, rpm)
        if torque is not None:
            line["torque_Nm"] = torque
        if rpm <= 0.0 or (torque is not None and torque <= 0.0):
            given = f"row {k + 1} (throttle {row.throttle_pct} %, {row.current_A} A) gives {rpm:.0f} rpm, {torque} N m"
            remedy = "Check voltage, current and where it was measured, and the motor's Kv, resistance and no-load current"
            problems.append(Problem(f"propeller.bench.rows#{k + 1}", given, "both must be above 0", remedy))
        lines.append(line)
    if problems:
        raise InputError(problems, str(craft.path or craft.name))
    if not all("torque_Nm" in line for line in lines):
        lines = [{name: line[name] for name in ("rpm", "thrust_g")} for line in lines]
    return {
        "rows": lines,
        "temperature_C": float(bench.temperature_C),
        "pressure_hPa": float(bench.pressure_hPa),
        "measured_on": bench.measured_on,
        "torque_sigma": 0.0 if all(row.torque_Nm is not None for row in bench.rows) else TORQUE_FROM_CURRENT,
        "speed_sigma": 0.0 if all(row.rpm is not None for row in bench.rows) else SPEED_FROM_VOLTAGE,
    }


def _motor_current(row: BenchRow, bench: Bench) -> float | None:
    """Current through the motor [A]; at part throttle it is the ESC's input current over the duty."""
    if row.current_A is None or bench.current_measured_at == "motor":
        return row.current_A
    return None if row.throttle_pct is None else 100.0 * row.current_A / row.throttle_pct


def _speed(craft: Craft, bench: Bench, row: BenchRow, current: float | None) -> float:
    """Speed [rpm] from u V = i R + kt omega; the schema has seen to it that all is there."""
    volts = _volts(row, bench)
    assert row.throttle_pct is not None and volts is not None and current is not None
    left = row.throttle_pct / 100.0 * volts - _resistance(craft) * current
    return float(left / torque_constant(craft.motor.kv_rpm_per_V) / RPM)


def _torque(craft: Craft, bench: Bench, row: BenchRow, current: float | None, rpm: float) -> float | None:
    """Torque [N m]: by the power into the ESC where speed, current and voltage were measured, else from the motor's
    current; None without a current."""
    volts = _volts(row, bench)
    if (
        row.rpm is not None
        and row.current_A is not None
        and volts
        and bench.current_measured_at == "esc input"
    ):
        return _torque_by_power(craft, volts * row.current_A, rpm)
    if current is None:
        return None
    return float(torque_constant(craft.motor.kv_rpm_per_V) * current - _lost_torque(craft, rpm))


def _torque_by_power(craft: Craft, power: float, rpm: float) -> float:
    """Torque [N m] of a motor that takes this power [W] through an ESC without losses of its own but its resistance.

    P = M omega + R (M/kt)^2 with M the torque and what friction and iron take; M is the positive root.
    """
    omega = rpm * RPM
    copper = _resistance(craft) / torque_constant(craft.motor.kv_rpm_per_V) ** 2
    made = 2.0 * power / (omega + math.sqrt(omega**2 + 4.0 * copper * power))
    return float(made - _lost_torque(craft, rpm))


def _lost_torque(craft: Craft, rpm: float) -> float:
    """kt i0, what friction and iron take [N m], i0 growing with speed as the craft's motor has it."""
    idle, growth = no_load(craft.motor, NOMINAL_CELL * craft.battery.cells)
    return float(torque_constant(craft.motor.kv_rpm_per_V) * (idle + growth * rpm * RPM))


def _resistance(craft: Craft) -> float:
    """Of motor and ESC on a bench [ohm]."""
    warm = 1.0 + COPPER_PER_K * (BENCH_WINDING_C - 20.0)
    return float((craft.motor.resistance_mohm * warm + craft.esc.resistance_mohm) * MILLI)


def _volts(row: BenchRow, bench: Bench) -> float | None:
    """Voltage at the ESC's input in a row [V], if known."""
    volts = row.voltage_V if row.voltage_V is not None else bench.voltage_V
    return None if volts is None else float(volts)


def _in_file(problem: Problem) -> Problem:
    """The problem with its place in the craft file."""
    place = {"geometry.chord_75": "propeller.chord_75_mm", "diameter_in": "propeller.diameter_in"}
    place |= {name: f"propeller.{name}" for name in ("pitch_in", "blades", "flap_ratio")}
    where = place.get(problem.where, f"propeller.bench: {problem.where}")
    return Problem(where, problem.given, problem.allowed, problem.remedy)
