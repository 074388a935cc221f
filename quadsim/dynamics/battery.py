"""Battery: open-circuit voltage over charge, a resistance, one RC pair; what cold, age, an empty pack and one bad cell change.

Circuit and its dependence on charge: M. Chen & G. A. Rincon-Mora, IEEE Trans. Energy Conversion 21(2), 2006, 504-511
(850 mAh polymer cell; constants read second-hand in public transcriptions that cite it). Warmth is one node,
C dT/dt = I^2 R + v^2/R_rc - G (T - T_air); the cells' reversible heat is left out.
"""

from __future__ import annotations

import math

from quadsim.dynamics.state import X
from quadsim.jit import inner, kernel

CURVE_FULL = 4.1029
"""Open-circuit voltage of the published cell when full [V]; Chen & Rincon-Mora 2006."""
ROOM = 293.15
"""Temperature at which the resistances and the capacity of a craft file are stated [K]: 20 deg C."""
COLDEST, HOTTEST = 233.15, 353.15
"""Range over which the laws of temperature are used [K]; outside, the value at its edge is kept. Assumed."""
LEAST_CAPACITY = 0.2
"""Share of its capacity that a pack keeps however cold [-]; assumed."""
LOW_CHARGE_RISE, LOW_CHARGE_RATE = 0.1562 / 0.07446, 24.37
"""R(s)/R = 1 + (0.1562/0.07446) exp(-24.37 s): series resistance over charge. Chen & Rincon-Mora 2006."""


@kernel
def cell_voltage(charge, full_cell_voltage):
    """Open-circuit voltage of a lithium-polymer cell [V] at a state of charge 0..1.

    The published curve, raised in proportion to the charge so that a full cell has `full_cell_voltage`.
    Chen & Rincon-Mora 2006 (850 mAh polymer cell); the raise is assumed: packs of the trade are charged to 4.20 V.
    """
    s = min(max(charge, 0.0), 1.0)
    curve = -1.031 * math.exp(-35.0 * s) + 3.685 + s * (0.2156 + s * (-0.1178 + s * 0.3201))
    return curve + s * (full_cell_voltage - CURVE_FULL)


@kernel
def cold_factor(temperature, plant):
    """Resistance of the cells at a temperature [K] over that at 20 deg C: exp(B (1/T - 1/T20)).

    Arrhenius' law of a thermally activated path (W. Waag, S. Kaebitz & D. U. Sauer, Applied Energy 102, 2013, 885-897,
    use it for the charge transfer of a lithium-ion cell; from memory). B comes from the craft file.
    """
    t = min(max(temperature, COLDEST), HOTTEST)
    return math.exp(plant.cold_resistance * (1.0 / t - 1.0 / ROOM))


@kernel
def charge_factor(charge, plant):
    """Resistance of a cell at a state of charge over that of a charged one: 1 + a exp(-24.37 s), a 0 or LOW_CHARGE_RISE."""
    return 1.0 + plant.low_charge_resistance * math.exp(-LOW_CHARGE_RATE * min(max(charge, 0.0), 1.0))


@kernel
def capacity_share(temperature, plant):
    """Share of the capacity that a pack at a temperature [K] gives: 1 - k (T20 - T) below 20 deg C. Linear law assumed."""
    cold = max(ROOM - max(temperature, COLDEST), 0.0)
    return max(1.0 - plant.cold_capacity * cold, LEAST_CAPACITY)


@inner
def weak_charge(charge, shortfall):
    """State of charge of a cell that lacks the share `shortfall` of its capacity, charged full with the others."""
    return 1.0 - (1.0 - charge) / (1.0 - shortfall)


@kernel
def hold_battery(x, held, plant):
    """Bring up to date what the battery holds: open-circuit voltage, resistance, RC pair and capacity.

    One cell may be weak: `held.cell_shortfall` of its capacity is missing, its resistance is 1 + `held.cell_excess` times
    that of the others. What it differs by is kept for `weakest_cell`.
    """
    cells, charge = plant.cells, x[X.CHARGE]
    cold = cold_factor(held.pack_temperature, plant)
    volts, ohms = cell_voltage(charge, plant.full_cell_voltage), cold * charge_factor(charge, plant)
    low, high = volts, ohms
    if held.cell_shortfall > 0.0 or held.cell_excess > 0.0:
        s = weak_charge(charge, held.cell_shortfall)
        low = cell_voltage(s, plant.full_cell_voltage)
        high = (1.0 + held.cell_excess) * cold * charge_factor(s, plant)
    share = 1.0 / cells
    held.open_circuit_voltage = (cells - 1.0) * volts + low
    mean = ohms + (high - ohms) * share
    held.pack_resistance = plant.pack_resistance * mean + plant.lead_resistance
    held.weak_voltage = (volts - low) * (1.0 - share)
    held.weak_resistance = plant.pack_resistance * share * (high - mean)
    held.per_relaxation[0] = 1.0 / (plant.relaxation_resistance * ohms)
    held.per_relaxation[1] = ohms / plant.relaxation_capacitance
    held.per_capacity = 1.0 / (plant.capacity * capacity_share(held.pack_temperature, plant))


@kernel
def weakest_cell(held, plant):
    """Loaded voltage of the weakest cell [V]; of healthy cells the pack's share, leads included, as a board reads it."""
    return (
        held.battery_voltage / plant.cells - held.weak_voltage - held.weak_resistance * held.battery_current
    )


@kernel(forceinline=True)
def battery_rates(x, held):
    """Rates of the state of charge [1/s] and of the RC pair's voltage [V/s]."""
    current = held.battery_current
    relaxing = x[X.RELAXATION] * held.per_relaxation[0]
    return -current * held.per_capacity, (current - relaxing) * held.per_relaxation[1]


@inner
def battery_loss(x, held):
    """Heat in the pack and its leads [W]: I^2 R and the slow pair's v^2/R."""
    return held.battery_current**2 * held.pack_resistance + x[X.RELAXATION] ** 2 * held.per_relaxation[0]


@kernel
def warm_pack(x, dt, held, plant):
    """Advance the pack's temperature by `dt` [s], implicit Euler: (C + G dt) T1 = C T0 + (loss + G T_air) dt.

    A plant without heat capacity keeps its temperature. The time constant is minutes, so the first order is enough.
    """
    if plant.pack_heat > 0.0:
        inflow = battery_loss(x, held) + plant.pack_to_air * plant.air_temperature
        held.pack_temperature = (plant.pack_heat * held.pack_temperature + inflow * dt) / (
            plant.pack_heat + plant.pack_to_air * dt
        )
