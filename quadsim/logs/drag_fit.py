"""Drag of the airframe and the wind, from the specific force across the shafts over the velocity.

Along body x and y an accelerometer feels drag alone, of airframe, rotors and wakes. Those of the rotors and wakes are the
model's; what is left is a factor on the drag area. The wind, the same over the flight, and the accelerometer's offsets are
unknowns beside it: only flying both ways keeps them apart.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from quadsim.constants import G0
from quadsim.logs.along import Along, Model, along
from quadsim.logs.estimate import Estimate, Key, Untold, combined
from quadsim.logs.flight_log import Array, FlightLog, Mask, to_body
from quadsim.logs.regression import Fit, least_squares

AREA_SIGMA = 0.25
"""Relative standard uncertainty of a drag area estimated from the parts' boxes; assumed."""
STATED_SIGMA = 0.05
"""The same of an area that the craft file states, which carries no uncertainty; assumed."""
ROTOR_DRAG_SIGMA = 0.2
"""Relative standard uncertainty of the model's in-plane force of rotors and wakes; assumed."""
AIRSPEED_SIGMA = 0.2
"""Standard uncertainty of the airspeed over a flight [m/s]: of velocities from a satellite receiver, and of a wind that is not
the same everywhere; assumed."""
WIND_SIGMA = 6.0
"""What is known of a wind beforehand: its standard deviation along north and east [m/s]; assumed."""
FAST_M_S = 3.0
"""Speed over ground that a flight must reach for its drag to be looked for [m/s]; our choice."""
PASSES = 4
MOVE_M_S = 0.5
"""Change of wind for the differences [m/s]."""
FLIGHT = "fly level and fast, at least 8 m/s for 5 s, there and back, with a satellite receiver"


@dataclass(frozen=True)
class Drag:
    """What the log says of drag and wind. offsets : of the accelerometer along x, y [m/s2]"""

    area: Estimate
    wind: Array
    wind_sigma: Array
    offsets: Array


def fit_drag(model: Model, log: FlightLog, rows: Mask) -> Drag | Untold:
    """Factor on the drag area, with the wind. log : with rows some 20 ms apart; rows : of the fit"""
    why = _lacking(log, rows)
    if why:
        return Untold("drag", "drag area of the airframe", why, FLIGHT)
    own = model.craft.flight_controller.accelerometer
    bias = float(np.hypot(own.bias_mg * 1e-3, math.radians(1.0))) * G0
    prior = np.array([np.inf, WIND_SIGMA, WIND_SIGMA, bias, bias])
    theta = np.zeros(5)
    for _ in range(PASSES):
        fit = _pass(model, log, rows, theta, prior)
        change, theta = fit.theta - theta, fit.theta
        if np.all(np.abs(change) < 0.05 * fit.sigma):
            break
    wind = np.array([theta[1], theta[2], 0.0])
    said = along(model, log, wind)
    parts = {
        "scatter, wind and offsets": float(fit.sigma[0]),
        "drag of the rotors": _of_rotors(model, log, said, wind, rows),
    }
    flow = np.linalg.norm((log["velocity"] - wind)[rows], axis=1)
    parts["airspeed"] = 2.0 * AIRSPEED_SIGMA / max(float(np.sqrt(np.mean(flow**2))), 0.1)
    stated = model.craft.drag.area_cm2
    expected = AREA_SIGMA if stated is None else STATED_SIGMA
    factor, sigma = 1.0 + float(theta[0]), combined(parts)
    area = tuple(1e4 * factor * float(one) for one in model.plant.drag_area)
    caution = "makes up for all drag at the speeds flown: one factor on the area along all axes, the rotors' drag is the model's"
    estimate = Estimate(
        "drag",
        "drag area of the airframe",
        factor,
        sigma,
        1.0,
        expected,
        "",
        parts,
        Key("drag.area_cm2", area, sigma / factor),
        caution,
    )
    return Drag(estimate, wind, fit.sigma[1:3], theta[3:5])


def _lacking(log: FlightLog, rows: Mask) -> str:
    if "accel" not in log:
        return "the log has no accel_x, accel_y, accel_z"
    if "velocity" not in log:
        return "the log has no velocity (velocity_north_m_s, velocity_east_m_s) and no places"
    fastest = float(np.max(np.hypot(*log["velocity"][rows, :2].T), initial=0.0))
    if fastest == 0.0:
        return "the log has no velocity over ground"
    if fastest < FAST_M_S:
        return f"it flew at most {fastest:.1f} m/s over ground"
    return ""


def _pass(model: Model, log: FlightLog, rows: Mask, theta: Array, prior: Array) -> Fit:
    """One pass of Gauss and Newton about area factor - 1, wind north and east, offsets x and y; prior about zero."""
    wind = np.array([theta[1], theta[2], 0.0])
    here, area = _across(model, log, wind, theta[0])
    columns = [area]
    for k in (0, 1):
        moved = wind.copy()
        moved[k] += MOVE_M_S
        columns.append((_across(model, log, moved, theta[0])[0] - here) / MOVE_M_S)
    zero, one = np.zeros(len(log)), np.ones(len(log))
    columns += [np.stack([one, zero], 1), np.stack([zero, one], 1)]
    said = here + theta[3:5]
    left = (log["accel"][:, :2] - said)[rows].T.ravel()
    X = np.stack([column[rows].T.ravel() for column in columns], axis=1)
    return least_squares(X, left + X @ theta, prior=prior)


def _across(model: Model, log: FlightLog, wind: Array, excess: float) -> tuple[Array, Array]:
    """Specific force along x and y (n, 2), and the airframe's share of it at area factor 1."""
    said = along(model, log, wind)
    area = airframe_share(model, log, wind)[:, :2]
    return said.specific[:, :2] + excess * area, area


def airframe_share(model: Model, log: FlightLog, wind: Array) -> Array:
    """Drag of the airframe over mass, body axes (n, 3) [m/s2]: -rho/2 A_i |V| V_i / m, as `dynamics.airframe` has it."""
    v = to_body(log["attitude"], log["velocity"] - wind)
    speed = np.linalg.norm(v, axis=1, keepdims=True)
    per_mass = -0.5 * float(model.plant.air_density) / float(model.plant.mass)
    return np.asarray(per_mass * np.asarray(model.plant.drag_area) * speed * v)


def _of_rotors(model: Model, log: FlightLog, said: Along, wind: Array, rows: Mask) -> float:
    """What an error of the rotors' drag would do to the factor."""
    airframe = airframe_share(model, log, wind)[rows, :2]
    rotors = said.specific[rows, :2] - airframe
    size = float(np.sum(airframe * airframe))
    return ROTOR_DRAG_SIGMA * abs(float(np.sum(rotors * airframe))) / max(size, 1e-12)
