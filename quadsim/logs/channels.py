"""Log and model side by side, channel by channel, each against what craft file and sensors leave open."""

from __future__ import annotations

import math

import numpy as np

from quadsim.analysis.evidence import map_sigmas
from quadsim.config.mass_properties import mass_properties
from quadsim.config.propeller_evidence import propeller_map
from quadsim.constants import G0
from quadsim.logs.agreement import Agreement, agreement
from quadsim.logs.along import Along, Model, discharge
from quadsim.logs.drag_fit import AREA_SIGMA, ROTOR_DRAG_SIGMA
from quadsim.logs.drive_fit import KV_SIGMA
from quadsim.logs.flight_log import Array, FlightLog, Mask
from quadsim.logs.holdout import blocks, mask_of
from quadsim.logs.pack_fit import RESISTANCE_SIGMA, charge_guess
from quadsim.logs.turning_fit import FEW, MISSED_SIGMA, WINDOW_S, moment_sigma, sides_of
from quadsim.units import DEG, RPM

COVERAGE = 2.0
"""Combined standard uncertainties that are allowed; common practice (JCGM 100:2008, 6.3.3)."""


def channels(
    model: Model, log: FlightLog, said: Along, rows: Mask, offsets: Array, level: Mask
) -> list[Agreement]:  # fmt: skip
    """Every channel that both have.

    offsets : of the accelerometer (3,) [m/s2], taken off the log
    level : rows over which the pack's voltages are made to agree on the mean: how full it was is not the model's
    """
    found = _forces(model, log, said, rows, offsets) if "accel" in log else []
    found += _turning(model, log, said, rows)
    found += _drive(model, log, said, rows) + _pack(model, log, rows, level)
    return found


def noise_of(values: Array) -> float:
    """Standard deviation of what changes from row to row without a trend, from second differences."""
    return float(np.std(values[2:] - 2.0 * values[1:-1] + values[:-2]) / math.sqrt(6.0))


def thrust_sigma(model: Model) -> float:
    """Relative standard uncertainty of thrust over mass that the craft file leaves open."""
    body = mass_properties(model.craft)
    return math.hypot(
        map_sigmas(model.craft, propeller_map(model.craft))[0], body.mass_sigma_kg / body.mass_kg
    )


def _forces(model: Model, log: FlightLog, said: Along, rows: Mask, offsets: Array) -> list[Agreement]:
    own = model.craft.flight_controller.accelerometer
    found = []
    for k, name in enumerate(("specific force ahead", "specific force right", "specific force down")):
        y = log["accel"][:, k] - offsets[k]
        sensor = float(own.bias_mg) * 1e-3 * G0
        if k == 2:
            parts = {"thrust": thrust_sigma(model) * float(np.mean(said.thrust[rows])), "sensor": sensor}
        else:
            size = float(np.sqrt(np.mean(said.specific[rows, k] ** 2)))
            parts = {
                "drag": math.hypot(AREA_SIGMA, ROTOR_DRAG_SIGMA) * size,
                "sensor": math.hypot(sensor, DEG * G0),
            }
        found.append(_one(name, "m/s2", log.t_s, y, said.specific[:, k], rows, parts))
    return found


def _turning(model: Model, log: FlightLog, said: Along, rows: Mask) -> list[Agreement]:
    """Angular acceleration over windows, from the gyro's changes, without what is slow."""
    found = []
    for k, axis in enumerate(("roll", "pitch", "yaw")):
        known = said.turning_known is not None and k < 2
        turning = said.turning_known[:, k] if known and said.turning_known is not None else said.turning[:, k]
        sides = sides_of(log, turning, log["gyro"][:, k], rows)
        if sides.at.size < 20:
            continue
        y, x, t = sides.gyro / WINDOW_S, sides.late(0.0) / WINDOW_S, log.t_s[sides.at]
        parts = {"moment and inertia": moment_sigma(model, axis) * float(np.std(x))}
        if log.rate_Hz <= FEW * model.command_Hz and not known:
            parts["commands between the rows"] = MISSED_SIGMA * float(np.std(x))
        every = np.ones(len(t), dtype=bool)
        found.append(_one(f"{axis} acceleration", "deg/s2", t, y, x, every, parts, 1.0 / DEG))
    return found


def _drive(model: Model, log: FlightLog, said: Along, rows: Mask) -> list[Agreement]:
    motor, board = model.craft.motor, model.craft.flight_controller
    found = []
    volts = float(board.power_sensor.voltage_scale_pct) / 100.0
    if "rotor_speed" in log:
        y, x = log["rotor_speed"].mean(axis=1), said.rotor_speed.mean(axis=1)
        relative = math.hypot(motor.kv_rpm_per_V.sigma / motor.kv_rpm_per_V or KV_SIGMA, volts)
        parts = {
            "motor": relative * float(np.mean(x[rows])),
            "steps": model.craft.esc.telemetry_resolution_rpm * RPM,
        }
        found.append(_one("rotor speed, mean", "rpm", log.t_s, y, x, rows, parts, 1.0 / RPM))
    if "current" in log:
        torque = map_sigmas(model.craft, propeller_map(model.craft))[1]
        relative = math.hypot(torque, float(board.power_sensor.current_scale_pct) / 100.0)
        parts = {
            "torque": relative * float(np.mean(said.current[rows])),
            "sensor": float(board.power_sensor.current_offset_A),
        }
        found.append(_one("pack current", "A", log.t_s, log["current"], said.current, rows, parts))
    return found


def _pack(model: Model, log: FlightLog, rows: Mask, level: Mask) -> list[Agreement]:
    if "voltage" not in log or "current" not in log:
        return []
    slow = blocks(log, 10.0)
    charge = charge_guess(model, slow.t_s, slow["current"], slow["voltage"])
    x = discharge(model, slow.t_s, slow["current"], model.plant, charge)
    x = x + float(np.mean((slow["voltage"] - x)[mask_of(log, level, slow)]))
    own = model.craft.battery
    relative = own.cell_resistance_mohm.sigma / own.cell_resistance_mohm or RESISTANCE_SIGMA
    drop = float(model.plant.pack_resistance) * float(np.mean(slow["current"]))
    parts = {"resistance": relative * drop, "sensor": 0.003 * float(np.mean(slow["voltage"]))}
    return [_one("pack voltage", "V", slow.t_s, slow["voltage"], x, mask_of(log, rows, slow), parts)]


def _one(
    name: str, unit: str, t: Array, y: Array, x: Array, rows: Mask, parts: dict[str, float], scale: float = 1.0
) -> Agreement:  # fmt: skip
    parts = {**parts, "noise": noise_of(y)}
    allowed = COVERAGE * math.sqrt(sum(part * part for part in parts.values()))
    why = ", ".join(f"{word} {scale * part:.2g}" for word, part in parts.items())
    return agreement(name, unit, t, y, x, rows, allowed, why, scale)
