"""What drives a craft, from its file to the PLANT record: motors and their warmth, ESCs, pack."""

from __future__ import annotations

import math
from typing import Any

from quadsim.config.craft_schema import Craft
from quadsim.config.drive_schema import Battery, Motor
from quadsim.config.warmth import settled_in_hover
from quadsim.dynamics.battery import LOW_CHARGE_RISE
from quadsim.environment.atmosphere import Site, speed_of_sound, viscosity
from quadsim.units import CELSIUS, GRAM, MAH, MILLI, MM, RPM, torque_constant

COPPER_PER_K = 0.00393
"""Relative rise of copper's resistance [1/K], at 20 deg C. IEC 60028 (1925)."""
NOMINAL_CELL = 3.7
"""Cell voltage at which a lithium-polymer pack is labelled [V]; common practice, no source. Loaded, in mid-flight."""
TIP_MACH = 0.6
"""Tip speed over speed of sound from which noise and losses grow; common practice, no source."""
COPPER_SHARE, COPPER_HEAT, STEEL_HEAT = 0.25, 385.0, 500.0
"""Copper's share of a motor's mass [-], assumed; specific heats of copper and of steel with some aluminium [J/(kg K)],
from memory (pure: 385, 460, 900)."""
INSIDE = 300.0
"""Conductance from winding to case per outside area of the motor [W/(m2 K)]; assumed: slot insulation of some tenths of a
millimetre, over a slot wall about as large as the outside."""
VENTILATED = 2.0
"""Area that the air reaches over the outside area of an open motor [-]; assumed."""
STILL = 10.0
"""Heat transfer in still air, convection and radiation [W/(m2 K)]; textbooks give 5 to 25 (from memory)."""
PACK_HEAT, PACK_TO_AIR = 1000.0, 15.0
"""Specific heat of a lithium-polymer pack [J/(kg K)] (H. Maleki et al., J. Electrochem. Soc. 146(3), 1999, 947-954; from
memory) and heat transfer at its wrapped surface in flight [W/(m2 K)] (assumed)."""
AIR_CONDUCTIVITY, PRANDTL = 0.0257, 0.71
"""Of air at 20 deg C [W/(m K)], [-]. Incropera et al., Fundamentals of Heat and Mass Transfer, table A.4; from memory."""


def fill_drive(plant: Any, craft: Craft, site: Site) -> None:
    """Circuit of motors, ESCs and pack, and the limits of motor and propeller."""
    motor, esc = craft.motor, craft.esc
    plant.air_temperature = site.temperature_C + CELSIUS
    plant.torque_constant = torque_constant(motor.kv_rpm_per_V)
    plant.motor_resistance, plant.copper_per_kelvin = motor.resistance_mohm * MILLI, COPPER_PER_K
    plant.esc_resistance = esc.resistance_mohm * MILLI
    plant.no_load_current, plant.no_load_slope = no_load(motor, NOMINAL_CELL * craft.battery.cells)
    plant.current_limit = min(motor.current_limit_A, esc.current_limit_A)
    plant.braking = float(esc.braking)
    plant.winding_limit = motor.winding_limit_C + CELSIUS
    plant.magnet_limit = motor.magnet_limit_C + CELSIUS
    sound = float(speed_of_sound(plant.air_temperature))
    plant.loud_speed = TIP_MACH * sound / (craft.propeller.diameter_in * 0.0127)
    plant.propeller_limit = math.inf if craft.propeller.max_rpm is None else craft.propeller.max_rpm * RPM
    plant.avionics_current = craft.flight_controller.pack_current_A
    _fill_pack(plant, craft.battery, site)


def no_load(motor: Motor, nominal: float) -> tuple[float, float]:
    """No-load current at any speed [A] and what it gains per rotor speed [A s/rad].

    The stated current I0 belongs to the speed (V - I0 R)/kt of its test: I0 = i00 + i01 omega. M. Drela, Second-Order DC
    Electric Motor Model (MIT, 2006; from memory).
    """
    current, iron = motor.no_load_current_A, motor.no_load_iron_pct / 100.0
    volts = (motor.no_load_V or nominal) - current * motor.resistance_mohm * MILLI
    speed = max(volts, 0.0) / torque_constant(motor.kv_rpm_per_V)
    return (current * (1.0 - iron), current * iron / speed) if speed > 0.0 else (current, 0.0)


def _fill_pack(plant: Any, battery: Battery, site: Site) -> None:
    cells = battery.cells * battery.cell_resistance_mohm * MILLI
    plant.cells, plant.full_cell_voltage = battery.cells, battery.full_cell_V
    plant.pack_resistance = cells * (1.0 + battery.resistance_growth_pct / 100.0)
    plant.lead_resistance = battery.lead_resistance_mohm * MILLI
    plant.relaxation_resistance = cells * battery.relaxation_ratio
    plant.relaxation_capacitance = battery.relaxation_time_s / plant.relaxation_resistance
    plant.capacity = battery.capacity_mAh * MAH * (1.0 - battery.capacity_fade_pct / 100.0)
    plant.cold_resistance = battery.cold_resistance_K
    plant.low_charge_resistance = LOW_CHARGE_RISE if battery.low_charge_rise else 0.0
    plant.cold_capacity = battery.cold_capacity_pct_K / 100.0
    length, width, height = (side * MM for side in battery.size_mm)
    surface = 2.0 * (length * width + width * height + height * length)
    plant.pack_heat = _given(battery.heat_J_K, battery.mass_g * GRAM * PACK_HEAT)
    plant.pack_to_air = _given(battery.to_air_W_K, surface * PACK_TO_AIR)
    stated = getattr(site, "pack_temperature_C", None)
    plant.pack_temperature = plant.air_temperature if stated is None else stated + CELSIUS


def fill_heat(plant: Any, craft: Craft) -> None:
    """Warmth of the motors, once mass, rotors and circuit are there, and the winding temperature for predictions."""
    motor = craft.motor
    diameter, height, mass = motor.diameter_mm * MM, motor.height_mm * MM, motor.mass_g * GRAM
    outside = math.pi * diameter * (height + diameter / 2.0)
    disc = 2.0 * float(plant.air_density) * math.pi * float(plant.rotor_radius) ** 2
    plant.hover_flow_squared = float(plant.mass * plant.gravity) / 4.0 / disc
    flow = math.sqrt(plant.hover_flow_squared)
    cooled = cylinder_cooling(diameter, flow, float(plant.air_density), float(plant.air_temperature))
    plant.winding_heat = _given(motor.winding_heat_J_K, COPPER_SHARE * mass * COPPER_HEAT)
    plant.case_heat = _given(motor.case_heat_J_K, (1.0 - COPPER_SHARE) * mass * STEEL_HEAT)
    plant.winding_to_case = _given(motor.winding_to_case_W_K, INSIDE * outside)
    plant.case_to_still_air = STILL * outside
    plant.case_to_air = _given(motor.case_to_air_W_K, VENTILATED * cooled * outside)
    plant.case_to_still_air = min(plant.case_to_still_air, plant.case_to_air)
    stated = motor.working_temperature_C
    plant.working_temperature = settled_in_hover(plant) if stated is None else stated + CELSIUS


def cylinder_cooling(diameter: float, flow: float, density: float, temperature: float) -> float:
    """Heat transfer [W/(m2 K)] of a cylinder of a diameter [m] in cross flow [m/s] of air of a density [kg/m3] at [K].

    S. W. Churchill & M. Bernstein, J. Heat Transfer 99(2), 1977, 300-306 (from memory):
    Nu = 0.3 + 0.62 Re^(1/2) Pr^(1/3) (1 + (0.4/Pr)^(2/3))^(-1/4) (1 + (Re/282000)^(5/8))^(4/5).
    """
    reynolds = density * flow * diameter / float(viscosity(temperature))
    laminar = 0.62 * math.sqrt(reynolds) * PRANDTL ** (1 / 3) / (1.0 + (0.4 / PRANDTL) ** (2 / 3)) ** 0.25
    nusselt = 0.3 + laminar * (1.0 + (reynolds / 282000.0) ** 0.625) ** 0.8
    return float(nusselt * AIR_CONDUCTIVITY / diameter)


def _given(stated: float | None, estimate: float) -> float:
    return float(estimate if stated is None else stated)
