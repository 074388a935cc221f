"""From a checked craft file to the records that the flight loop reads. Everything derived is derived here."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from controllers.signals import rows
from quadsim.config.airframe_estimate import contact_points, drag_estimate, feet_estimate, with_loads
from quadsim.config.craft_schema import Craft
from quadsim.config.craft_solids import rotor_places
from quadsim.config.download import download_shares
from quadsim.config.mass_properties import Load, MassProperties, mass_properties, rotor_inertia
from quadsim.config.propeller_evidence import propeller_map
from quadsim.config.resolve_drive import fill_drive, fill_heat
from quadsim.config.slipstream_estimate import slipstream_drag
from quadsim.constants import G0
from quadsim.dynamics.ground import REACH
from quadsim.dynamics.records import PLANT
from quadsim.dynamics.rotor_map import RotorMap
from quadsim.dynamics.state import ROTOR_NAMES
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError, Problem
from quadsim.units import INCH, RPM

Array = NDArray[np.float64]

REST_DEPTH = 0.5e-3
"""Depth to which the feet sink when the craft stands [m]; assumed, stiff against any flight load, soft against 4 kHz."""
TREND_TO = 1.6
"""Speed over hover speed at which the trend with speed meets the map again: full throttle at a thrust to weight of 2.5."""


def resolve_plant(craft: Craft, site: Site, loads: Sequence[Load] = ()) -> Any:
    """PLANT record (`np.record`, fields as attributes) of a craft at a site with rigid loads.

    The rotor map is taken at the hover speed without loads, so it stays the same when a load comes or goes.
    """
    plant = rows(PLANT)[0]
    properties = mass_properties(craft, loads)
    _fill_body(plant, craft, properties)
    plant.gravity, plant.air_density = site.gravity, site.density
    plant.magnetic_field[:] = site.magnetic_field
    fill_drive(plant, craft, site)
    _fill_rotors(plant, craft, site, properties if not loads else mass_properties(craft))
    _fill_airframe(plant, craft, properties, loads)
    plant.download[:] = download_shares(rotor_places(craft), float(plant.rotor_radius), loads)
    fill_heat(plant, craft)
    return plant


def _fill_body(plant: Any, craft: Craft, properties: MassProperties) -> None:
    turning = rotor_inertia(craft)
    inertia = properties.inertia_kg_m2
    plant.mass, plant.centre_of_mass[:] = properties.mass_kg, properties.centre_of_mass_m
    plant.inertia[:] = inertia
    plant.inertia_inverse[:] = np.linalg.inv(inertia - np.diag([0.0, 0.0, 4.0 * turning]))
    plant.rotor_inertia = turning
    plant.rotor_position[:] = rotor_places(craft) - properties.centre_of_mass_m
    plant.spin[:] = [1.0 if getattr(craft.frame.spin, name) == "cw" else -1.0 for name in ROTOR_NAMES]


def _fill_rotors(plant: Any, craft: Craft, site: Site, unloaded: MassProperties) -> None:
    propeller = craft.propeller
    plant.rotor_radius = propeller.diameter_in * INCH / 2.0
    plant.per_disc_mass = 1.0 / (2.0 * site.density * math.pi * plant.rotor_radius**2)
    plant.installed_loss = propeller.installed_loss_pct / 100.0
    plant.slipstream_drag = slipstream_drag(craft, unloaded.items, site.density)
    hubs = rotor_places(craft)
    plant.beside = np.mean(np.linalg.norm(hubs - np.roll(hubs, 1, axis=0), axis=1))
    plant.across = np.mean(np.linalg.norm(hubs - np.roll(hubs, 2, axis=0), axis=1))
    blades = propeller_map(craft)
    free = 1.0 / (1.0 - plant.installed_loss) if blades.measured_on == "own arm" else 1.0
    scales = np.array([propeller.thrust_scale * free, propeller.torque_scale, 1.0, 1.0, 1.0])
    rpm = _hover_rpm(plant, blades, scales[0], unloaded.mass_kg * site.gravity)
    plant.rotor_map[:], plant.map_speed = blades.grid_at(rpm) * scales, rpm * RPM
    faster = blades.grid_at(TREND_TO * rpm) * scales
    plant.rotor_trend[:] = (faster - np.asarray(plant.rotor_map)) / math.log(TREND_TO)


def _hover_rpm(plant: Any, blades: RotorMap, scale: float, weight: float) -> float:
    """Hover speed [rpm] for a factor on the map's thrust; some passes settle the map's weak trend with speed."""
    thrust, rpm, diameter = weight / 4.0 / (1.0 - plant.installed_loss), blades.reference_rpm, blades.diameter
    for _ in range(12):
        ct = scale * blades.coefficients(rpm)[0]
        rpm = 60.0 * math.sqrt(thrust / (plant.air_density * ct * diameter**4))
    return float(rpm)


def _fill_airframe(plant: Any, craft: Craft, properties: MassProperties, loads: Sequence[Load]) -> None:
    landing = craft.landing
    area, centre = with_loads(*drag_estimate(craft, properties.items), loads)
    plant.drag_area[:], plant.drag_centre[:] = area, centre - properties.centre_of_mass_m
    feet = contact_points(feet_estimate(craft, properties.items), loads)
    plant.feet[:] = feet - properties.centre_of_mass_m
    reach = float(np.max(np.linalg.norm(plant.feet, axis=1)))
    if reach >= REACH:
        given = f"a foot lies {reach:.2f} m from the centre of mass"
        raise InputError(
            [Problem("landing.feet_mm", given, f"must be under {REACH:g} m")], str(craft.path or craft.name)
        )
    unloaded = mass_properties(craft).mass_kg
    stiffness = landing.stiffness_N_m
    plant.contact_stiffness = unloaded * G0 / (4.0 * REST_DEPTH) if stiffness is None else stiffness
    critical = 2.0 * math.sqrt(4.0 * plant.contact_stiffness * unloaded)
    plant.contact_damping = landing.damping_ratio * critical / 4.0
    plant.friction, plant.crash_speed = landing.friction, landing.crash_speed_m_s
