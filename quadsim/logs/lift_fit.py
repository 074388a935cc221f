"""Thrust over mass at a motor command (or at a rotor speed), from the accelerometer along the shafts.

Equation error (V. Klein & E. A. Morelli, Aircraft System Identification, AIAA, 2006, ch. 5; from memory): the specific force
along z is k times the model's thrust over mass, and the rest of the model. The accelerometer's own offset along z is tied to the
height: the vertical acceleration that it says, taken twice over time, must be the height that the barometer saw.
"""

from __future__ import annotations

import numpy as np

from quadsim.analysis.evidence import map_sigmas
from quadsim.config.mass_properties import mass_properties
from quadsim.config.propeller_evidence import propeller_map
from quadsim.constants import G0
from quadsim.logs.along import Along, Model, along
from quadsim.logs.estimate import Estimate, Key, Untold, combined
from quadsim.logs.flight_log import Array, FlightLog, Mask, to_world
from quadsim.logs.regression import least_squares

BARO_DRIFT_M = 0.5
"""How far a barometer's height wanders over a flight of some minutes or less [m], one standard deviation; assumed."""
MODEL_SIGMA = 0.001
"""Relative standard uncertainty of a thrust from straight lines between the rows; assumed."""
WIND_UNKNOWN, WIND_CHANGES = 1.5, 0.5
"""Standard uncertainty of a wind that a log does not tell, on a calm day, and of one that it does, as it changes over the
flight [m/s]; assumed."""
LEAST_S = 4.0
"""Time in the air under which the height says nothing of an accelerometer [s]; our choice."""


def fit_lift(
    model: Model, log: FlightLog, said: Along, rows: Mask, flying: Mask, wind: Array, wind_sigma: float | None
) -> Estimate | Untold:  # fmt: skip
    """Factor on the model's thrust over mass.

    rows : of the fit; flying : all rows in the air
    wind : that `said` was told, north-east-down [m/s]; wind_sigma : its standard error [m/s], None where the log does not tell
    """
    name, words = "thrust", "thrust over mass" + ("" if "rotor_speed" in log else " at a motor command")
    if "accel" not in log:
        return Untold(
            name,
            words,
            "the log has no accel_x, accel_y, accel_z",
            "log the accelerometer; any hover will do",
        )
    offset, offset_sigma, tied = accelerometer_offset(model, log, flying)
    thrust = said.thrust[rows]
    y = log["accel"][rows, 2] - offset - (said.specific[rows, 2] + thrust)
    fit = least_squares(-thrust[:, None], y)
    mean = float(np.mean(thrust))
    unsure = WIND_UNKNOWN if wind_sigma is None else float(np.hypot(wind_sigma, WIND_CHANGES))
    parts = {
        "scatter": float(fit.sigma[0]),
        "accelerometer": offset_sigma / mean,
        "model between rows": MODEL_SIGMA,
        "wind": _of_wind(model, log, thrust, rows, wind, unsure),
    }
    if "rotor_speed" not in log:
        scale = model.craft.flight_controller.power_sensor.voltage_scale_pct / 100.0
        parts["voltage sensor"] = 2.0 * scale if "voltage" in log else 0.05
    craft = model.craft
    body = mass_properties(craft)
    mass_sigma = body.mass_sigma_kg / body.mass_kg
    expected = float(np.hypot(map_sigmas(craft, propeller_map(craft))[0], mass_sigma))
    scale_now, factor = float(craft.propeller.thrust_scale), float(fit.theta[0])
    key = Key(
        "propeller.thrust_scale",
        scale_now * factor,
        scale_now * float(np.hypot(combined(parts), factor * mass_sigma)),
    )
    caution = "the log sees thrust over mass: weigh the craft (mass.weighed_mass_g) and it is the thrust"
    if "rotor_speed" not in log:
        caution += "; without rpm_1 to rpm_4 a weak motor looks like a weak propeller"
    if not tied:
        caution += "; without a height the accelerometer's offset is taken from the craft file"
    return Estimate(name, words, factor, combined(parts), 1.0, expected, "", parts, key, caution)


def _of_wind(model: Model, log: FlightLog, thrust: Array, rows: Mask, wind: Array, unsure: float) -> float:
    """What a wind that is another by so much does to the factor: air that comes from the side carries."""
    size = float(np.hypot(wind[0], wind[1]))
    towards = wind / size if size > 0.0 else np.array([1.0, 0.0, 0.0])
    other = along(model, log, wind + unsure * towards).thrust[rows]
    return abs(float(np.sum(other * thrust) / np.sum(thrust * thrust)) - 1.0)


def accelerometer_offset(model: Model, log: FlightLog, flying: Mask) -> tuple[float, float, bool]:
    """Offset along z [m/s2], its standard uncertainty, and whether the height told it."""
    own = model.craft.flight_controller.accelerometer
    unknown = float(np.hypot(own.bias_mg * 1e-3, own.scale_error_pct / 100.0)) * G0
    stretch = _longest(flying)
    if "height" not in log or stretch is None or log.t_s[stretch][-1] - log.t_s[stretch][0] < LEAST_S:
        return 0.0, unknown, False
    t = log.t_s[stretch] - log.t_s[stretch][0]
    q = log["attitude"][stretch]
    up = -to_world(q, log["accel"][stretch])[:, 2] - float(model.plant.gravity)
    tilt = 1.0 - 2.0 * (q[:, 1] ** 2 + q[:, 2] ** 2)
    rise = _integral(t, _integral(t, up))
    # height = h0 + v0 t + rise + offset * (double integral of the tilt's cosine): an offset of z down lifts by its opposite
    X = np.stack([np.ones_like(t), t, _integral(t, _integral(t, tilt))], axis=1)
    every = max(1, int(len(t) / 2000))
    fit = least_squares(X[::every], (log["height"][stretch] - rise)[::every])
    drift = 8.0 * BARO_DRIFT_M / float(t[-1]) ** 2  # of a parabola that sags so far between start and end
    sigma = float(np.hypot(fit.sigma[2], drift))
    if sigma >= unknown:
        return 0.0, unknown, False
    return float(fit.theta[2]), sigma, True


def _longest(flying: Mask) -> slice | None:
    """The longest run of rows in the air."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], flying.astype(int), [0]])))
    if not edges.size:
        return None
    begin, end = edges[::2], edges[1::2]
    k = int(np.argmax(end - begin))
    return slice(int(begin[k]), int(end[k]))


def _integral(t: Array, values: Array) -> Array:
    return np.concatenate([[0.0], np.cumsum(0.5 * (values[1:] + values[:-1]) * np.diff(t))])
