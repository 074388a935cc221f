"""What a craft's drive gives standing still: hover, a table over throttle, greatest thrust, minutes in hover."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from quadsim.config import Craft, Load, resolve_plant
from quadsim.config.drive_schema import Battery
from quadsim.config.equilibrium import Balance, balance, hover_balance, pack_source, plain
from quadsim.config.warmth import settled_temperatures
from quadsim.dynamics.battery import capacity_share
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError, Problem
from quadsim.units import CELSIUS, G_FORCE, RPM

_capacity_share = plain(capacity_share)


@dataclass(frozen=True)
class StaticRow:
    """One line of the throttle table. Thrust with the installed loss; current, power and voltage at the pack."""

    throttle: float
    thrust_per_rotor_g: float
    thrust_g: float
    pack_current_A: float
    pack_power_W: float
    rpm: float
    efficiency_g_W: float
    cell_voltage_V: float
    motor_current_A: float
    limited: bool


@dataclass(frozen=True)
class HoverPoint:
    """Level hover in still air: command [-], rotor speed, what the pack gives, and where the motors' warmth settles.

    rest_cell_voltage_V : corrected for sag, V + R I with the file's resistance of the pack
    """

    throttle: float
    rotor_speed_rad_s: float
    rpm: float
    pack_current_A: float
    pack_power_W: float
    motor_current_A: float
    cell_voltage_V: float
    rest_cell_voltage_V: float
    winding_C: float
    case_C: float
    thrust_N: float


@dataclass(frozen=True)
class Endurance:
    """Time in hover from a full pack [min], and what ends it: "reserve", "landing voltage" or "cut-off voltage".

    At the end: sag-corrected voltage of a cell [V] and temperature of the pack [deg C].
    """

    minutes: float
    limited_by: str
    mean_current_A: float
    rest_cell_voltage_V: float
    pack_C: float


LANDING_CELL_V = 3.5
"""Loaded voltage of a cell at which a flight in hover ends, if the builder does not land even earlier [V]; common practice, no
source. Minutes everywhere are those to the reserve or to this, whichever comes first."""


@dataclass(frozen=True)
class End:
    """What ends a hover: charge left [-] or the loaded voltage of a cell [V], and what the latter is called."""

    reserve: float
    cell_V: float
    voltage: str = "cut-off voltage"


def landing(battery: Battery) -> End:
    """The rule for minutes: the file's reserve, and its cut-off or LANDING_CELL_V, whichever is higher."""
    reserve, cutoff = float(battery.reserve_pct) / 100.0, float(battery.cutoff_cell_V)
    return (
        End(reserve, cutoff) if cutoff >= LANDING_CELL_V else End(reserve, LANDING_CELL_V, "landing voltage")
    )


def cut_off(battery: Battery) -> End:
    """To the very end: the file's cut-off voltage or an empty pack."""
    return End(0.0, float(battery.cutoff_cell_V))


def static_table(craft: Craft, site: Site, steps: int = 10, charge: float = 1.0) -> list[StaticRow]:
    """The drive on the bench at `steps` equal steps of throttle up to full, all four motors on one pack."""
    plant = resolve_plant(craft, site)
    return [_row(plant, balance(plant, (step + 1) / steps, charge)) for step in range(steps)]


def _row(plant: Any, at: Balance) -> StaticRow:
    grams = at.thrust / G_FORCE
    return StaticRow(
        throttle=at.duty,
        thrust_per_rotor_g=grams,
        thrust_g=4.0 * grams,
        pack_current_A=at.pack_current,
        pack_power_W=at.pack_power,
        rpm=at.rotor_speed / RPM,
        efficiency_g_W=4.0 * grams / at.pack_power,
        cell_voltage_V=float(at.pack_voltage / plant.cells),
        motor_current_A=at.motor_current,
        limited=at.limited,
    )


def max_thrust(craft: Craft, site: Site, charge: float = 1.0) -> float:
    """Thrust of all four rotors at full throttle, with the pack sagging as it will [N]."""
    return 4.0 * balance(resolve_plant(craft, site), 1.0, charge).thrust


def thrust_to_weight(craft: Craft, site: Site, loads: Sequence[Load] = (), charge: float = 1.0) -> float:
    """Greatest thrust over weight [-]."""
    plant = resolve_plant(craft, site, loads)
    return float(4.0 * balance(plant, 1.0, charge).thrust / (plant.mass * plant.gravity))


def hover_point(
    craft: Craft,
    site: Site,
    loads: Sequence[Load] = (),
    charge: float = 1.0,
    settled: bool = False,
    height_m: float = math.inf,
) -> HoverPoint:
    """Hover at a state of charge 0..1.

    settled : with the pack's slow voltage drop of a hover that has lasted minutes.
    height_m : of the hubs over the ground; a craft hovers with less close to it [m].

    Raises
    ------
    InputError
        when the craft cannot hover with that pack, charge or load.
    """
    plant = resolve_plant(craft, site, loads)
    at = hover_balance(plant, charge, settled, height=height_m)
    if at is None:
        lift = 4.0 * balance(plant, 1.0, charge, settled).thrust / G_FORCE
        given = f"{craft.name} weighs {plant.mass * 1e3:.0f} g and lifts {lift:.0f} g at full throttle"
        given += f" with {charge * 100.0:.0f} % charge"
        raise InputError([Problem("", given, "it cannot hover", "Take weight off, or a stronger drive")])
    winding, case = settled_temperatures(plant, at.motor_current, at.rotor_speed, at.thrust)
    return HoverPoint(
        throttle=at.duty,
        rotor_speed_rad_s=at.rotor_speed,
        rpm=at.rotor_speed / RPM,
        pack_current_A=at.pack_current,
        pack_power_W=at.pack_power,
        motor_current_A=at.motor_current,
        cell_voltage_V=float(at.pack_voltage / plant.cells),
        rest_cell_voltage_V=rest_voltage(plant, at),
        winding_C=winding - CELSIUS,
        case_C=case - CELSIUS,
        thrust_N=4.0 * at.thrust,
    )


def hover_endurance(craft: Craft, site: Site, loads: Sequence[Load] = (), points: int = 400) -> Endurance:
    """Minutes of hover from a full pack to the reserve or the landing voltage, whichever comes first: see `landing`."""
    return plant_endurance(resolve_plant(craft, site, loads), landing(craft.battery), points)


def plant_endurance(
    plant: Any, end: End, points: int, look: Callable[[float, Balance], None] | None = None
) -> Endurance:
    """The same of a PLANT record, to a stated end; look : told of each midpoint, with the time from the start [s].

    dt = -capacity dq / I(q), by the midpoint rule over the charge; the pack's slow drop is settled throughout. The pack
    warms by its own loss on the way (explicit Euler, some hundred steps on a time constant of minutes). Where the voltage
    passes the cut-off follows linearly from two midpoints.
    """
    cutoff = end.cell_V
    edges = np.linspace(1.0, end.reserve, points + 1)
    width = float(edges[0] - edges[1])
    seconds, used, step, warm, last = 0.0, 0.0, 0.0, float(plant.pack_temperature), None
    for middle in (0.5 * (edges[1:] + edges[:-1])).tolist():
        at = hover_balance(plant, middle, settled=True, pack=warm)
        if at is None or at.pack_voltage / plant.cells < cutoff:
            late = _beyond(last, at, cutoff * float(plant.cells))
            seconds, used = seconds + late * step, used + (late * step * last.pack_current if last else 0.0)
            return _endurance(plant, seconds, used, last, warm, end.voltage)
        charge = float(plant.capacity) * _capacity_share(warm, plant) * width
        step = charge / at.pack_current
        source, _ = pack_source(plant, middle, True, warm)
        inflow = (source - at.pack_voltage) * at.pack_current
        inflow -= float(plant.pack_to_air) * (warm - float(plant.air_temperature))
        warm += inflow * step / float(plant.pack_heat)
        if look is not None:
            look(seconds + 0.5 * step, at)
        seconds, used, last = seconds + step, used + charge, at
    return _endurance(plant, seconds, used, last, warm, "reserve")


def _beyond(last: Balance | None, at: Balance | None, cutoff: float) -> float:
    """Steps, -0.5 to 0.5, from the end of the last midpoint's step to where the pack's voltage passes the cut-off [V]."""
    if last is None or at is None:
        return 0.0
    return (last.pack_voltage - cutoff) / (last.pack_voltage - at.pack_voltage) - 0.5


def rest_voltage(plant: Any, at: Balance) -> float:
    """Voltage of a cell corrected for sag [V]: V + R I with the file's resistance, leads included."""
    resistance = float(plant.pack_resistance + plant.lead_resistance)
    return float((at.pack_voltage + resistance * at.pack_current) / plant.cells)


def _endurance(
    plant: Any, seconds: float, used: float, last: Balance | None, warm: float, limited_by: str
) -> Endurance:
    mean = used / seconds if seconds > 0.0 else math.nan
    rest = math.nan if last is None else rest_voltage(plant, last)
    return Endurance(float(seconds) / 60.0, limited_by, float(mean), rest, float(warm) - CELSIUS)
