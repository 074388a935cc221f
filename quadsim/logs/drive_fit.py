"""The motors' speed constant and the propellers' torque, from rotor speed and current at the commands and voltage of the log.

Two means of the log, of rotor speed and of motor current, against two unknowns of the drive: ln(log/model) = J (ln kv, ln
torque), with J by differences of the model led along the log again. A torque that is larger slows the rotors and draws more; a
speed constant that is larger speeds them up and draws more: only both means keep the two apart.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from quadsim.analysis.evidence import map_sigmas
from quadsim.config.propeller_evidence import propeller_map
from quadsim.logs.along import Along, Model, along
from quadsim.logs.estimate import Estimate, Key, Untold
from quadsim.logs.flight_log import Array, FlightLog, Mask
from quadsim.logs.regression import least_squares

MOVE = 0.02
"""Relative change of an unknown for the differences."""
KV_SIGMA = 0.02
"""Relative standard uncertainty of a speed constant that states none; assumed."""
WARMTH_SIGMA = 0.004
"""Relative standard uncertainty of a rotor's speed from windings that began warmer or colder than the air; assumed."""
FLIGHT = "log rpm_1 to rpm_4 and voltage_V"


def fit_drive(model: Model, log: FlightLog, said: Along, rows: Mask, wind: Array) -> list[Estimate] | Untold:
    """Speed constant and torque; the speed constant alone, with the file's torque, where the log has no current."""
    if "rotor_speed" not in log or "voltage" not in log:
        return Untold(
            "kv", "speed constant of the motors", "the log has no rotor speeds or no voltage", FLIGHT
        )
    meter = model.craft.flight_controller.power_sensor
    ratios, sigmas = [_mean(log["rotor_speed"], said.rotor_speed, rows)], [0.0]
    sigmas[0] = math.hypot(ratios[0][1], float(meter.voltage_scale_pct) / 100.0, WARMTH_SIGMA)
    if "current" in log:
        avionics = float(model.plant.avionics_current)
        motors = log["current"][:, None] - avionics, said.current[:, None] - avionics
        ratios.append(_mean(*motors, rows))
        offset = float(meter.current_offset_A) / max(float(np.mean(motors[1][rows])), 0.1)
        sigmas.append(math.hypot(ratios[1][1], float(meter.current_scale_pct) / 100.0, offset))
    J = _sensitivities(model, log, said, rows, wind)[: len(ratios)]
    torque_sigma = map_sigmas(model.craft, propeller_map(model.craft))[1]
    means = np.array([one[0] for one in ratios])
    if len(ratios) == 1:
        sigma = math.hypot(sigmas[0], float(J[0, 1]) * torque_sigma) / abs(float(J[0, 0]))
        return [
            _kv(model, float(means[0] / J[0, 0]), sigma, "without a current the torque is the craft file's")
        ]
    inverse = np.linalg.inv(J)
    theta, spread = inverse @ means, np.sqrt(inverse**2 @ np.square(sigmas))
    return [
        _kv(model, float(theta[0]), float(spread[0]), "speed and current together tell motor from propeller"),
        _torque(model, float(theta[1]), float(spread[1]), torque_sigma),
    ]


def _mean(log: Array, model: Array, rows: Mask) -> tuple[float, float]:
    """Mean of ln(log/model) of the sums over the rotors, and its standard error."""
    a, b = log[rows].sum(axis=1), model[rows].sum(axis=1)
    sound = (a > 0.0) & (b > 0.0)
    fit = least_squares(np.ones((int(sound.sum()), 1)), np.log(a[sound] / b[sound]))
    return float(fit.theta[0]), float(fit.sigma[0])


def _sensitivities(model: Model, log: FlightLog, said: Along, rows: Mask, wind: Array) -> Array:
    """d ln(rotor speed, motor current) / d ln(kv, torque), (2, 2)."""
    J = np.zeros((2, 2))
    for k in range(2):
        plant = model.plant.copy()
        if k == 0:
            plant.torque_constant /= 1.0 + MOVE
        else:
            plant.rotor_map[..., 1] *= 1.0 + MOVE
            plant.rotor_trend[..., 1] *= 1.0 + MOVE
        moved = along(replace(model, plant=plant), log, wind)
        J[0, k] = math.log(float(moved.rotor_speed[rows].mean() / said.rotor_speed[rows].mean()))
        avionics = float(plant.avionics_current)
        J[1, k] = math.log(
            float((moved.current[rows].mean() - avionics) / (said.current[rows].mean() - avionics))
        )
    return J / math.log(1.0 + MOVE)


def _kv(model: Model, moved: float, sigma: float, caution: str) -> Estimate:
    own = model.craft.motor.kv_rpm_per_V
    value = float(own) * math.exp(moved)
    stated = own.sigma or KV_SIGMA * float(own)
    key = Key("motor.kv_rpm_per_V", value, value * sigma)
    parts = {"scatter, sensors and warmth": value * sigma}
    return Estimate(
        "kv",
        "speed constant of the motors",
        value,
        value * sigma,
        float(own),
        stated,
        "rpm/V",
        parts,
        key,
        caution,
    )


def _torque(model: Model, moved: float, sigma: float, known: float) -> Estimate:
    factor, scale = math.exp(moved), float(model.craft.propeller.torque_scale)
    key = Key("propeller.torque_scale", scale * factor, scale * factor * sigma)
    parts = {"scatter, sensors and warmth": factor * sigma}
    return Estimate(
        "torque", "torque of the propellers", factor, factor * sigma, 1.0, known, "", parts, key,
        "the current sensor's scale is most of its uncertainty: hold it against a clamp meter",
    )  # fmt: skip
