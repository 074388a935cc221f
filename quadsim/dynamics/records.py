"""Records of the plant: parameters of one craft at one loading, and what is held over one physics step."""

from __future__ import annotations

import numpy as np

from controllers.signals import F, Signal, rows
from quadsim.dynamics.rotor_map import N_AXIAL, N_CHANNELS, N_INPLANE

MAP = (N_AXIAL, N_INPLANE, N_CHANNELS)
N_GUSTS = 16
"""Most gusts that one flight may have."""

PLANT_TABLE = (
    Signal("mass", (), "kg", "", "resolve", "mass with everything fixed to it; a load on a line is not"),
    Signal(
        "inertia", (3, 3), "kg m2", "body", "resolve", "tensor about the centre of mass, rotors as if locked"
    ),
    Signal(
        "inertia_inverse", (3, 3), "1/(kg m2)", "body", "resolve", "inverse without the rotors' axial inertia"
    ),
    Signal("centre_of_mass", (3,), "m", "body", "resolve", "from the frame's origin"),
    Signal("gravity", (), "m/s2", "", "resolve", "acceleration of gravity"),
    Signal("air_density", (), "kg/m3", "", "resolve", "density of the air at the site"),
    Signal("rotor_position", (4, 3), "m", "body", "resolve", "hubs from the centre of mass"),
    Signal("rotor_radius", (), "m", "", "resolve", "radius of a rotor"),
    Signal("rotor_inertia", (), "kg m2", "", "resolve", "motor bell and propeller about the shaft"),
    Signal("spin", (4,), "-", "body", "resolve", "+1 clockwise seen from above, -1 counter-clockwise"),
    Signal(
        "rotor_map", MAP, "-", "", "resolve", "CT, CP, CH, CMR, CMP over the advance ratios, at map_speed"
    ),
    Signal("rotor_trend", MAP, "-", "", "resolve", "their change per unit of ln(speed/map_speed)"),
    Signal("map_speed", (), "rad/s", "", "resolve", "rotor speed of rotor_map: that of hover without loads"),
    Signal("installed_loss", (), "-", "", "resolve", "share of the hover thrust lost on the craft"),
    Signal(
        "download",
        (4,),
        "-",
        "",
        "resolve",
        "share of each rotor's thrust that its wake gives back to a payload",
    ),
    Signal(
        "slipstream_drag",
        (),
        "N s/m per N^0.5",
        "",
        "resolve",
        "drag of what one wake blows at, per root thrust",
    ),
    Signal("per_disc_mass", (), "m/kg", "", "resolve", "1/(2 rho A) of one rotor disc"),
    Signal("beside", (), "m", "", "resolve", "mean distance of neighbouring hubs"),
    Signal("across", (), "m", "", "resolve", "mean distance of opposite hubs"),
    Signal("drag_area", (3,), "m2", "body", "resolve", "drag coefficient times area along each body axis"),
    Signal("drag_centre", (3,), "m", "body", "resolve", "where that drag acts, from the centre of mass"),
    Signal("torque_constant", (), "N m/A", "", "resolve", "torque per motor current; also V per rad/s"),
    Signal("motor_resistance", (), "ohm", "", "resolve", "winding, line to line, at 20 deg C"),
    Signal("copper_per_kelvin", (), "1/K", "", "resolve", "relative rise of the winding's resistance"),
    Signal("esc_resistance", (), "ohm", "", "resolve", "conducting path of one motor"),
    Signal("no_load_current", (), "A", "", "resolve", "motor current lost to friction at any speed"),
    Signal("no_load_slope", (), "A s/rad", "", "resolve", "motor current lost to iron per rotor speed"),
    Signal("winding_heat", (), "J/K", "", "resolve", "heat capacity of one winding"),
    Signal("case_heat", (), "J/K", "", "resolve", "heat capacity of the rest of one motor"),
    Signal("winding_to_case", (), "W/K", "", "resolve", "conductance inside one motor"),
    Signal("case_to_air", (), "W/K", "", "resolve", "conductance of one motor to the air, in hover"),
    Signal("case_to_still_air", (), "W/K", "", "resolve", "the same without any flow"),
    Signal("hover_flow_squared", (), "m2/s2", "", "resolve", "square of the induced velocity in hover"),
    Signal("magnetic_field", (3,), "T", "world", "resolve", "the Earth's, north-east-down"),
    Signal("air_temperature", (), "K", "", "resolve", "of the air at the site"),
    Signal("working_temperature", (), "K", "", "resolve", "of the windings in long hover: for predictions"),
    Signal("winding_limit", (), "K", "", "resolve", "temperature that ends the flight"),
    Signal("magnet_limit", (), "K", "", "resolve", "temperature from which the magnets suffer"),
    Signal("loud_speed", (), "rad/s", "", "resolve", "rotor speed at a tip Mach number of 0.6"),
    Signal("propeller_limit", (), "rad/s", "", "resolve", "greatest rotor speed its maker allows"),
    Signal("current_limit", (), "A", "", "resolve", "greatest motor current the ESC lets through"),
    Signal("braking", (), "-", "", "resolve", "1 if the ESC brakes by feeding current back, else 0"),
    Signal("cells", (), "-", "", "resolve", "cells in series"),
    Signal("full_cell_voltage", (), "V", "", "resolve", "open-circuit voltage of a full cell"),
    Signal(
        "pack_resistance", (), "ohm", "", "resolve", "DC-pulse resistance of the cells, 20 deg C, charged"
    ),
    Signal("lead_resistance", (), "ohm", "", "resolve", "of the pack's leads and plug"),
    Signal("cold_resistance", (), "K", "", "resolve", "B of exp(B (1/T - 1/T20)) on the cells' resistance"),
    Signal("low_charge_resistance", (), "-", "", "resolve", "rise of that resistance towards empty"),
    Signal("cold_capacity", (), "1/K", "", "resolve", "share of the capacity lost per kelvin below 20 deg C"),
    Signal("pack_heat", (), "J/K", "", "resolve", "heat capacity of the pack"),
    Signal("pack_to_air", (), "W/K", "", "resolve", "conductance of the pack to the air"),
    Signal("pack_temperature", (), "K", "", "resolve", "of the pack at the start"),
    Signal("relaxation_resistance", (), "ohm", "", "resolve", "of the RC pair"),
    Signal("relaxation_capacitance", (), "F", "", "resolve", "of the RC pair"),
    Signal("capacity", (), "C", "", "resolve", "charge of the full pack at 20 deg C"),
    Signal("avionics_current", (), "A", "", "resolve", "pack current of everything but the motors"),
    Signal("feet", (4, 3), "m", "body", "resolve", "landing feet from the centre of mass"),
    Signal("contact_stiffness", (), "N/m", "", "resolve", "of one foot on the ground"),
    Signal("contact_damping", (), "N s/m", "", "resolve", "of one foot on the ground"),
    Signal("friction", (), "-", "", "resolve", "coefficient between foot and ground"),
    Signal("crash_speed", (), "m/s", "", "resolve", "sink rate at touch-down that breaks the craft"),
    Signal(
        "load_mass", (), "kg", "", "resolve", "of a load on a line or let go, half the line with it; 0: none"
    ),
    Signal("load_half_height", (), "m", "", "resolve", "from its middle to its base"),
    Signal("load_drag_area", (), "m2", "", "resolve", "drag coefficient times area of the load"),
    Signal("load_stiffness", (), "N/m", "", "resolve", "of the load on the ground"),
    Signal("load_damping", (), "N s/m", "", "resolve", "of the load on the ground"),
    Signal("hook", (3,), "m", "body", "resolve", "upper end of the line, from the centre of mass"),
    Signal("line_length", (), "m", "", "resolve", "unstretched, from the hook to the load's middle"),
    Signal("line_stiffness", (), "N/m", "", "resolve", "of the taut line; 0: the load is on no line"),
    Signal("line_damping", (), "N s/m", "", "resolve", "of the taut line"),
    Signal("line_drag_area", (), "m2", "", "resolve", "drag coefficient times area of the line, across it"),
)

HELD_TABLE = (
    Signal("duty", (4,), "-", "", "esc", "share of the pack voltage across each motor"),
    Signal("wind", (3,), "m/s", "world", "wind", "velocity of the air, north-east-down"),
    Signal("open_circuit_voltage", (), "V", "", "battery", "of the pack at its present charge"),
    Signal("pack_resistance", (), "ohm", "", "battery", "of the pack with its leads as it is now"),
    Signal("pack_temperature", (), "K", "", "battery", "of the pack"),
    Signal("cell_shortfall", (), "-", "", "faults", "share of its capacity that the weak cell lacks"),
    Signal("cell_excess", (), "-", "", "faults", "resistance of the weak cell over a healthy one, less 1"),
    Signal("weak_voltage", (), "V", "", "battery", "the weak cell's open-circuit voltage below the mean"),
    Signal("weak_resistance", (), "ohm", "", "battery", "the weak cell's resistance above the mean"),
    Signal("winding_temperature", (4,), "K", "", "drive", "of each winding"),
    Signal("case_temperature", (4,), "K", "", "drive", "of each motor's case, bell and magnets"),
    Signal(
        "current_square", (4,), "A2", "", "drive", "sum of the motor currents' squares since the last turn"
    ),
    Signal("blocked", (4,), "-", "", "faults", "1 when something holds the rotor, else 0"),
    Signal("any_blocked", (), "-", "", "derivative", "how many rotors are blocked"),
    Signal("circuit_share", (4,), "-", "", "drive", "pack resistance over motor resistance, times duty"),
    Signal("circuit_gain", (), "-", "", "drive", "loaded pack voltage per volt of source, at these duties"),
    Signal("current_floor", (), "A", "", "drive", "least motor current of the regular case, at these duties"),
    Signal("per_mass", (), "1/kg", "", "derivative", "reciprocal of the mass; divisions are slow"),
    Signal("per_rotor_inertia", (), "1/(kg m2)", "", "derivative", "reciprocal"),
    Signal("per_motor_resistance", (4,), "1/ohm", "", "drive", "reciprocals, windings as warm as they are"),
    Signal("per_capacity", (), "1/C", "", "derivative", "reciprocal"),
    Signal("per_relaxation", (2,), "1/ohm, 1/F", "", "derivative", "reciprocals of the RC pair"),
    Signal("outside_torque", (3,), "N m", "body", "analysis", "on the body, beside all that the plant makes"),
    Signal("thrust_factor", (4,), "-", "", "faults", "on the map's thrust, 1 when healthy"),
    Signal("torque_factor", (4,), "-", "", "faults", "on the map's torque, 1 when healthy"),
    Signal(
        "turning",
        (4,),
        "-",
        "body",
        "faults",
        "sense of each rotor as it really turns: +1 clockwise from above",
    ),
    Signal(
        "patch",
        (13, 4),
        "-",
        "",
        "rotor",
        "thrust, torque, drag, hub moments around the present advance ratios",
    ),
    Signal(
        "hub", (3, 4), "m", "body", "derivative", "hubs from the centre of mass, one axis after the other"
    ),
    Signal(
        "flow",
        (4, 3),
        "m/s, m/s, rad/s",
        "",
        "rotor",
        "axial and in-plane airspeed, rotor speed at the last refresh",
    ),
    Signal("cell_patch", (4, 20), "-", "", "rotor", "bilinear forms of a cell, at the map's own rotor speed"),
    Signal("cell_trend", (4, 20), "-", "", "rotor", "their change per unit of ln(speed/map_speed)"),
    Signal("cell", (4,), "-", "", "rotor", "code of the cell each patch was made for, 0 before the first"),
    Signal("thrust_gain", (4,), "-", "", "rotor", "on the free rotor's thrust: installed loss and ground"),
    Signal(
        "slipstream",
        (4,),
        "N s/m",
        "",
        "rotor",
        "in-plane force per in-plane speed from what the wake blows at",
    ),
    Signal("descent_ratio", (), "-", "", "rotor", "descent through the air over hover induced velocity"),
    Signal("edgewise_ratio", (), "-", "", "rotor", "speed along the discs over hover induced velocity"),
    Signal("rotor_torque", (4,), "N m", "", "derivative", "aerodynamic torques about the shafts"),
    Signal("motor_torque", (4,), "N m", "", "derivative", "torques of the motors on their rotors"),
    Signal("battery_current", (), "A", "", "derivative", "pack current of the last evaluation"),
    Signal("battery_voltage", (), "V", "", "derivative", "pack voltage of the last evaluation"),
    Signal("motor_current", (4,), "A", "", "derivative", "motor currents of the last evaluation"),
    Signal("thrust", (4,), "N", "", "derivative", "rotor thrusts of the last evaluation"),
    Signal("contact_force", (), "N", "", "derivative", "normal force of the ground on all feet"),
    Signal("line_tension", (), "N", "", "derivative", "of the line, of the last evaluation"),
    Signal("load_contact", (), "N", "", "derivative", "normal force of the ground on the load"),
    Signal("line_peak", (), "N", "", "loop", "greatest line tension since the last row of the log"),
    Signal(
        "force",
        (3,),
        "N",
        "body",
        "derivative",
        "all forces on the craft but gravity, of the last evaluation",
    ),
)


def dtype_of(table: tuple[Signal, ...]) -> np.dtype:
    """Aligned record type of a table of float64 fields."""
    return np.dtype([(s.name, F, s.shape) if s.shape else (s.name, F) for s in table], align=True)


PLANT = dtype_of(PLANT_TABLE)
"""Parameters of one craft at one loading and site, SI. They never change during a run."""

HELD = dtype_of(HELD_TABLE)
"""What stays the same over one physics step, and what the derivative leaves behind for sensors and the log."""

GUSTS = np.dtype([("start", F), ("duration", F), ("holds", F), ("velocity", F, 3)], align=True)
"""1-cosine gusts: start [s]; duration [s], whole or, where it `holds` its peak, of the build-up; 1 if it holds, else 0;
peak velocity of the air, north-east-down [m/s]."""

WIND_TABLE = (
    Signal(
        "profile", (), "-", "", "weather", "0 the same at every height, 1 logarithm, 2 power of the height"
    ),
    Signal("reference_height", (), "m", "", "weather", "where the mean wind is given"),
    Signal("roughness", (), "m", "", "weather", "height below which there is no wind, for the logarithm"),
    Signal("log_gain", (), "-", "", "weather", "before the logarithm"),
    Signal("exponent", (), "-", "", "weather", "of the power law"),
    Signal("sigma_w", (), "m/s", "", "weather", "standard deviation of vertical turbulence, 0 for none"),
    Signal("interval", (), "s", "", "weather", "between two looks at the wind"),
    Signal(
        "delay",
        (2,),
        "s/m",
        "world",
        "weather",
        "of fronts per metre north and east, 0 where they come at once",
    ),
)
WIND = dtype_of(WIND_TABLE)
"""Parameters of the wind of one flight; zeros are the same wind at every height, without turbulence."""

__all__ = ["GUSTS", "HELD", "N_GUSTS", "PLANT", "WIND", "dtype_of", "rows"]
