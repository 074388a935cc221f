"""The pack's resistance and capacity from voltage under current.

Output error (R. E. Maine & K. W. Iliff, NASA RP-1138, 1985; from memory): the model's pack, led along the log's current, must
show the log's voltage; unknown are a factor on the cells' resistance (with that of the slow drop), the charge at the start, a
factor on the capacity and the scale of the voltage sensor.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from quadsim.config.equilibrium import open_circuit_cell
from quadsim.logs.along import Model, discharge
from quadsim.logs.estimate import Estimate, Key, Untold, combined
from quadsim.logs.flight_log import Array, FlightLog, Mask
from quadsim.logs.regression import gauss_newton

RESISTANCE_SIGMA = 0.2
"""Relative standard uncertainty of a cell's resistance that states none; assumed."""
CAPACITY_SIGMA = 0.05
"""The same of the capacity on a label; assumed."""
CHARGE_SIGMA = 0.3
"""What is known of the charge at the start beyond its voltage [-]: next to nothing."""
LEAST_SWING = 0.3
"""Change of the current over its mean below which the log says nothing of a resistance; our choice."""
LEAST_USED = 0.4
"""Share of the charge that a flight must use for its capacity to be told; our choice."""
MOST = 3.0
"""Of ln(log/model), a factor of 20: what is known of a resistance beforehand; a fit that comes near has run away; our choice."""
CURVE_SIGMA = 0.02
"""Relative standard uncertainty of a capacity from the curve of voltage over charge; assumed."""
CAPACITY_FLIGHT = "fly one pack from full to the cut-off, or charge it with a counter"
LOAD = "a climb at full throttle for 3 s out of a hover, or land and let the pack rest with the log running"


def fit_pack(model: Model, log: FlightLog, rows: Mask) -> tuple[list[Estimate], list[Untold]]:
    """Resistance and capacity.

    log : the whole of it, rows some 0.1 s apart, since charge drawn in any row counts later
    rows : whose voltages are fitted
    """
    name, words = "pack_resistance", "resistance of the pack"
    absent = [key for key in ("voltage", "current") if key not in log]
    if absent:
        why = f"the log has no {' and no '.join(absent)}"
        return [], [Untold(name, words, why, "log voltage_V and current_A at the pack")]
    t, current, volts = log.t_s, log["current"], log["voltage"]
    drawn = current[rows]
    swing = float(np.ptp(np.quantile(drawn, (0.01, 0.99)))) / max(float(np.mean(np.abs(drawn))), 1e-9)
    if swing < LEAST_SWING:
        return [], [
            Untold(name, words, f"the current changed by {100.0 * swing:.0f} % of its mean only", LOAD)
        ]
    own = model.craft.battery

    def left(theta: Array) -> Array:
        plant = model.plant.copy()
        factor = math.exp(float(np.clip(theta[0], -MOST, MOST)))
        plant.pack_resistance *= factor
        plant.relaxation_resistance *= factor
        plant.relaxation_capacitance /= factor
        plant.capacity *= math.exp(float(np.clip(theta[2], -MOST, MOST)))
        said = math.exp(float(theta[3])) * _discharged(model, t, current, plant, float(theta[1]))
        return np.asarray((volts - said)[rows])

    capacity_sigma = own.capacity_mAh.sigma / own.capacity_mAh or CAPACITY_SIGMA
    meter = model.craft.flight_controller.power_sensor
    prior = np.array([MOST, CHARGE_SIGMA, capacity_sigma, max(meter.voltage_scale_pct / 100.0, 1e-4)])
    start = np.array([0.0, charge_guess(model, t, current, volts), 0.0, 0.0])
    fit = gauss_newton(left, np.array([0.02, 0.005, 0.02, 0.001]), prior, start)
    if not abs(float(fit.theta[0])) < 0.9 * MOST:
        why = "no pack of this kind has this voltage under this current: another pack, several in one log, or a unit?"
        return [], [Untold(name, words, why, LOAD)]
    sensor = meter.current_scale_pct / 100.0
    told = [_resistance(model, float(fit.theta[0]), float(fit.sigma[0]), sensor)]
    used = float(np.sum(0.5 * (current[1:] + current[:-1]) * np.diff(t))) / float(model.plant.capacity)
    if used >= LEAST_USED:
        return [*told, _capacity(model, float(fit.theta[2]), float(fit.sigma[2]), sensor, capacity_sigma)], []
    why = f"it used {100.0 * used:.0f} % of the charge, and the curve of voltage over charge is not known well enough for that"
    return told, [Untold("capacity", "capacity of the pack", why, CAPACITY_FLIGHT)]


def _discharged(model: Model, t: Array, current: Array, plant: Any, charge: float) -> Array:
    """Voltage under the current; beyond full the curve's end goes on straight, so that a fit may step over it."""
    inside = min(max(charge, 0.03), 1.0)
    volts = discharge(model, t, current, plant, inside)
    full = float(plant.full_cell_voltage)
    slope = (open_circuit_cell(inside, full) - open_circuit_cell(inside - 0.01, full)) / 0.01
    return np.asarray(volts + float(plant.cells) * slope * (charge - inside))


def _resistance(model: Model, log_factor: float, scatter: float, sensor: float) -> Estimate:
    own = model.craft.battery
    cells, leads = float(model.plant.pack_resistance), float(model.plant.lead_resistance)
    factor = math.exp(log_factor)
    whole, was = 1e3 * (factor * cells + leads), 1e3 * (cells + leads)
    parts = {"scatter": 1e3 * cells * factor * scatter, "current sensor": sensor * whole}
    stated = own.cell_resistance_mohm.sigma / own.cell_resistance_mohm or RESISTANCE_SIGMA
    expected = math.hypot(1e3 * cells * stated, own.lead_resistance_mohm.sigma)
    sigma = combined(parts)
    cell = factor * float(own.cell_resistance_mohm)
    key = Key("battery.cell_resistance_mohm", cell, cell * sigma / (1e3 * factor * cells))
    caution = (
        "cells and leads together; at the temperature and age of that day, brought to 20 deg C by the model"
    )
    return Estimate(
        "pack_resistance", "resistance of the pack", whole, sigma, was, expected, "mohm", parts, key, caution
    )


def _capacity(model: Model, log_factor: float, scatter: float, sensor: float, known: float) -> Estimate:
    label = float(model.craft.battery.capacity_mAh)
    value = label * math.exp(log_factor)
    parts = {
        "scatter": value * scatter,
        "current sensor": value * sensor,
        "curve of voltage": value * CURVE_SIGMA,
    }
    key = Key("battery.capacity_mAh", value, combined(parts))
    caution = "from the shape of the voltage over charge; a counter on the charger is surer"
    return Estimate(
        "capacity",
        "capacity of the pack",
        value,
        combined(parts),
        label,
        label * known,
        "mAh",
        parts,
        key,
        caution,
    )


def charge_guess(model: Model, t: Array, current: Array, volts: Array) -> float:
    """The charge whose voltage at the first rows fits best, by trying, coarsely and then finely."""
    n = max(3, min(len(t), int(np.searchsorted(t, 5.0))))

    def best(tries: Array) -> float:
        said = [
            np.mean(volts[:n] - discharge(model, t[:n], current[:n], model.plant, one))
            for one in tries.tolist()
        ]
        return float(tries[int(np.argmin(np.abs(said)))])

    about = best(np.linspace(0.1, 1.0, 19))
    return best(np.clip(about + 0.005 * np.arange(-5, 6), 0.05, 1.0))
