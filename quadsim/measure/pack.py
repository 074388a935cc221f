"""A pack's resistance, slow voltage drop and capacity as keys of a craft file; the circuit is fitted in `pack_fit`."""

from __future__ import annotations

import contextlib
import math

import numpy as np
from numpy.typing import NDArray

from quadsim.config.quantity import Uncertain
from quadsim.dynamics.battery import ROOM, cell_voltage
from quadsim.errors import InputError, Problem
from quadsim.measure.columns import Bench, Column
from quadsim.measure.least_squares import UndeterminedError
from quadsim.measure.pack_fit import PackFit, charge_drawn, fit_pack
from quadsim.measure.result import PACK_CAUTION, Notebook, Panel, Result, Setup
from quadsim.units import CELSIUS, MAH

Array = NDArray[np.float64]

COLUMNS = (
    Column("time_s", "s", 0.0, 1e6, "rising", required=True, also=(("time_ms", 1e-3), ("time_min", 60.0))),
    Column("voltage_V", "V", 0.5, 100.0, "at the pack's plug", required=True, also=(("voltage_mV", 1e-3),)),
    Column("current_A", "A", -1000.0, 1000.0, "drawn; turned round where the greatest is negative", required=True,
           also=(("current_mA", 1e-3),)),
)  # fmt: skip

FEWEST = 8
"""Rows of a record. Our choice."""
LOWEST_CHARGE = 0.2
"""Charge below which a cell's resistance rises and its voltage falls off (Chen & Rincon-Mora 2006); not fitted."""
FEW_STEP = 0.1
"""Change of current over the greatest that counts as a step. Our choice."""
SLOW_SAMPLES_S = 3.0
"""Time between samples from which it is said [s]. Our choice."""
COLD_K = Uncertain(2000.0, 500.0)
COLD_CAPACITY = 0.006
"""B of the resistance and the share of capacity per kelvin of cold without a craft file; its defaults, assumed."""
DEEP = 0.6
"""Share of the charge that must be drawn before the capacity is told. Our choice."""


def measure_pack(bench: Bench, setup: Setup) -> Result:
    """Work out a pack's record.

    Raises
    ------
    InputError
        when the record is too short, its times do not rise, or it is not known how many cells there are.
    """
    note = Notebook("pack", bench)
    time, voltage, current = _record(note, bench)
    cells = _cells(bench, setup, voltage)
    full = 4.2 if setup.craft is None else float(setup.craft.battery.full_cell_V)
    fit: PackFit | None = None
    with contextlib.suppress(UndeterminedError):
        fit, above = _fit_above_empty(note, time, voltage, current, cells * cell_voltage(LOWEST_CHARGE, full))
    steps = int(np.count_nonzero(np.abs(np.diff(current)) > FEW_STEP * float(np.max(current))))
    if fit is None or not 0.0 < fit.resistance_sigma < 0.3 * fit.resistance:
        note.warnings.append(
            "The resistance is not told: the current must step. Rest 10 s, load 10 s, rest, and so on, or two loads in turn"
        )
        fit = None
    else:
        _note_resistance(note, setup, cells, fit)
        note.rests.append(
            f"{steps} steps of current over {time[-1] - time[0]:.0f} s, sampled every {_every(time):.2g} s"
        )
        for k in np.flatnonzero(~fit.kept & above):
            note.leave_out(int(k), f"off the others by {1e3 * (voltage[k] - fit.voltage[k]):+.0f} mV")
        _draw(note, time, voltage, fit, above)
    _note_capacity(note, setup, cells, time, voltage, current, fit)
    _judge(note, cells, time, voltage, current)
    return note.result(setup.craft, (PACK_CAUTION,))


def _fit_above_empty(
    note: Notebook, time: Array, voltage: Array, current: Array, least_V: float
) -> tuple[PackFit, NDArray[np.bool_]]:
    """The circuit, once more without the samples whose open-circuit voltage lies below `least_V`."""
    fit = fit_pack(time, voltage, current)
    low = np.flatnonzero(fit.open_circuit < least_V)
    above = np.arange(time.size) < (low[0] if low.size else time.size)
    if low.size == 0 or np.count_nonzero(above) < max(FEWEST, 0.3 * time.size):
        return fit, np.ones(time.size, dtype=bool)
    note.rests.append(
        f"Resistances from the {np.count_nonzero(above)} samples above {100.0 * LOWEST_CHARGE:.0f} % charge"
    )
    return fit_pack(time, voltage, current, above), above


def _every(time: Array) -> float:
    return float(np.median(np.diff(time)))


def _record(note: Notebook, bench: Bench) -> tuple[Array, Array, Array]:
    time, voltage, current = (bench.column(name) for name in ("time_s", "voltage_V", "current_A"))
    if time.size < FEWEST:
        raise InputError([Problem("", f"has {time.size} rows", f"needs {FEWEST} and more")], bench.source)
    back = np.flatnonzero(np.diff(time) <= 0.0)
    if back.size:
        given = f"time_s does not rise at {bench.row(int(back[0]) + 1)}"
        raise InputError([Problem("", given, "must rise from row to row")], bench.source)
    if -float(np.min(current)) > float(
        np.max(current)
    ):  # not the median: a record of long rests has it near zero
        current = -current
        note.rests.append("Negative currents were taken as drawn from the pack")
    if float(np.max(current)) <= 0.0:
        raise InputError(
            [Problem("column current_A", "holds no load", "must be above 0 A somewhere")], bench.source
        )
    return time, voltage, current


def _cells(bench: Bench, setup: Setup, voltage: Array) -> int:
    """Cells in series; refused when the voltages cannot belong to so many."""
    cells = setup.cell_count
    likely = max(1, round(float(np.max(voltage)) / 4.0))
    if cells is None:
        given = f"unknown; {np.max(voltage):.2f} V would fit {likely} cell{'s' if likely > 1 else ''}"
        raise InputError([Problem("--cells", given, "cells in series, 1 to 16", "State --cells or --craft")])
    highest = float(np.max(voltage)) / cells
    if not 3.0 <= highest <= 4.5:
        given = f"is {cells}, and {np.max(voltage):.2f} V make {highest:.2f} V per cell"
        raise InputError(
            [Problem("--cells", given, "3.0 to 4.5 V per cell unloaded", f"{likely} cells?")], bench.source
        )
    return cells


def _note_resistance(note: Notebook, setup: Setup, cells: int, fit: PackFit) -> None:
    """Resistance of one cell at 20 deg C, and the slow pair."""
    battery = None if setup.craft is None else setup.craft.battery
    meter = math.sqrt(2.0) * setup.meter_pct / 100.0
    sigma = math.hypot(fit.resistance_sigma, meter * fit.resistance)
    note.add(
        "resistance of the pack with leads, as warm as it was", 1e3 * fit.resistance, 1e3 * sigma, "mohm"
    )
    leads = Uncertain(2.0, 1.0) if battery is None else battery.lead_resistance_mohm
    exponent = COLD_K if battery is None else battery.cold_resistance_K
    warm = setup.site.pack_temperature_C if setup.pack_stated else 20.0
    unsure = 2.0 if setup.pack_stated else 5.0
    kelvin = warm + CELSIUS
    factor = math.exp(exponent * (1.0 / kelvin - 1.0 / ROOM))
    own = 1e3 * fit.resistance - leads
    cell = own / cells / factor
    note.rests.append(
        f"{cells} cells, leads {float(leads):g} mohm, pack at {warm:g} deg C"
        + ("" if setup.pack_stated else " (assumed; --pack-temperature-C)")
        + f": factor {factor:.2f} to 20 deg C"
    )
    if cell <= 0.0:
        note.warnings.append(f"The leads alone ({float(leads):g} mohm) have more resistance than all of it")
        return
    spread = math.sqrt(
        (1e3 * sigma / own) ** 2 + (leads.sigma / own) ** 2 + (exponent * unsure / kelvin**2) ** 2
        + (exponent.sigma * (1.0 / kelvin - 1.0 / ROOM)) ** 2
    )  # fmt: skip
    note.add(
        "resistance of one cell at 20 deg C", cell, cell * spread, "mohm", "battery.cell_resistance_mohm"
    )
    if battery is not None and battery.resistance_growth_pct > 0.0:
        note.entries["battery.resistance_growth_pct"] = 0.0
        note.rests.append("battery.resistance_growth_pct becomes 0: the age is in what was measured")
    if fit.slow <= 0.0:
        note.rests.append("No slow drop stands out: hold a load for two minutes and more, then rest as long")
        return
    ratio = 1e3 * fit.slow / own
    part = math.sqrt(
        (fit.slow_sigma / fit.slow) ** 2 + (1e3 * fit.resistance_sigma / own) ** 2 + (leads.sigma / own) ** 2
        - 2e3 * fit.covariance / (fit.slow * own)
    )  # fmt: skip
    note.add("slow drop over that resistance", ratio, ratio * part, "-", "battery.relaxation_ratio")
    note.add("time constant of the slow drop", fit.tau, fit.tau_sigma, "s", "battery.relaxation_time_s")


def charge_of(cell_V: float, full_V: float) -> float:
    """State of charge 0..1 at an open-circuit voltage of a cell [V]: the published curve of `cell_voltage`, turned round."""
    low, high = 0.0, 1.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if cell_voltage(middle, full_V) > cell_V else (middle, high)
    return 0.5 * (low + high)


def charge_sigma(charge: float) -> float:
    """How uncertain a state of charge from a voltage is: 0.01 at the steep ends, 0.04 on the flat middle. Assumed."""
    return 0.01 if charge > 0.97 or charge < 0.05 else 0.02 if charge < 0.1 else 0.04


def _note_capacity(
    note: Notebook, setup: Setup, cells: int, time: Array, voltage: Array, current: Array, fit: PackFit | None
) -> None:
    """Capacity from the charge drawn between two states of charge."""
    drawn = float(charge_drawn(time, current)[-1]) / MAH
    note.add("charge drawn", drawn, setup.meter_pct / 100.0 * drawn, "mAh")
    full = 4.2 if setup.craft is None else float(setup.craft.battery.full_cell_V)
    unloaded = np.array([voltage[0], voltage[-1]])
    at_rest = current[[0, -1]] < 0.02 * float(np.max(current))
    if fit is not None:
        unloaded = fit.open_circuit[[0, -1]]
    elif not at_rest.all():
        note.rests.append(
            "The capacity needs the voltage at rest at both ends, or steps that tell the resistance"
        )
        return
    first, last = (charge_of(float(v) / cells, full) for v in unloaded)
    share = first - last
    if share < DEEP:
        note.rests.append(
            f"{100.0 * share:.0f} % of the charge was drawn by its open-circuit voltage; "
            f"the capacity needs {100.0 * DEEP:.0f} % and more"
        )
        return
    cold_share = COLD_CAPACITY if setup.craft is None else setup.craft.battery.cold_capacity_pct_K / 100.0
    warm = setup.site.pack_temperature_C if setup.pack_stated else 20.0
    cold = 1.0 - cold_share * max(20.0 - warm, 0.0)
    capacity = drawn / share / cold
    relative = math.hypot(
        setup.meter_pct / 100.0, math.hypot(charge_sigma(first), charge_sigma(last)) / share
    )
    note.add(
        "capacity of the full pack at 20 deg C", capacity, relative * capacity, "mAh", "battery.capacity_mAh"
    )
    note.rests.append(
        f"From {100.0 * first:.0f} to {100.0 * last:.0f} % charge by the published curve of a lithium-polymer cell"
    )
    if setup.craft is not None and setup.craft.battery.capacity_fade_pct > 0.0:
        note.entries["battery.capacity_fade_pct"] = 0.0
        note.rests.append("battery.capacity_fade_pct becomes 0: the age is in what was measured")


def _judge(note: Notebook, cells: int, time: Array, voltage: Array, current: Array) -> None:
    lowest = float(np.min(voltage)) / cells
    if lowest < 3.0:
        note.warnings.append(f"Down to {lowest:.2f} V per cell under load: that ages a pack; stop at 3.3 V")
    if _every(time) > SLOW_SAMPLES_S:
        note.warnings.append(
            f"Sampled every {_every(time):.1f} s: part of the slow drop counts as resistance; sample once a second or faster"
        )
    if current[0] > 0.02 * float(np.max(current)):
        note.warnings.append(
            "The record begins under load: rest a minute first, or the slow drop comes out too small"
        )


def _draw(note: Notebook, time: Array, voltage: Array, fit: PackFit, above: NDArray[np.bool_]) -> None:
    left = np.where(above, 1e3 * (voltage - fit.voltage), np.nan)
    fitted = np.where(above, fit.voltage, np.nan)  # the circuit was not fitted below, and says nothing there
    note.panels.append(
        Panel("Voltage", "time, s", "V", time, voltage, fit.kept | ~above, time, fitted, left, "mV")
    )
