"""From a checked craft file to the rows of its slow sensors: what tells the place, and what ESCs and power sensor report."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np

from quadsim.config.craft_schema import Craft
from quadsim.config.position_sensors_schema import Barometer, Compass, Rangefinder, SatelliteReceiver
from quadsim.constants import R_AIR
from quadsim.environment.atmosphere import pressure_height, standard_temperature
from quadsim.errors import InputError, Problem
from quadsim.sensors.place_records import NO_DROP, SLOTS, Slow
from quadsim.units import DEG, MICRO, MILLI, MM, RPM

CEP_PER_SIGMA = math.sqrt(2.0 * math.log(2.0))
"""Radius that holds half of a circular normal distribution over its deviation per axis: median of Rayleigh's, 1.17741 [-]."""


def blend(corner: float, rate: float) -> float:
    """Share of a new sample in a first-order low-pass with a corner [Hz] run at `rate` [Hz]: 1 - exp(-2 pi f dt)."""
    return 1.0 - math.exp(-2.0 * math.pi * corner / rate)


def fill_position_sensors(sensors: Any, craft: Craft, plant: Any, physics_rate_Hz: float, seed: int) -> None:
    """Fill the rows of PLACE_TABLE; what calibration left is drawn from `seed`.

    Raises
    ------
    InputError
        when a delay needs more samples than the delay lines hold.
    """
    draws = np.random.default_rng([int(seed), 0x55])
    _fill_clock(sensors, craft, physics_rate_Hz)
    _fill_barometer(sensors, craft.flight_controller.barometer, plant)
    _fill_power(sensors, craft, draws)
    _fill_compass(sensors, craft.compass, draws)
    if craft.gnss is not None:
        _fill_satellite(sensors, craft.gnss, plant, physics_rate_Hz)
    if craft.rangefinder is not None:
        _fill_rangefinder(sensors, craft.rangefinder, plant)


def _clocks(craft: Craft) -> Iterator[tuple[Slow, str, float, float, float]]:
    """Sensor, its section, rate [Hz], delay [ms] and share of lost samples [%] of every slow sensor there is."""
    sections: tuple[tuple[Slow, str, Any], ...] = (
        (Slow.BAROMETER, "flight_controller.barometer", craft.flight_controller.barometer),
        (Slow.SATELLITE, "gnss", craft.gnss),
        (Slow.MAGNETOMETER, "compass", craft.compass),
        (Slow.RANGEFINDER, "rangefinder", craft.rangefinder),
    )
    for kind, name, section in sections:
        if section is not None:
            yield kind, f"{name}.delay_ms", section.rate_Hz, section.delay_ms, section.dropout_pct
    if craft.esc.speed_telemetry_Hz > 0.0:
        yield (
            Slow.TELEMETRY,
            "esc.telemetry_delay_ms",
            craft.esc.speed_telemetry_Hz,
            craft.esc.telemetry_delay_ms,
            0.0,
        )


def _fill_clock(sensors: Any, craft: Craft, physics_rate_Hz: float) -> None:
    sensors.slow_drop[:] = NO_DROP
    problems = []
    for kind, where, rate, delay_ms, lost_pct in _clocks(craft):
        every = max(physics_rate_Hz / rate, 1.0)
        delay = round(delay_ms * MILLI * physics_rate_Hz)
        sensors.slow_every[kind], sensors.slow_delay[kind] = every, delay
        if lost_pct > 0.0:
            from scipy.special import ndtri  # every start would wait for it

            sensors.slow_drop[kind] = ndtri(lost_pct / 100.0)
        if delay / every > SLOTS - 2:
            most = (SLOTS - 2) * every / physics_rate_Hz / MILLI
            given, allowed = f"is {delay_ms:g}", f"must be up to {most:.4g} ms at that rate"
            problems.append(Problem(where, given, allowed, "Give less delay, or a slower rate"))
    if problems:
        raise InputError(problems, str(craft.path or craft.name))


def _fill_barometer(sensors: Any, barometer: Barometer, plant: Any) -> None:
    rate = barometer.rate_Hz
    sensors.baro_noise, sensors.baro_step = barometer.noise_m, barometer.resolution_m
    sensors.baro_blend = blend(barometer.bandwidth_Hz, rate)
    sensors.baro_scale = 1.0 if barometer.conversion == "day's air" else standard_scale(plant)
    sensors.baro_port = barometer.static_pressure_coefficient / (2.0 * plant.gravity)
    discs = 4.0 * math.pi * plant.rotor_radius**2
    sensors.baro_wash = barometer.wash_pct / 100.0 / (discs * plant.air_density * plant.gravity)
    sensors.baro_walk = barometer.drift_m_rts / math.sqrt(rate)
    sensors.baro_warm_up[:] = barometer.warm_up_m, 1.0 / barometer.warm_up_s


def standard_scale(plant: Any) -> float:
    """Height by the standard atmosphere over true height, for small heights: T_standard(p)/T, as dh = -R T dp/(g p)."""
    pressure = float(plant.air_density) * R_AIR * float(plant.air_temperature)
    return float(standard_temperature(pressure_height(pressure)) / plant.air_temperature)


def _fill_power(sensors: Any, craft: Craft, draws: np.random.Generator) -> None:
    power = craft.flight_controller.power_sensor
    scale, offset, volts = draws.standard_normal(3)
    sensors.current_scale = 1.0 + power.current_scale_pct / 100.0 * scale
    sensors.current_offset = power.current_offset_A * offset
    sensors.voltage_scale = 1.0 + power.voltage_scale_pct / 100.0 * volts
    sensors.current_step, sensors.voltage_step = power.current_resolution_A, power.voltage_resolution_V
    sensors.telemetry_step = craft.esc.telemetry_resolution_rpm * RPM


def _fill_compass(sensors: Any, compass: Compass | None, draws: np.random.Generator) -> None:
    bias, matrix = draws.standard_normal(3), draws.standard_normal((3, 3))
    sensors.mag_matrix[:] = np.eye(3)
    if compass is None:
        return
    sensors.mag_noise, sensors.mag_step = compass.noise_uT * MICRO, compass.resolution_uT * MICRO
    sensors.mag_bias[:] = compass.hard_iron_uT * MICRO * bias
    sensors.mag_matrix[:] += compass.soft_iron_pct / 100.0 * matrix
    sensors.mag_current[:] = np.array(compass.per_ampere_uT) * MICRO


def _fill_satellite(sensors: Any, gnss: SatelliteReceiver, plant: Any, physics_rate_Hz: float) -> None:
    sensors.gnss_place[:] = np.array(gnss.at_mm) * MM - plant.centre_of_mass
    sigma = np.array([gnss.cep_m / CEP_PER_SIGMA, gnss.vertical_sigma_m])
    sensors.gnss_white[:] = sigma * math.sqrt(gnss.white_pct / 100.0)
    sensors.gnss_wander[:] = sigma * math.sqrt(1.0 - gnss.white_pct / 100.0)
    sensors.gnss_keep = math.exp(-1.0 / (gnss.rate_Hz * gnss.correlation_s))
    sensors.gnss_speed_noise = gnss.velocity_sigma_m_s
    sensors.gnss_first_fix = round(gnss.first_fix_s * physics_rate_Hz)


def _fill_rangefinder(sensors: Any, finder: Rangefinder, plant: Any) -> None:
    sensors.range_place[:] = np.array(finder.at_mm) * MM - plant.centre_of_mass
    sensors.range_limits[:] = finder.least_m, finder.greatest_m
    sensors.range_upright = math.cos(finder.greatest_tilt_deg * DEG)
    sensors.range_noise[:] = finder.noise_m, finder.noise_pct / 100.0
    sensors.range_step = finder.resolution_m
