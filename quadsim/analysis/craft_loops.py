"""The control loops of a craft in a given condition: which throttle, cell voltage, airspeed and payload, and with which gains."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from controllers.contract import SLOTS, Block
from controllers.signals import Mode
from quadsim.analysis.linear_block import Place, places
from quadsim.analysis.linear_plant import LinearPlant, linearise
from quadsim.analysis.loop_hardware import Hardware
from quadsim.analysis.loop_model import ASKED, LinearChain, LoopModel, linear_chain, loop_model
from quadsim.analysis.operating_point import OperatingPoint, at_command, steady_flight
from quadsim.config import Craft, Rates, load_craft, resolve_plant
from quadsim.config.equilibrium import open_circuit_cell
from quadsim.config.flight_loader import parse_flight
from quadsim.config.loose_load import payload_of
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError
from quadsim.simulation.fly import start

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

LOOPS: dict[str, Place] = {
    **dict(zip(("roll", "pitch", "yaw", "height"), ASKED, strict=True)),
    **dict(zip(("roll_attitude", "pitch_attitude", "heading"), places(("rates_wanted",)), strict=True)),
}
"""Where each loop is cut, all others closed: what the rotors are asked for, and what the rate loops are."""
PLACE_LOOPS: dict[str, Place] = {"place_right": ("attitude_wanted", 1), "place_ahead": ("attitude_wanted", 2)}
"""Cut at the tilt asked for; only there while a place is held."""


@dataclass(frozen=True)
class Condition:
    """What the craft is doing; SI.

    forward, climb : steady flight at this speed and climb rate [m/s]
    duty : instead, all motors at this command 0..1 at a moment of level flight
    payload : mass of a rigid payload at the usual place below the frame [kg]
    cell_voltage : of a cell at rest [V]; None: full
    mode : response type whose outer loops are closed
    """

    forward: float = 0.0
    climb: float = 0.0
    duty: float | None = None
    payload: float = 0.0
    cell_voltage: float | None = None
    mode: Mode = Mode.SETPOINT

    @property
    def words(self) -> str:
        """The condition in words, for tables."""
        if self.duty is not None:
            text = f"{100.0 * self.duty:.0f} % throttle"
        else:
            text = f"{self.forward:g} m/s" if self.forward else "hover"
            text += f", climb {self.climb:g} m/s" if self.climb else ""
        text += f", {1000.0 * self.payload:.0f} g payload" if self.payload else ""
        return text + (f", {self.cell_voltage:.2f} V per cell" if self.cell_voltage is not None else ", full")


@dataclass(frozen=True)
class LoopBench:
    """A craft with its blocks and gains, ready to be looked at in any condition; see `loop_bench`.

    chosen : slot -> name of the block, as a flight takes it
    scales : factors on parts of the plant, for what may be different in reality: "thrust", "inertia", "delay"
    """

    craft: Craft
    site: Site
    blocks: tuple[Block, ...]
    gains: Array
    builder: Any
    sensors: Any
    rates: Rates
    plant: Any
    chosen: Mapping[str, str]
    scales: Mapping[str, float] = field(default_factory=dict)

    @property
    def h(self) -> float:
        """Physics step [s]."""
        return 1.0 / self.rates.physics_Hz

    def with_gains(self, gains: Array) -> LoopBench:
        """The same with other gains (5, GAINS_SIZE)."""
        return replace(self, gains=gains)

    def loaded(self, payload: float) -> Any:
        """PLANT record with a rigid payload [kg]."""
        if payload == 0.0:
            return self.plant.copy()
        return resolve_plant(self.craft, self.site, payload_of(payload))

    def sensors_with(self, plant: Any) -> Any:
        """SENSORS record about the centre of mass of a PLANT record: a payload moves that, the sensors stay on the frame."""
        moved = self.sensors.copy()
        shift = np.asarray(plant.centre_of_mass) - np.asarray(self.plant.centre_of_mass)
        for place in (moved.imu_position, moved.gnss_place):
            place[:] = np.asarray(place) - shift
        return moved

    def point(self, condition: Condition) -> OperatingPoint:
        """The operating point of a condition.

        Raises
        ------
        InputError
            when the craft cannot fly like that.
        """
        plant = self.loaded(condition.payload)
        scale_plant(plant, self.scales)
        charge = charge_at(plant, condition.cell_voltage)
        if condition.duty is not None:
            return at_command(plant, condition.duty, charge)
        return steady_flight(plant, condition.forward, condition.climb, charge)


def loop_bench(
    craft: Craft | str, *, blocks: Mapping[str, str] | None = None, gains: Array | None = None, site: Site | None = None
) -> LoopBench:  # fmt: skip
    """A craft with the blocks and gains it flies with, or with others.

    Parameters
    ----------
    craft : checked craft, or its path or name
    blocks : slot -> block name; overrides the craft's choice
    gains : (5, GAINS_SIZE), one row per slot; the craft's own if left out

    Raises
    ------
    InputError
        for what the craft or the blocks cannot do.
    """
    craft = load_craft(craft) if isinstance(craft, str) else craft
    flight = parse_flight(
        f'title = "loops"\ncraft = "{craft.name}"\nduration_s = 1\n[start]\nheight_m = 50\n'
    )
    one = start(flight, craft=craft, blocks=blocks, site=site)
    own = one.gains if gains is None else gains
    return LoopBench(
        craft,
        one.site,
        tuple(one.blocks),
        np.array(own),
        one.builder,
        one.sensors,
        one.rates,
        one.plant,
        one.chosen,
    )


def charge_at(plant: Any, cell_voltage: float | None) -> float:
    """State of charge 0..1 at which a cell at rest has a voltage [V]; 1 for None.

    Raises
    ------
    InputError
        for a voltage that no charge gives.
    """
    full = float(plant.full_cell_voltage)
    if cell_voltage is None:
        return 1.0
    lowest = float(open_circuit_cell(0.0, full))
    if not lowest < cell_voltage <= full:
        raise InputError(
            f"cell voltage is {cell_voltage:g} V; must be over {lowest:.2f} and at most {full:.2f} V at rest"
        )
    return float(brentq(lambda s: open_circuit_cell(s, full) - cell_voltage, 0.0, 1.0))


def scale_plant(plant: Any, scales: Mapping[str, float]) -> None:
    """Change a PLANT record by factors on "thrust" and "inertia"; "delay" is the hardware's.

    A factor on thrust is one on the air's density: torque, drag and thrust go with it.
    """
    plant.air_density *= scales.get("thrust", 1.0)
    factor = scales.get("inertia", 1.0)
    plant.inertia[:] = np.asarray(plant.inertia) * factor
    plant.inertia_inverse[:] = np.asarray(plant.inertia_inverse) / factor


@dataclass(frozen=True)
class CraftLoops:
    """Everything linear of a craft in one condition."""

    bench: LoopBench
    condition: Condition
    plant: LinearPlant
    hardware: Hardware
    chain: LinearChain

    def model(self, w: Array) -> LoopModel:
        """The loops at angular frequencies [rad/s]."""
        return loop_model(self.chain, self.hardware, self.plant, w)


def craft_loops(bench: LoopBench, condition: Condition) -> CraftLoops:
    """Linearise plant and blocks of a bench in a condition; takes about 0.1 s.

    Raises
    ------
    InputError
        when the craft cannot fly like that.
    """
    point = bench.point(condition)
    sensors = bench.sensors_with(point.plant)
    plant = linearise(point, sensors)
    every = np.asarray(bench.rates.every)
    hardware = Hardware.of(sensors, every, bench.h, point.duty, point.airspeed, bench.builder.local_field)
    hardware = hardware.slower(bench.scales.get("delay", 1.0))
    chain = linear_chain(
        bench.blocks, bench.gains, bench.builder, bench.sensors, every, bench.h, plant, condition.mode
    )
    return CraftLoops(bench, condition, plant, hardware, chain)


def frequencies(bench: LoopBench, per_decade: int = 50) -> Array:
    """Angular frequencies [rad/s] from 0.02 Hz to just below half the rate of the rate block, dense about a flexible mode."""
    highest = 0.49 * bench.rates.physics_Hz / int(bench.rates.every[SLOTS.index("rate")])
    lowest = 0.02
    count = round(per_decade * math.log10(highest / lowest)) + 1
    even = 2.0 * math.pi * np.geomspace(lowest, highest, count)
    mode = float(bench.sensors.mode_frequency)
    if mode == 0.0:
        return even
    width = max(float(bench.sensors.mode_damping), 1e-3)
    near = mode * (1.0 + width * np.linspace(-6.0, 6.0, 49))
    return np.unique(np.concatenate([even, near[(near > even[0]) & (near < even[-1])]]))
