"""What motors and pack must give for a rotor speed and a torque, over the time it is asked for: a crowd at once.

The circuit of quadsim.config.equilibrium and the nodes of quadsim.dynamics.{motor_heat,battery}, at a constant load.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.contest.crowd import Crowd
from quadsim.contest.steady import Trim
from quadsim.dynamics.battery import COLDEST, CURVE_FULL, HOTTEST, LEAST_CAPACITY, LOW_CHARGE_RATE, ROOM

Array = NDArray[np.float64]
STEPS = 20
"""Steps of a hold; the pack's and the motors' time constants are as long as the hold itself or longer."""


@dataclass
class Store:
    """What a hold uses up and warms, one row per craft: charge 0..1, slow voltage drop [V], temperatures [K]."""

    charge: Array
    relaxation: Array
    winding: Array
    case: Array
    pack: Array

    @classmethod
    def full(cls, crowd: Crowd, charge: float = 1.0) -> Store:
        """At the start of a flight: motors as warm as the air."""
        air = np.array(crowd.air_temperature)
        zeros = np.zeros(len(crowd))
        return cls(zeros + charge, zeros.copy(), air, air.copy(), np.array(crowd.pack_temperature))


@dataclass(frozen=True)
class Feed:
    """One moment: command of the rotor that carries most [-], its current and that of the mean one [A], the pack's voltage [V]
    and current [A], voltage across the mean motor [V]; infinite command where the pack cannot give it."""

    command: Array
    worst_current: Array
    current: Array
    volts: Array
    pack_current: Array
    across: Array


def open_circuit(charge: Array, full: Array) -> Array:
    """The cell's curve of quadsim.dynamics.battery.cell_voltage [V]."""
    s = np.clip(charge, 0.0, 1.0)
    curve = -1.031 * np.exp(-35.0 * s) + 3.685 + s * (0.2156 + s * (-0.1178 + s * 0.3201))
    return np.asarray(curve + s * (full - CURVE_FULL))


def feed(crowd: Crowd, flown: Trim, store: Store) -> Feed:
    """What motors and pack give now; V = E - R (I0 + 4 P/V) as in `hover_balance`."""
    across, current = _motor(crowd, flown.rotor_speed, flown.torque, store.winding)
    worst_across, worst = _motor(crowd, flown.worst_speed, flown.worst_torque, store.winding)
    source, ohms = _source(crowd, store)
    open_side = source - ohms * crowd.avionics_current
    room = open_side**2 - 16.0 * ohms * across * current
    volts = 0.5 * (open_side + np.sqrt(np.maximum(room, 0.0)))
    fed = room >= 0.0  # False for NaN
    command = np.where(fed, worst_across / volts, np.inf)
    drawn = crowd.avionics_current + 4.0 * across * current / volts
    return Feed(command, worst, current, volts, drawn, across)


def _motor(crowd: Crowd, speed: Array, torque: Array, winding: Array) -> tuple[Array, Array]:
    """Voltage across [V] and current through [A] a motor; see `motor_load`."""
    current = crowd.no_load_current + crowd.no_load_slope * speed + torque / crowd.torque_constant
    return np.asarray(current * _ohms(crowd, winding) + crowd.torque_constant * speed), np.asarray(current)


def raised_current(plant: Any, speed: Array, current: Array, command: Array, more: float) -> Array:
    """Current [A] of a motor at a rotor speed [rad/s] once its command [-] rises by `more`, as attitude asks for.

    The speed follows the command and the propeller's torque its square; plant : a crowd or a PLANT record.
    """
    faster = 1.0 + more / np.maximum(command, 0.01)
    friction, idle = plant.no_load_current, plant.no_load_slope * speed
    return np.asarray(friction + idle * faster + (current - friction - idle) * faster**2)


def _ohms(crowd: Crowd, winding: Array) -> Array:
    warm = 1.0 + crowd.copper_per_kelvin * (np.maximum(winding, COLDEST) - ROOM)
    return np.asarray(crowd.motor_resistance * warm + crowd.esc_resistance)


def _source(crowd: Crowd, store: Store) -> tuple[Array, Array]:
    """Voltage behind the pack's resistance [V] and that resistance [ohm]."""
    source = crowd.cells * open_circuit(store.charge, crowd.full_cell_voltage) - store.relaxation
    return np.asarray(source), np.asarray(
        crowd.pack_resistance * _cell_factor(crowd, store) + crowd.lead_resistance
    )


def _cell_factor(crowd: Crowd, store: Store) -> Array:
    """What cold and low charge make of the cells' resistances, the slow pair's included."""
    cold = np.exp(crowd.cold_resistance * (1.0 / np.clip(store.pack, COLDEST, HOTTEST) - 1.0 / ROOM))
    empty = crowd.low_charge_resistance * np.exp(-LOW_CHARGE_RATE * np.clip(store.charge, 0.0, 1.0))
    return np.asarray(cold * (1.0 + empty))


def hold(crowd: Crowd, flown: Trim, seconds: Array | float, store: Store, steps: int = STEPS) -> Feed:
    """Keep a steady flight for some seconds: `store` is advanced, and the last moment is returned.

    Explicit in the charge, implicit in the temperatures. A craft that is not fed any more stays as it is.
    """
    h = np.broadcast_to(np.asarray(seconds, float) / steps, (len(crowd),))
    at = feed(crowd, flown, store)
    for _ in range(steps):
        given = np.isfinite(at.command) & (store.charge > 0.0)
        _advance(crowd, flown, store, at, np.where(given, h, 0.0))
        at = feed(crowd, flown, store)
    return at


def _advance(crowd: Crowd, flown: Trim, store: Store, at: Feed, h: Array) -> None:
    drawn = np.where(h > 0.0, at.pack_current, 0.0)
    share = np.maximum(
        1.0 - crowd.cold_capacity * np.maximum(ROOM - np.maximum(store.pack, COLDEST), 0.0), LEAST_CAPACITY
    )
    _, ohms = _source(crowd, store)
    slow = crowd.relaxation_resistance * _cell_factor(crowd, store)
    heat = drawn**2 * ohms + store.relaxation**2 / slow
    keeps = crowd.pack_heat + crowd.pack_to_air * h
    store.pack = (
        crowd.pack_heat * store.pack + (heat + crowd.pack_to_air * crowd.air_temperature) * h
    ) / keeps
    rate = h / (crowd.relaxation_resistance * crowd.relaxation_capacitance)
    store.relaxation = (store.relaxation + rate * drawn * slow) / (1.0 + rate)
    store.charge = store.charge - drawn * h / (crowd.capacity * share)
    _warm(crowd, flown, store, at.worst_current, h)


def _warm(crowd: Crowd, flown: Trim, store: Store, current: Array, h: Array) -> None:
    """Winding and case of the motor that carries most, implicit Euler as in quadsim.dynamics.motor_heat.warm_motor."""
    flow = np.sqrt(np.sqrt(flown.flow_squared / crowd.hover_flow_squared))
    out = h * (crowd.case_to_still_air + (crowd.case_to_air - crowd.case_to_still_air) * flow)
    copper = current**2 * (_ohms(crowd, store.winding) - crowd.esc_resistance)
    spun = flown.worst_speed
    lost = crowd.torque_constant * spun * (crowd.no_load_current + crowd.no_load_slope * spun)
    through = h * crowd.winding_to_case
    winding = crowd.winding_heat * store.winding + h * copper
    case = crowd.case_heat * store.case + h * lost + out * crowd.air_temperature
    a, b = crowd.winding_heat + through, crowd.case_heat + through + out
    share = 1.0 / (a * b - through * through)
    live = (h > 0.0) & np.isfinite(copper)
    store.winding, store.case = (
        np.where(live, (b * winding + through * case) * share, store.winding),
        np.where(live, (a * case + through * winding) * share, store.case),
    )
