"""Figures that judge a flight, each computed from the log over a window of time, and the verdict on `expect` lines."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from controllers.signals import TARGET_MODES
from quadsim.config.metric_names import METRIC_NAMES
from quadsim.constants import G0
from quadsim.dynamics.vortex_ring import in_vortex_ring
from quadsim.simulation import control_metrics as control
from quadsim.simulation.control_metrics import about_own_mean, rms_of_vectors
from quadsim.simulation.place_metrics import cross_track, landing_distance, off_target
from quadsim.simulation.run import Run, Verdict
from quadsim.units import CELSIUS, DEG, MAH

if TYPE_CHECKING:
    from quadsim.config.flight_schema import ExpectSection

SLOW_S = 0.1
"""Time over which the accelerometer is averaged for the slow part of the specific force [s]; assumed."""


_in_vortex_ring: Callable[..., np.ndarray] = getattr(in_vortex_ring, "py_func", in_vortex_ring)
"""The plain function, which takes arrays, so that nothing is compiled for a metric."""


@dataclass(frozen=True)
class Metric:
    """A figure with its unit, what it means, and how it is computed from the rows `rows` of a run."""

    unit: str
    meaning: str
    compute: Callable[[Run, np.ndarray], float]


def _tilt(run: Run, rows: np.ndarray) -> np.ndarray:
    """Angle between body z and the vertical [rad], shape (n,)."""
    q = run["attitude"][rows]
    return np.arccos(np.clip(1.0 - 2.0 * (q[:, 1] ** 2 + q[:, 2] ** 2), -1.0, 1.0))


def angle_between(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Geodesic distance of attitudes (n, 4) [rad]: 2 acos |a.b| (Shuster 1993, J. Astronaut. Sci. 41(4))."""
    return 2.0 * np.arccos(np.clip(np.abs(np.sum(a * b, axis=1)), 0.0, 1.0))


def _speed(run: Run, rows: np.ndarray) -> np.ndarray:
    return np.linalg.norm(run["velocity_m_s"][rows], axis=1)


def _height_error(run: Run, rows: np.ndarray) -> np.ndarray:
    """Height minus target height [m] where a target is followed; empty otherwise."""
    following = np.isin(run["signals/mode"][rows], TARGET_MODES)
    return (run["height_m"][rows] - run["signals/target_height_m"][rows])[following]


def _heading_error(run: Run, rows: np.ndarray) -> np.ndarray:
    q = run["attitude"][rows]
    yaw = np.arctan2(2 * (q[:, 0] * q[:, 3] + q[:, 1] * q[:, 2]), 1 - 2 * (q[:, 2] ** 2 + q[:, 3] ** 2))
    error = yaw - run["signals/target_yaw_rad"][rows]
    return np.abs((error + np.pi) % (2 * np.pi) - np.pi)


def _estimate_error(run: Run, rows: np.ndarray, column: str) -> np.ndarray:
    """Length of the difference between truth and estimate while the estimate says that it knows the place; else empty."""
    known = run["signals/position_known"][rows] > 0.5
    off = run[column][rows][known] - run[f"signals/{column}"][rows][known]
    return np.asarray(np.linalg.norm(off, axis=1))


def _largest(values: np.ndarray) -> float:
    return float(np.max(values)) if values.size else float("nan")


def _first(times: np.ndarray, happens: np.ndarray) -> float:
    """Time at which something happens first [s]; NaN when it does not."""
    return float(times[np.argmax(happens)]) if happens.any() else float("nan")


def _rms(values: np.ndarray) -> float:
    return float(np.sqrt(np.mean(values**2))) if values.size else float("nan")


def _thrust_added(run: Run, rows: np.ndarray) -> float:
    """Greatest thrust given beyond what is asked while a craft stands on the ground and asks for next to none, % of weight."""
    weight = run["mass_kg"][rows] * G0
    standing = (run["contact_force_N"][rows] > 0.0) & (run["signals/thrust_wanted_N"][rows] < 0.05 * weight)
    armed = run["signals/armed"][rows] > 0.0
    beyond = -run["signals/unallocated"][rows, 3] / weight
    return 100.0 * _largest(beyond[standing & armed])


def _ground_tilt(run: Run, rows: np.ndarray) -> float:
    """Greatest tilt while the feet touch [deg]."""
    return _largest(_tilt(run, rows)[run["contact_force_N"][rows] > 0.0]) / DEG


def _used_charge(run: Run, rows: np.ndarray) -> float:
    t, current = run.t_s[rows], run["battery_current_A"][rows]
    return float(np.trapezoid(current, t))


def _rest_voltage(run: Run, rows: np.ndarray) -> float:
    """Sag-corrected voltage of a cell at the end [V]: what a board that knows the pack's resistance takes for its rest."""
    volts, amps = float(run["battery_voltage_V"][rows][-1]), float(run["battery_current_A"][rows][-1])
    return (volts + float(run.meta.get("pack_resistance_ohm", math.nan)) * amps) / float(run.meta["cells"])


def _mach(run: Run) -> float:
    """Tip Mach number per rotor speed [s/rad]."""
    return float(run.meta.get("mach_per_rotor_speed_s", math.nan))


def _horizontal_drift(run: Run, rows: np.ndarray) -> np.ndarray:
    place = run["position_m"][rows, :2]
    return np.linalg.norm(place - place[0], axis=1)


_COMPUTED: dict[str, Callable[[Run, np.ndarray], float]] = {
    "max_height_m": lambda r, w: _largest(r["height_m"][w]),
    "min_height_m": lambda r, w: -_largest(-r["height_m"][w]),
    "final_height_m": lambda r, w: float(r["height_m"][w][-1]),
    "height_error_m": lambda r, w: _largest(np.abs(_height_error(r, w))),
    "height_rms_m": lambda r, w: _rms(_height_error(r, w)),
    "heading_error_deg": lambda r, w: _largest(_heading_error(r, w)) / DEG,
    "max_speed_m_s": lambda r, w: _largest(_speed(r, w)),
    "final_speed_m_s": lambda r, w: float(_speed(r, w)[-1]),
    "max_wind_m_s": lambda r, w: _largest(np.linalg.norm(r["wind_m_s"][w], axis=1)),
    "max_tilt_deg": lambda r, w: _largest(_tilt(r, w)) / DEG,
    "final_tilt_deg": lambda r, w: float(_tilt(r, w)[-1]) / DEG,
    "max_rate_deg_s": lambda r, w: _largest(np.linalg.norm(r["rates_rad_s"][w], axis=1)) / DEG,
    "off_target_m": lambda r, w: _largest(off_target(r, w)),
    "off_target_rms_m": lambda r, w: _rms(off_target(r, w)),
    "cross_track_m": lambda r, w: _largest(cross_track(r, w)),
    "landing_distance_m": lambda r, w: landing_distance(r, w),
    "drift_m": lambda r, w: _largest(_horizontal_drift(r, w)),
    "estimate_error_deg": lambda r, w: _largest(angle_between(r["attitude"][w], r["signals/attitude"][w])) / DEG,
    "position_error_m": lambda r, w: _largest(_estimate_error(r, w, "position_m")),
    "velocity_error_m_s": lambda r, w: _largest(_estimate_error(r, w, "velocity_m_s")),
    "height_runaway_m": lambda r, w: _largest(np.abs(r["signals/height_m"][w] - r["height_m"][w])),
    "gyro_clipped_pct": lambda r, w: _clipped(r, w, "gyro_clipped"),
    "accel_clipped_pct": lambda r, w: _clipped(r, w, "accel_clipped"),
    "tracking_rms_deg": lambda r, w: _rms(angle_between(r["attitude"][w], r["signals/attitude_wanted"][w])) / DEG,
    "tilt_rms_deg": lambda r, w: control.tilt_rms(r, w) / DEG,
    "overshoot_deg": lambda r, w: control.overshoot(r, w) / DEG,
    "effort_rad_s2": control.effort,
    "thrust_added_pct": _thrust_added,
    "ground_tilt_deg": _ground_tilt,
    "motor_travel_pct_s": lambda r, w: 100.0 * control.motor_travel(r, w),
    "motor_noise_A": control.motor_noise,
    "motor_noise_W": control.motor_noise_heat,
    "saturated_pct": lambda r, w: 100.0 * float(np.mean(np.max(r["signals/motor"][w], axis=1) >= 0.999)),
    "max_motor_pct": lambda r, w: 100.0 * _largest(r["signals/motor"][w]),
    "min_cell_V": lambda r, w: -_largest(-r["weakest_cell_V"][w]),
    "final_rest_cell_V": lambda r, w: _rest_voltage(r, w),
    "max_battery_A": lambda r, w: _largest(r["battery_current_A"][w]),
    "max_motor_A": lambda r, w: _largest(np.abs(r["motor_current_A"][w])),
    "max_winding_C": lambda r, w: _largest(r["winding_temperature_K"][w]) - CELSIUS,
    "max_case_C": lambda r, w: _largest(r["case_temperature_K"][w]) - CELSIUS,
    "max_pack_C": lambda r, w: _largest(r["pack_temperature_K"][w]) - CELSIUS,
    "max_tip_mach": lambda r, w: _largest(r["rotor_speed_rad_s"][w]) * _mach(r),
    "used_mAh": lambda r, w: _used_charge(r, w) / MAH,
    "mean_power_W": lambda r, w: float(np.mean(r["battery_current_A"][w] * r["battery_voltage_V"][w])),
    "final_charge_pct": lambda r, w: 100.0 * float(r["charge"][w][-1]),
    "airborne_s": lambda r, w: float(np.mean(r["contact_force_N"][w] == 0.0) * (r.t_s[w][-1] - r.t_s[w][0])),
    "end_s": lambda r, w: float(r.t_s[w][-1]),
    "vortex_ring_s": lambda r, w: _vortex_ring(r, w),
    "warned_at_s": lambda r, w: _first(r.t_s[w], r["signals/battery_alert"][w] > 0.0),
    "acted_at_s": lambda r, w: _first(r.t_s[w], (r["signals/link_action"][w] > 0.0) | (r["signals/battery_alert"][w] > 1.0)),
    "motors_off_s": lambda r, w: float(np.mean(r["signals/armed"][w] == 0.0) * (r.t_s[w][-1] - r.t_s[w][0])),
    "home_distance_m": lambda r, w: float(np.linalg.norm(r["position_m"][w][-1, :2])),
    "touch_down_m_s": lambda r, w: _largest(_touch_downs(r, w)[:, 0]),
    "impact_J": lambda r, w: _largest(_touch_downs(r, w)[:, 1]),
    "sink_impact_J": lambda r, w: _largest(_touch_downs(r, w)[:, 2]),
    "vibration_m_s2": lambda r, w: _vibration(r, w),
    "max_swing_deg": lambda r, w: _largest(r["line_swing_rad"][w][r["line_swing_rad"][w] > 0.0]) / DEG,
    "max_line_N": lambda r, w: _largest(r["line_peak_N"][w][r["line_peak_N"][w] > 0.0]),
    "load_impact_m_s": lambda r, w: _load_impact(r, w),
    "load_drift_m": lambda r, w: _largest(_load_drift(r, w)),
}  # fmt: skip


def _clipped(run: Run, rows: np.ndarray, column: str) -> float:
    """Share of the samples between the first and the last row [%]; NaN without a sample, as in runs of older versions."""
    if "imu_samples" not in run.data:
        return math.nan
    samples, clipped = run["imu_samples"][rows], run[column][rows]
    taken = float(samples[-1] - samples[0])
    return 100.0 * float(clipped[-1] - clipped[0]) / taken if taken > 0.0 else math.nan


def _touch_downs(run: Run, rows: np.ndarray) -> np.ndarray:
    """Sink rate [m/s], kinetic energy [J] and its part in the sinking [J] of each touch-down, shape (n, 3)."""
    first, last = run.t_s[rows][0], run.t_s[rows][-1]
    found = [
        e for e in run.events if e.kind == "ground" and e.sink_m_s is not None and first <= e.t_s <= last
    ]
    masses = np.interp([e.t_s for e in found], run.t_s, run["mass_kg"])
    figures = [
        (e.sink_m_s, e.impact_J, 0.5 * mass * e.sink_m_s**2)
        for e, mass in zip(found, masses, strict=True)
        if e.sink_m_s is not None
    ]
    return np.array(figures, dtype=float).reshape(-1, 3)


def _vibration(run: Run, rows: np.ndarray) -> float:
    """Rms [m/s2] of the accelerometer's vector about its mean over SLOW_S around each row; NaN in a shorter window."""
    felt = run["signals/accel_m_s2"][rows]
    return rms_of_vectors(about_own_mean(felt, run.t_s, SLOW_S))


def _vortex_ring(run: Run, rows: np.ndarray) -> float:
    inside = _in_vortex_ring(run["descent_ratio"][rows], run["edgewise_ratio"][rows])
    return float(np.mean(inside) * (run.t_s[rows][-1] - run.t_s[rows][0]))


def _load_impact(run: Run, rows: np.ndarray) -> float:
    """Fastest sink rate of a load at the ground [m/s]."""
    first, last = run.t_s[rows][0], run.t_s[rows][-1]
    speeds = [
        e.sink_m_s
        for e in run.events
        if e.kind == "payload" and e.sink_m_s is not None and first <= e.t_s <= last
    ]
    return max(speeds) if speeds else float("nan")


def _load_drift(run: Run, rows: np.ndarray) -> np.ndarray:
    """Distance over ground [m] of the load from its first row in the window; empty without one."""
    place = run["load_position_m"][rows][run["load_mass_kg"][rows] > 0.0, :2]
    return np.linalg.norm(place - place[:1], axis=1)


METRICS = {name: Metric(*METRIC_NAMES[name], function) for name, function in _COMPUTED.items()}


def compute(run: Run, name: str, from_s: float = 0.0, to_s: float | None = None) -> float | None:
    """Metric `name` of a run between two times [s]; None when the window or the flight has no such figure."""
    rows = run.t_s >= from_s - 1e-9
    if to_s is not None:
        rows &= run.t_s <= to_s + 1e-9
    if not rows.any():
        return None
    value = METRICS[name].compute(run, rows)
    return value if np.isfinite(value) else None


def all_metrics(run: Run) -> dict[str, float]:
    """Every metric that this flight has, over the whole of it."""
    values = {name: compute(run, name) for name in METRICS}
    return {name: value for name, value in values.items() if value is not None}


def judge(run: Run, expectations: Sequence[ExpectSection], ends: Sequence[str]) -> list[Verdict]:
    """The verdicts: first on how the flight ended, then on every expect line."""
    verdicts = [Verdict("status", None, f"{run.status}; must be {' or '.join(ends)}", run.status in ends)]
    for line in expectations:
        value = compute(run, line.metric, line.from_s, line.to_s)
        verdicts.append(Verdict(line.metric, value, line.bound, fulfils(line, value)))
    return verdicts


def fulfils(line: ExpectSection, value: float | None) -> bool:
    """Whether a figure lies where an expect line wants it; one that does not exist does not."""
    if value is None:
        return False
    above = line.above is None or value > line.above
    return above and (line.below is None or value < line.below)
