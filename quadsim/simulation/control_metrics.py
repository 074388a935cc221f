"""Figures on control: how far the attitude leaves what was asked, how hard the law works, what noise reaches the motors."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from quadsim.simulation.run import Run

Array = NDArray[np.float64]

ARRIVAL_S = 0.5
"""Time that the attitude has to arrive at what was asked before what it lies beyond counts as overshoot [s]; assumed."""
NOISE_S = 0.05
"""Motor current about its own mean over this time is noise [s]. Of a frequency f the share 1 - sin(pi f T)/(pi f T) of the
amplitude stays (closed form): 0.71 at 15 Hz, all of it at 20 Hz, 1.22 at 29 Hz, then ever closer to one."""


def rows_per(t_s: Array, time_s: float) -> int:
    """Rows of a log with these times [s] in `time_s`, at least one."""
    return max(1, round(time_s / max(float(np.median(np.diff(t_s))), 1e-6))) if t_s.size > 1 else 1


def about_own_mean(values: Array, t_s: Array, over_s: float) -> Array:
    """Columns (n, k) less their mean over `over_s` around each row, without the ends; empty when the window is shorter.

    Trapezoidal weights: anything with a whole number of periods in `over_s` counts in full. What turns faster than half the
    log's rate is folded down, and its rms stays.
    """
    half = rows_per(t_s, over_s / 2.0)
    if len(values) <= 2 * half:
        return values[:0]
    weights = np.full(2 * half + 1, 0.5 / half)
    weights[[0, -1]] *= 0.5
    slow = np.stack([np.convolve(column, weights, "valid") for column in values.T], axis=1)
    return values[half:-half] - slow


def rms_of_vectors(values: Array) -> float:
    """Root of the mean square length of rows (n, k); NaN without rows."""
    return float(np.sqrt(np.mean(np.sum(values**2, axis=1)))) if len(values) else math.nan


def thrust_axis(q: Array) -> Array:
    """Body z in world axes, shape (n, 3), of attitudes (n, 4)."""
    w, x, y, z = q.T
    return np.stack([2.0 * (x * z + w * y), 2.0 * (y * z - w * x), 1.0 - 2.0 * (x * x + y * y)], axis=1)


def tilt_errors(run: Run, rows: NDArray[np.bool_]) -> Array:
    """Angle between the thrust axis wanted and flown [rad], shape (n,); atan2(|a x b|, a.b) keeps small ones exact."""
    a, b = thrust_axis(run["attitude"][rows]), thrust_axis(run["signals/attitude_wanted"][rows])
    return np.arctan2(np.linalg.norm(np.cross(a, b), axis=1), np.sum(a * b, axis=1))


def _controlled(run: Run, rows: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Rows of the window in which an attitude is asked for."""
    return run["signals/attitude_weight"][rows] > 0.5


def tilt_rms(run: Run, rows: NDArray[np.bool_]) -> float:
    """Rms of `tilt_errors` [rad] while an attitude is asked for; NaN otherwise."""
    errors = tilt_errors(run, rows)[_controlled(run, rows)]
    return rms_of_vectors(errors[:, None])


def _lean(q: Array, heading: Array) -> Array:
    """Tilt [rad] as a vector along and across a heading [rad], shape (n, 2)."""
    axis = thrust_axis(q)
    flat = np.hypot(axis[:, 0], axis[:, 1])
    scale = np.arctan2(flat, axis[:, 2]) / np.maximum(flat, 1e-12)
    c, s = np.cos(heading), np.sin(heading)
    along, across = c * axis[:, 0] + s * axis[:, 1], c * axis[:, 1] - s * axis[:, 0]
    return np.stack([scale * along, scale * across], axis=1)


def running_greatest(values: Array, count: int) -> Array:
    """Greatest of the last `count` rows at each row; columns apart. Doubles its reach each time."""
    found, reach = values.copy(), 1
    while reach < min(count, len(values)):
        step = min(reach, count - reach)
        found[step:] = np.maximum(found[step:], found[:-step])
        reach += step
    return found


def overshoot(run: Run, rows: NDArray[np.bool_]) -> float:
    """Farthest [rad] that the tilt went beyond all that was asked for in the last ARRIVAL_S; NaN when none was.

    Along and across the heading wanted, so that it does not matter how the craft is turned.
    """
    controlled = _controlled(run, rows)
    if not controlled.any():
        return math.nan
    wanted = run["signals/attitude_wanted"][rows]
    w, x, y, z = wanted.T
    heading = np.arctan2(2.0 * (w * z + x * y), 1.0 - 2.0 * (y * y + z * z))
    asked, flown = _lean(wanted, heading), _lean(run["attitude"][rows], heading)
    count = rows_per(run.t_s[rows], ARRIVAL_S)
    over = flown - running_greatest(asked, count)
    under = -flown - running_greatest(-asked, count)
    beyond = np.maximum(np.maximum(over, under), 0.0)
    return float(np.max(np.linalg.norm(beyond[controlled], axis=1)))


def effort(run: Run, rows: NDArray[np.bool_]) -> float:
    """Rms of the angular acceleration that the law asks for [rad/s2], all axes."""
    return rms_of_vectors(run["signals/angular_acceleration_wanted_rad_s2"][rows])


def motor_travel(run: Run, rows: NDArray[np.bool_]) -> float:
    """Way that a motor command goes, up and down, per second [1/s], mean of the four; between rows of the log."""
    t, motor = run.t_s[rows], run["signals/motor"][rows]
    if len(t) < 2:
        return math.nan
    return float(np.mean(np.sum(np.abs(np.diff(motor, axis=0)), axis=0)) / (t[-1] - t[0]))


def motor_noise(run: Run, rows: NDArray[np.bool_]) -> float:
    """Rms [A] of a motor's current about its own mean over NOISE_S, of the four together; manoeuvres count as they come."""
    noise = about_own_mean(run["motor_current_A"][rows], run.t_s[rows], NOISE_S)
    return rms_of_vectors(noise) / 2.0


def motor_noise_heat(run: Run, rows: NDArray[np.bool_]) -> float:
    """Heat [W] that this noise makes in the four windings and ESCs, R I^2, at 20 deg C: what it costs beyond the mean current."""
    return 4.0 * float(run.meta.get("motor_path_ohm", math.nan)) * motor_noise(run, rows) ** 2
