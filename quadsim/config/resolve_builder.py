"""What the builder knows of a craft: the record that control blocks get as their `craft` argument."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from controllers.signals import BUILDER, LinkLoss, rows
from quadsim.config.craft_schema import Craft
from quadsim.config.craft_solids import rotor_places
from quadsim.config.equilibrium import static_factors, thrust_curve
from quadsim.config.esc_response import lags, own_time_constant
from quadsim.config.mass_properties import MassProperties, mass_properties
from quadsim.config.rates import physics_rate
from quadsim.config.resolve_drive import NOMINAL_CELL
from quadsim.config.resolve_position_sensors import CEP_PER_SIGMA
from quadsim.constants import G0
from quadsim.environment.magnetic import field_angles, field_vector
from quadsim.units import DEG, MICRO, MILLI

Array = NDArray[np.float64]


def resolve_builder(craft: Craft, plant: Any) -> Any:
    """BUILDER record: what the builder knows of the craft without loads, at the site of `plant`.

    The thrust curve is taken at a loaded pack of 3.7 V per cell, the voltage that the allocator corrects from.
    """
    builder = rows(BUILDER)[0]
    properties = mass_properties(craft)
    bare = plant.copy()
    bare.mass = properties.mass_kg
    builder.mass, builder.inertia[:] = properties.mass_kg, properties.inertia_kg_m2
    builder.effectiveness[:] = effectiveness(bare, properties, rotor_places(craft))
    builder.allocation[:], _ = allocation_of(np.array(builder.effectiveness))
    builder.nominal_voltage = NOMINAL_CELL * craft.battery.cells
    greatest, curve, hover = thrust_curve(bare, builder.nominal_voltage)
    builder.max_thrust, builder.thrust_curve, builder.hover_throttle = greatest, curve, hover
    builder.idle = craft.esc.idle_pct / 100.0
    builder.rotor_position[:] = rotor_places(craft) - properties.centre_of_mass_m
    builder.spin[:] = plant.spin
    builder.thrust_per_speed2, torque = static_factors(bare)
    builder.torque_per_thrust = torque / float(builder.thrust_per_speed2)
    _fill_timing(builder, craft, bare)
    _fill_battery(builder, craft, bare)
    _fill_inertial_sensor(builder, craft)
    _fill_position_sensors(builder, craft, plant)
    builder.link_loss = LinkLoss[craft.radio.link_loss.upper().replace(" ", "_")]
    builder.failsafe_delay = craft.radio.failsafe_delay_s
    return builder


def _fill_timing(builder: Any, craft: Craft, plant: Any) -> None:
    """Lag of the thrust in hover: the motor's own, after the ESC's; delay of sensor, ESC and the one tick to act."""
    hover = float(builder.hover_throttle)
    own = own_time_constant(plant, hover, float(builder.nominal_voltage))
    f, q = static_factors(plant)
    builder.yaw_lead = plant.rotor_inertia / (2.0 * q * np.sqrt(plant.mass * plant.gravity / (4.0 * f)))
    esc = lags(craft, plant)
    steps = np.linspace(0.0, 1.0, esc.shape[1])
    builder.motor_lag[:] = [own + float(np.interp(hover, steps, way)) for way in esc]
    delays = (craft.flight_controller.imu_delay_ms + craft.esc.delay_ms) * MILLI
    builder.loop_delay = delays + 1.0 / physics_rate(craft)


def _fill_battery(builder: Any, craft: Craft, plant: Any) -> None:
    battery = craft.battery
    builder.cells, builder.capacity = battery.cells, plant.capacity
    builder.reserve = battery.reserve_pct / 100.0
    builder.pack_resistance = plant.pack_resistance + plant.lead_resistance
    builder.cutoff_cell_voltage = battery.cutoff_cell_V


def _fill_inertial_sensor(builder: Any, craft: Craft) -> None:
    board = craft.flight_controller
    gyro, accelerometer = board.gyro, board.accelerometer
    milli_g = MILLI * G0
    builder.gyro_range = gyro.range_deg_s * DEG
    builder.gyro_density = gyro.noise_density_one_sided_deg_s_rtHz * DEG
    builder.gyro_bias_sigma = gyro.bias_deg_s * DEG
    builder.accel_density = accelerometer.noise_density_one_sided_mg_rtHz * milli_g
    builder.accel_bias_sigma = accelerometer.bias_mg * milli_g


def _fill_position_sensors(builder: Any, craft: Craft, plant: Any) -> None:
    """What is carried, the spread on its data sheet, and the magnetic field as the controller was told."""
    gnss, compass, finder = craft.gnss, craft.compass, craft.rangefinder
    builder.baro_sigma = craft.flight_controller.barometer.noise_m
    builder.speed_telemetry = float(craft.esc.speed_telemetry_Hz > 0.0)
    builder.gnss, builder.compass = float(gnss is not None), float(compass is not None)
    builder.rangefinder = float(finder is not None)
    if gnss is not None:
        builder.gnss_sigma[:] = gnss.cep_m / CEP_PER_SIGMA, gnss.vertical_sigma_m
        builder.gnss_velocity_sigma, builder.gnss_delay = gnss.velocity_sigma_m_s, gnss.delay_ms * MILLI
    if compass is not None:
        builder.mag_sigma = compass.noise_uT * MICRO
        strength, inclination, declination = field_angles(*map(float, plant.magnetic_field))
        told = declination + compass.declination_error_deg * DEG
        builder.local_field[:] = field_vector(strength, inclination, told)
    if finder is not None:
        builder.range_sigma = finder.noise_m


LEAST_AUTHORITY = 1e-3
"""Least singular value of an effectiveness, rows of length one, over the greatest, that counts as control; assumed."""


def allocation_of(effectiveness: Any) -> tuple[Any, tuple[str, ...]]:
    """Rotor thrusts per unit of roll, pitch, yaw and thrust asked for (4, 4), and the axes that no thrusts can turn.

    The inverse, wherever four upright rotors stand. Where it does not exist, as with all rotors turning the same way, yaw is
    given up first and the pseudo-inverse of the rest taken (least thrusts; R. Penrose, Proc. Cambridge Phil. Soc. 51, 1955):
    roll, pitch and thrust stay exact. Where not even those three are left, the pseudo-inverse of all serves what it can.
    """
    size = np.linalg.norm(effectiveness, axis=1)
    scaled = effectiveness / np.where(size > 0.0, size, 1.0)[:, None]
    if _controls(scaled):
        return np.linalg.inv(effectiveness), ()
    out = np.zeros((4, 4))
    kept = [0, 1, 3]
    if _controls(scaled[kept]):
        out[:, kept] = np.linalg.pinv(scaled[kept]) / size[kept]
        return out, ("yaw",)
    lost = tuple(name for k, name in enumerate(("roll", "pitch")) if not _controls(scaled[[k, 3]]))
    out[:] = np.linalg.pinv(scaled, rcond=LEAST_AUTHORITY) / np.where(size > 0.0, size, np.inf)
    return out, (*(lost or ("roll or pitch",)), "yaw")


def _controls(scaled: Array) -> bool:
    values = np.linalg.svd(scaled, compute_uv=False)
    return bool(values[-1] > LEAST_AUTHORITY * values[0])


def effectiveness(plant: Any, properties: MassProperties, hubs: Array) -> Array:
    """Roll, pitch, yaw acceleration [rad/s2] and thrust [-] per newton of each rotor's thrust (4, 4).

    A thrust T at (x, y) from the centre of mass gives the moment (-y T, x T), and the torque on a rotor that spins
    clockwise turns the body counter-clockwise: -s T q/f.
    """
    arm = hubs - properties.centre_of_mass_m
    f, q = static_factors(plant)
    moments = np.array([-arm[:, 1], arm[:, 0], -np.asarray(plant.spin) * q / f])
    return np.vstack([np.linalg.solve(properties.inertia_kg_m2, moments), np.ones(4)])
