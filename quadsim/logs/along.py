"""The model of a craft led along a log: specific force, turning, rotor speeds and current that it says, row by row."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from controllers.signals import rows
from quadsim.config import Craft, choose_rates, resolve_plant, resolve_sensors
from quadsim.config.equilibrium import hover_balance
from quadsim.config.warmth import begin_at
from quadsim.dynamics.records import HELD
from quadsim.dynamics.state import SIZE, X
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError, Problem
from quadsim.logs.along_kernels import discharge_along, lead_along
from quadsim.logs.flight_log import Array, FlightLog, climb
from quadsim.simulation.carried import CARRIED

NEEDED = ("gyro", "attitude", "motor")
"""Channels without which the model cannot be led."""
FAR_UP_M = 100.0
"""Height that stands for one that is not known [m]: free of the ground."""
TOLD = 17
LOOK_S = 1e-3


@dataclass(frozen=True)
class Model:
    """A craft's records for one log. plant, sensors : rows of the records; h : step [s]"""

    craft: Craft
    site: Site
    plant: Any
    sensors: Any
    h: float
    command_s: float
    """Mean age of a command in the middle of its interval, and the tick that it waits [s]."""
    command_Hz: float
    """Commands per second."""


@dataclass(frozen=True)
class Along:
    """What the model says at a log's rows, SI, body axes.

    turning : angular acceleration, mean since the row before (n, 3) [rad/s2], of the model's own rotor speeds
    turning_known : the same about roll and pitch (n, 2) of the log's rotor speeds; None where the log has none
    specific : specific force at the inertial sensor (n, 3) [m/s2]
    thrust : of all rotors, along minus z, over the mass (n,) [m/s2]
    current : of the pack (n,) [A]
    rotor_speed : (n, 4) [rad/s]
    """

    turning: Array
    turning_known: Array | None
    specific: Array
    thrust: Array
    current: Array
    rotor_speed: Array


def model_of(craft: Craft, site: Site, seed: int = 0, coarse: int = 1) -> Model:
    """The records of a craft at a site. coarse : steps of the craft's physics that are made one, for what turns slowly"""
    rates = choose_rates(craft)
    plant = resolve_plant(craft, site)
    sensors = resolve_sensors(craft, plant, max(rates.physics_Hz // coarse, 1000), seed)
    h = 1.0 / max(rates.physics_Hz // coarse, 1000)
    own, every = 1.0 / rates.physics_Hz, int(rates.every[4])
    return Model(craft, site, plant, sensors, h, own * (1.0 + 0.5 * (every - 1)), rates.physics_Hz / every)


def missing(log: FlightLog) -> list[str]:
    """Channels that leading the model needs and the log has not."""
    return [name for name in NEEDED if name not in log]


def along(model: Model, log: FlightLog, wind: Array | None = None) -> Along:
    """Lead the model along a log.

    wind : velocity of the air, north-east-down [m/s]; still when None

    Raises
    ------
    InputError
        when the log lacks a channel that this needs.
    """
    lacking = missing(log)
    if lacking:
        raise InputError(
            [
                Problem(
                    "LOG", f"has no {', '.join(lacking)}", "needs gyro_*, an attitude and motor_1 to motor_4"
                )
            ]
        )
    plant, held, x = model.plant.copy(), _held(model), _start(model, log)
    held.wind[:] = 0.0 if wind is None else wind
    carried = rows(CARRIED)[0]
    carried.wiring[:] = np.arange(4)
    inputs, told = _inputs(model, log), np.zeros((len(log), TOLD))
    carried.motor_line[:] = carried.motor_taken[:] = carried.motor_smooth[:] = inputs[0, :4]
    every = max(1, round(LOOK_S / model.h))
    lead_along(
        log.t_s,
        inputs,
        "rotor_speed" in log,
        every,
        model.h,
        model.sensors,
        carried,
        held,
        plant,
        x,
        np.zeros(SIZE),
        told,
    )
    return _told(model, log, told)


def _told(model: Model, log: FlightLog, told: Array) -> Along:
    mass = float(model.plant.mass)
    arm = np.asarray(model.sensors.imu_position, dtype=float)
    gyro = log["gyro"]
    lever = np.cross(told[:, 12:15], arm) + np.cross(gyro, np.cross(gyro, arm))
    return Along(
        turning=told[:, 0:3],
        turning_known=told[:, 15:17] if "rotor_speed" in log else None,
        specific=told[:, 3:6] / mass + lever,
        thrust=told[:, 6] / mass,
        current=told[:, 7],
        rotor_speed=told[:, 8:12],
    )


def _held(model: Model) -> Any:
    held = rows(HELD)[0]
    held.thrust_factor[:] = held.torque_factor[:] = 1.0
    held.turning[:] = model.plant.spin
    begin_at(held, model.plant)
    return held


def _start(model: Model, log: FlightLog) -> Array:
    x = np.zeros(SIZE)
    x[X.QUATERNION], x[X.CHARGE], x[X.POSITION + 2] = 1.0, 1.0, -FAR_UP_M
    hover = hover_balance(model.plant)
    x[X.ROTORS : X.ROTORS + 4] = hover.rotor_speed if hover else 100.0
    if (
        "rotor_speed" in log and log["rotor_speed"][0].min() > 0.0
    ):  # nothing reported yet reads as standing still
        x[X.ROTORS : X.ROTORS + 4] = log["rotor_speed"][0]
    return x


def _inputs(model: Model, log: FlightLog) -> Array:
    """The table of `lead_along`; commands are moved to when they are in force on the mean."""
    n, t = len(log), log.t_s
    late = np.clip(t - model.command_s, t[0], None)
    motor = np.stack([np.interp(late, t, one) for one in np.clip(log["motor"], 0.0, 1.0).T], axis=1)
    volts = log["voltage"] if "voltage" in log else np.full(n, float(_hover_volts(model)))
    height = log["height"] if "height" in log else np.full(n, FAR_UP_M)
    velocity = log["velocity"] if "velocity" in log else climb(log)
    speeds = log["rotor_speed"] if "rotor_speed" in log else np.zeros((n, 4))
    columns = (motor, volts[:, None], log["attitude"], log["gyro"], velocity, height[:, None], speeds)
    return np.ascontiguousarray(np.concatenate(columns, axis=1))


def _hover_volts(model: Model) -> float:
    hover = hover_balance(model.plant)
    return hover.pack_voltage if hover else 3.7 * float(model.plant.cells)


def discharge(model: Model, t_s: Array, current: Array, plant: Any, charge: float) -> Array:
    """The pack's voltage [V] under a log's current. plant : the model's, perhaps altered; charge : at the first row [-]"""
    held, x, told = _held(model), np.zeros(SIZE), np.zeros(len(t_s))
    x[X.CHARGE] = charge
    discharge_along(t_s, np.ascontiguousarray(current), held, plant, x, told)
    return told
