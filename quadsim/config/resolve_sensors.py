"""From a checked craft file to the record of its sensors and of its command path, in SI and in ticks."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from controllers.signals import rows
from quadsim.config.avionics_schema import Accelerometer, Gyro
from quadsim.config.craft_schema import Craft
from quadsim.config.esc_response import lags
from quadsim.config.inertial_errors import draw_errors, flicker_keep, flicker_kick, reading_matrix
from quadsim.config.resolve_position_sensors import blend, fill_position_sensors
from quadsim.constants import G0
from quadsim.errors import InputError, Problem
from quadsim.sensors.clock import Clock, sensor_clock
from quadsim.sensors.inertial_bias import WALK_EVERY
from quadsim.sensors.records import RING, SENSORS
from quadsim.units import DEG, GRAM, HOUR, MICRO, MILLI, MM


def resolve_sensors(craft: Craft, plant: Any, physics_rate_Hz: int, seed: int) -> Any:
    """SENSORS record of a craft at a physics rate [Hz]; turn-on biases are drawn from `seed`.

    Raises
    ------
    InputError
        when a delay needs more ticks than the delay lines hold.
    """
    board = craft.flight_controller
    sensors = rows(SENSORS)[0]
    draws = np.random.default_rng([int(seed), 0x51]).standard_normal(6)
    rate = board.rates_Hz.imu
    sensors.imu_clock[:] = sensor_clock(rate, physics_rate_Hz, board.imu_clock_error_ppm)
    mounting = mounting_matrix(*(angle * DEG for angle in board.mounted_roll_pitch_yaw_deg))
    sensors.mounting_believed[:] = mounting.T
    _fill_gyro(sensors, board.gyro, rate, draws[:3])
    _fill_accelerometer(sensors, board.accelerometer, rate, draws[3:])
    _fill_matrices(sensors, board.gyro, board.accelerometer, mounting, seed)
    _fill_vibration(sensors, craft, rate)
    sensors.imu_delay = board.imu_delay_ms * MILLI * physics_rate_Hz
    sensors.imu_position[:] = np.array(board.at_mm) * MM - plant.centre_of_mass
    fill_position_sensors(sensors, craft, plant, physics_rate_Hz, seed)
    _fill_command_path(sensors, craft, plant, physics_rate_Hz)
    _check_delay_lines(sensors, craft)
    return sensors


def white_noise(density: float, rate: float) -> float:
    """Standard deviation of one sample at `rate` [Hz]: n sqrt(fs/2), n a ONE-SIDED density [unit/sqrt(Hz)].

    IEEE Std 952-1997, annex C (from memory). With a two-sided density it would be n sqrt(fs), a factor 1.41 more.
    """
    return density * math.sqrt(rate / 2.0)


def walk_step(density: float, rate: float) -> float:
    """Standard deviation of one bias step of a random walk K [unit/sqrt(s)]: K sqrt(dt), dt = WALK_EVERY/rate."""
    return density * math.sqrt(WALK_EVERY / rate)


def mode_step(frequency: float, damping: float, rate: float) -> NDArray[np.float64]:
    """Eight numbers that advance y'' + 2 z w y' + w^2 y = u by one sample, for a frequency [Hz], a damping ratio and a rate [Hz].

    In the order [y: y, y', u before, u now; y': the same]. Exact for a drive u that runs straight from sample to sample:
    exponential of the oscillator with u and du/dt as further states (G. F. Franklin, J. D. Powell & M. Workman, Digital
    Control of Dynamic Systems, 3rd ed., sec. 6.3.2, triangle hold; from memory).
    """
    w, dt = 2.0 * math.pi * frequency, 1.0 / rate
    whole = np.zeros((4, 4))
    whole[:2] = [[0.0, 1.0, 0.0, 0.0], [-w * w, -2.0 * damping * w, 1.0, 0.0]]
    whole[2, 3] = 1.0
    from scipy.linalg import expm  # few crafts have a mode; every start would wait for it

    moved = expm(whole * dt)
    before, now = moved[:2, 2] - moved[:2, 3] / dt, moved[:2, 3] / dt
    return np.column_stack([moved[:2, :2], before, now]).ravel()


def mounting_matrix(roll: float, pitch: float, yaw: float) -> NDArray[np.float64]:
    """Body axes to sensor axes (3, 3): turned by yaw, then pitch, then roll [rad], ISO 1151-1."""
    cr, sr, cp, sp, cy, sy = (f(a) for a in (roll, pitch, yaw) for f in (math.cos, math.sin))
    return np.array(
        [
            [cp * cy, cp * sy, -sp],
            [sr * sp * cy - cr * sy, sr * sp * sy + cr * cy, sr * cp],
            [cr * sp * cy + sr * sy, cr * sp * sy - sr * cy, cr * cp],
        ]
    )


def _fill_gyro(sensors: Any, gyro: Gyro, rate: float, draws: NDArray[np.float64]) -> None:
    sensors.gyro_noise = white_noise(gyro.noise_density_one_sided_deg_s_rtHz, rate) * DEG
    sensors.gyro_bias[:] = gyro.bias_deg_s * DEG * draws
    sensors.gyro_walk = walk_step(gyro.bias_walk_deg_s_rts, rate) * DEG
    sensors.gyro_step, sensors.gyro_range = gyro.resolution_deg_s * DEG, gyro.range_deg_s * DEG
    sensors.gyro_blend = blend(gyro.bandwidth_Hz, rate)
    sensors.gyro_lag = 1.0 / (2.0 * math.pi * gyro.bandwidth_Hz)
    sensors.flicker_keep[:] = flicker_keep(rate, WALK_EVERY)
    sensors.gyro_kick[:] = flicker_kick(gyro.bias_instability_deg_h * DEG / HOUR, sensors.flicker_keep)


def _fill_accelerometer(
    sensors: Any, accelerometer: Accelerometer, rate: float, draws: NDArray[np.float64]
) -> None:
    milli_g = MILLI * G0
    sensors.accel_noise = white_noise(accelerometer.noise_density_one_sided_mg_rtHz, rate) * milli_g
    sensors.accel_bias[:] = accelerometer.bias_mg * milli_g * draws
    sensors.accel_walk = walk_step(accelerometer.bias_walk_mg_rts, rate) * milli_g
    sensors.accel_step, sensors.accel_range = (
        accelerometer.resolution_mg * milli_g,
        accelerometer.range_g * G0,
    )
    sensors.accel_blend = blend(accelerometer.bandwidth_Hz, rate)
    sensors.accel_lag = 1.0 / (2.0 * math.pi * accelerometer.bandwidth_Hz)
    sensors.accel_kick[:] = flicker_kick(
        accelerometer.bias_instability_ug * MICRO * G0, flicker_keep(rate, WALK_EVERY)
    )
    sensors.accel_rectification = accelerometer.vibration_rectification_mg_g2 * MILLI / G0


def _fill_matrices(
    sensors: Any, gyro: Gyro, accelerometer: Accelerometer, mounting: NDArray[np.float64], seed: int
) -> None:
    turns, pushes = draw_errors(seed)
    sensors.gyro_matrix[:] = reading_matrix(
        mounting, gyro.scale_error_pct / 100.0, gyro.misalignment_deg * DEG, turns
    )
    sensors.accel_matrix[:] = reading_matrix(
        mounting, accelerometer.scale_error_pct / 100.0, accelerometer.misalignment_deg * DEG, pushes
    )
    sensors.gyro_g[:] = gyro.g_sensitivity_deg_s_g * DEG / G0 * turns.g @ mounting


def _fill_vibration(sensors: Any, craft: Craft, rate: float) -> None:
    flexible = craft.frame.flexible
    sensors.imu_period = 1.0 / rate
    sensors.imbalance[:] = craft.propeller.imbalance_gmm * GRAM * MM
    if flexible is not None:
        sensors.mode_frequency = 2.0 * math.pi * flexible.frequency_Hz
        sensors.mode_damping = flexible.damping_pct / 100.0
        sensors.mode_step[:] = mode_step(flexible.frequency_Hz, flexible.damping_pct / 100.0, rate)
        sensors.mode_share[:] = flexible.share
    sensors.shaking = float(flexible is not None or craft.propeller.imbalance_gmm > 0.0)


def _fill_command_path(sensors: Any, craft: Craft, plant: Any, physics_rate_Hz: float) -> None:
    """The loop puts a command in force one tick after it was computed: that tick is not counted again."""
    esc = craft.esc
    sensors.motor_delay = max(round(esc.delay_ms * MILLI * physics_rate_Hz) - 1, 0)
    sensors.motor_every = max(round(physics_rate_Hz / esc.update_rate_Hz), 1)
    lag = np.maximum(lags(craft, plant), 1e-9)
    sensors.motor_blend[:] = 1.0 - np.exp(-1.0 / (lag * physics_rate_Hz))
    sensors.motor_levels = esc.levels


def _check_delay_lines(sensors: Any, craft: Craft) -> None:
    """Delay lines have RING slots: one per sample of the inertial sensor, one per tick of the motor commands."""
    lines = (
        (
            "flight_controller.imu_delay_ms",
            sensors.imu_delay * sensors.imu_clock[Clock.PER_TICK],
            "a slower rates_Hz.imu",
        ),
        ("esc.delay_ms", sensors.motor_delay, "slower loops"),
    )
    problems = [
        Problem(
            where,
            f"needs {slots:.0f} slots of delay line",
            f"there are {RING - 2}",
            f"Give less delay, or {remedy}",
        )
        for where, slots, remedy in lines
        if slots > RING - 2
    ]
    if problems:
        raise InputError(problems, str(craft.path or craft.name))
