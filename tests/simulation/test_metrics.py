"""Metrics of motions that are known in closed form."""

import math

import numpy as np
import pytest

from quadsim.config.flight_schema import ExpectSection
from quadsim.config.metric_names import METRIC_NAMES
from quadsim.simulation.columns import columns
from quadsim.simulation.estimate_events import estimate_events
from quadsim.simulation.metrics import METRICS, all_metrics, compute, judge
from quadsim.simulation.run import Event, Run

T = np.linspace(0.0, 4.0, 401)


def made_up():
    """Circle of 2 m radius at 1.5 rad/s, height 5 + t, roll 0.3 rad, yaw 0.2 rad, 10 A at 16 V."""
    data = {name: np.zeros((T.size, *signal.shape)) for name, signal in columns().items()}
    data["t_s"] = T
    data["position_m"] = np.stack([2 * np.cos(1.5 * T), 2 * np.sin(1.5 * T), -5.0 - T], axis=1)
    data["velocity_m_s"] = np.stack([-3 * np.sin(1.5 * T), 3 * np.cos(1.5 * T), -np.ones_like(T)], axis=1)
    roll, yaw = 0.15, 0.1  # half angles
    data["attitude"][:] = [
        math.cos(roll) * math.cos(yaw), math.sin(roll) * math.cos(yaw),
        math.sin(roll) * math.sin(yaw), math.cos(roll) * math.sin(yaw),
    ]  # fmt: skip
    data["signals/attitude"][:, 0] = data["signals/attitude_wanted"][:, 0] = 1.0
    data["signals/attitude_weight"][:] = 1.0
    data["signals/angular_acceleration_wanted_rad_s2"][:] = [2.0, -3.0, 6.0]
    data["motor_current_A"][:, 1] = 0.4 * (-1.0) ** np.arange(T.size)
    data["signals/position_known"][200:] = 1.0  # before, the estimate is far off and does not count
    data["signals/position_m"][200:] = data["position_m"][200:] + np.array([0.3, 0.0, 0.4])
    data["signals/velocity_m_s"][200:] = data["velocity_m_s"][200:] + np.array([0.0, 0.05, 0.12])
    data["signals/mode"][:] = 3.0
    data["signals/target_height_m"][:] = 6.0
    data["signals/height_m"] = 5.0 + 0.25 * T  # runs away below the truth by up to 3 m
    data["imu_samples"], data["gyro_clipped"] = 1000.0 * T, np.clip(1000.0 * (T - 3.0), 0.0, None)
    data["accel_clipped"] = 40.0 * T
    data["battery_current_A"][:], data["battery_voltage_V"][:], data["charge"][:] = 10.0, 16.0, 0.7
    data["weakest_cell_V"][:], data["pack_temperature_K"][:], data["rotor_speed_rad_s"][:] = (
        3.9,
        303.15,
        2000.0,
    )
    data["winding_temperature_K"][:, 1], data["case_temperature_K"][:, 2] = 350.15 + T, 320.15 - T
    data["signals/motor"][:200, 2] = 1.0
    data["wind_m_s"][150] = [-3.0, 4.0, 12.0]
    data["contact_force_N"][:100] = 3.0
    data["descent_ratio"][100:201] = 1.0
    data["load_mass_kg"][200:] = 0.3
    data["load_position_m"][200:, 1] = 0.5 * T[200:]
    data["line_tension_N"][300:], data["line_peak_N"][300:], data["line_swing_rad"][300:] = 3.0, 4.5, 0.2
    data["mass_kg"][:] = 1.5
    data["signals/accel_m_s2"][:, 0] = 2.0 * (-1.0) ** np.arange(T.size)
    data["signals/accel_m_s2"][:, 2] = -10.0 + 0.5 * T  # the slow part does not count
    return Run(
        "f",
        "c",
        "done",
        "",
        data,
        meta={"cells": 4, "motor_path_ohm": 0.1, "pack_resistance_ohm": 0.02, "mach_per_rotor_speed_s": 2e-4},
        events=[
            Event(2.0, "ground", "touch-down at 0.80 m/s, 0.6 J", 0.8, 0.6),
            Event(3.0, "timeline", "touch-down at the line"),
            Event(3.5, "payload", "load touches down at 1.20 m/s", 1.2),
        ],
    )


EXPECTED = {
    "max_height_m": 9.0, "min_height_m": 5.0, "final_height_m": 9.0, "height_error_m": 3.0,
    "height_rms_m": math.sqrt(np.mean((T - 1.0) ** 2)), "max_speed_m_s": math.sqrt(10.0), "final_speed_m_s": math.sqrt(10.0),
    "max_tilt_deg": math.degrees(0.3), "final_tilt_deg": math.degrees(0.3), "heading_error_deg": math.degrees(0.2),
    "estimate_error_deg": math.degrees(2 * math.acos(math.cos(0.15) * math.cos(0.1))),
    "position_error_m": 0.5, "velocity_error_m_s": 0.13,
    "tracking_rms_deg": math.degrees(2 * math.acos(math.cos(0.15) * math.cos(0.1))),
    "height_runaway_m": 3.0, "gyro_clipped_pct": 25.0, "accel_clipped_pct": 4.0,
    "drift_m": 4.0, "saturated_pct": 100 * 200 / 401, "max_motor_pct": 100.0, "min_cell_V": 3.9, "max_battery_A": 10.0,
    "used_mAh": 40.0 / 3.6, "mean_power_W": 160.0, "final_charge_pct": 70.0, "airborne_s": 4.0 * 301 / 401, "end_s": 4.0,
    "final_rest_cell_V": 4.05, "max_winding_C": 81.0, "max_case_C": 47.0, "max_pack_C": 30.0, "max_tip_mach": 0.4,
    "touch_down_m_s": 0.8, "impact_J": 0.6, "sink_impact_J": 0.48, "vibration_m_s2": 2.0,
    "vortex_ring_s": 4.0 * 101 / 401, "max_wind_m_s": 13.0, "max_rate_deg_s": 0.0, "max_motor_A": 0.4,
    "tilt_rms_deg": math.degrees(0.3), "overshoot_deg": math.degrees(0.3), "effort_rad_s2": 7.0,
    "motor_travel_pct_s": 100.0 / 4 / 4.0, "motor_noise_A": 0.2, "motor_noise_W": 4 * 0.1 * 0.2**2,
    "max_swing_deg": math.degrees(0.2), "max_line_N": 4.5, "load_impact_m_s": 1.2, "load_drift_m": 1.0,
    "landing_distance_m": 2.0,
}  # fmt: skip
ELSEWHERE = {
    "off_target_m", "off_target_rms_m", "cross_track_m", "warned_at_s", "acted_at_s", "motors_off_s", "home_distance_m",
    "thrust_added_pct", "ground_tilt_deg",
}  # fmt: skip
"""Figures that this motion does not have; tested below, and where they are flown."""


@pytest.mark.parametrize("name", EXPECTED)
def test_a_metric_of_a_known_motion(name):
    assert compute(made_up(), name) == pytest.approx(EXPECTED[name], rel=1e-4, abs=1e-9)


def test_the_tables_agree():
    assert set(METRICS) == set(METRIC_NAMES) == set(EXPECTED) | ELSEWHERE
    assert set(EXPECTED) <= set(all_metrics(made_up())) <= set(EXPECTED) | ELSEWHERE


def test_windows_and_figures_that_do_not_exist():
    run = made_up()
    assert compute(run, "max_height_m", 1.0, 2.0) == pytest.approx(7.0)
    assert compute(run, "max_height_m", 5.0) is None
    assert compute(run, "touch_down_m_s", 3.0) is None
    assert [compute(run, name, 0.0, 1.0) for name in ("max_swing_deg", "max_line_N", "load_drift_m")] == [
        None
    ] * 3
    assert compute(run, "impact_J", 3.0) is None
    assert compute(run, "vibration_m_s2", 3.0, 3.09) is None  # shorter than the slow part's window
    assert compute(run, "vibration_m_s2", 3.0, 3.1) == pytest.approx(2.0)
    assert compute(run, "gyro_clipped_pct", 3.0) == pytest.approx(100.0)
    assert compute(run, "gyro_clipped_pct", 3.0, 3.0) is None  # no sample in between
    del run.data["imu_samples"]  # a run of an older version
    assert compute(run, "gyro_clipped_pct") is None
    run.data["signals/mode"][:] = 0.0
    assert compute(run, "height_error_m") is None


def test_verdicts():
    lines = [
        ExpectSection(metric="max_height_m", above=8.0, below=10.0),
        ExpectSection(metric="max_height_m", below=9.0),
        ExpectSection(metric="touch_down_m_s", from_s=3.0, below=1.0),
    ]
    status, *verdicts = judge(made_up(), lines, ["done", "crashed"])
    assert status.ok
    assert [v.ok for v in verdicts] == [True, False, False]
    assert verdicts[2].value is None
    assert verdicts[0].bound == "above 8 and below 10"
    assert not judge(made_up(), lines, ["crashed"])[0].ok


def test_distances_from_the_place_asked_for():
    """Waypoints: the circle of 2 m about (0, 0) until 2 s, then a leg from there to (0, 10) due east.

    Greatest distance 2 m, then that of the circle from (0, 10); off the leg by |2 cos 1.5 t| at most 2 m."""
    run = made_up()
    run.data["signals/mode"][:] = 5.0
    run.data["signals/target_east_m"][200:] = 10.0
    assert compute(run, "off_target_m", to_s=1.9) == pytest.approx(2.0, rel=1e-9)
    assert compute(run, "off_target_rms_m", to_s=1.9) == pytest.approx(2.0, rel=1e-9)
    assert compute(run, "off_target_m", from_s=2.0) == pytest.approx(
        12.0, rel=1e-3
    )  # at (0, -2), 3/4 of the way round
    assert compute(run, "cross_track_m") == pytest.approx(2.0 * np.abs(np.cos(1.5 * T[200:])).max(), rel=1e-9)
    assert compute(run, "cross_track_m", to_s=1.9) is None
    run.data["signals/mode"][:] = 2.0
    assert compute(run, "off_target_m") is None


@pytest.mark.parametrize(("home", "distance"), [(False, 3.0), (True, 5.0)])
def test_landing_distance_counts_from_the_waypoint_or_from_home(home, distance):
    run = made_up()
    run.data["position_m"][:, 0], run.data["position_m"][:, 1] = 3.0, 4.0
    run.data["signals/target_east_m"][:] = 4.0
    if home:
        run.data["signals/mode_in_force"][50:100] = 8.0
    run.events.append(Event(3.0, "ground", "touch-down", 0.3, 0.1))
    assert compute(run, "landing_distance_m") == pytest.approx(distance, rel=1e-9)
    assert compute(run, "landing_distance_m", to_s=1.0) is None


def estimate_off(error_deg):
    """A level flight whose estimate rolls off by some angle over T [deg]."""
    run = made_up()
    half = np.radians(error_deg) / 2.0
    run.data["attitude"][:] = [1.0, 0.0, 0.0, 0.0]
    run.data["signals/attitude"][:] = 0.0
    run.data["signals/attitude"][:, 0], run.data["signals/attitude"][:, 1] = np.cos(half), np.sin(half)
    return estimate_events(run)


def test_an_estimate_that_is_far_off_for_long_is_an_event():
    """Grows by 4.5 deg/s from 1 s to 3 s: 5 deg are passed at 2.11 s, 1 deg at 1.22 s, 9 deg reached, back at 3.5 s."""
    error = np.interp(T, [0.0, 1.0, 3.0, 3.5, 4.0], [0.0, 0.0, 9.0, 9.0, 0.0])
    (event,) = estimate_off(error)
    assert (event.kind, event.t_s) == ("estimate", pytest.approx(1.0 + 5.0 / 4.5, abs=0.011))
    assert event.text == (
        "the estimate is what limits: attitude up to 9 deg off for 1.6 s, after 0.9 s in which the error grew"
    )


def test_an_estimate_that_is_off_for_a_moment_or_by_little_is_none():
    assert not estimate_off(np.where(np.abs(T - 2.0) < 0.2, 8.0, 0.0))
    assert not estimate_off(np.full(T.size, 4.9))
    assert len(estimate_off(np.full(T.size, 5.1))) == 1  # off from the start to the end
