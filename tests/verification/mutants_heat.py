"""Copies of the source of motor and pack warmth with one thing wrong, and the checks that must notice; as mutants.py."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from checks import near
from hand_made import body, calm, state
from mutants import plain_modules


def plain_warm_drive(old: str = "", new: str = "") -> Callable:
    """`warm_drive` of a plain-Python copy of quadsim.dynamics.motor_heat in which `old` reads `new`."""
    module = "quadsim.dynamics.motor_heat"
    return plain_modules(module if old else "", old, new)(module).warm_drive  # type: ignore[no-any-return]


@dataclass(frozen=True)
class HeatMutant:
    """What is wrong, where, and the check that must notice."""

    wrong: str
    old: str
    new: str
    check: Callable[[Callable], None]

    def kernel(self) -> Callable:
        return plain_warm_drive(self.old, self.new)


def constant_load(plant: Any) -> None:
    """Nodes of 3 and 12 J/K, 0.8 W/K inside, 0.1 W/K to still air of 20 deg C and 0.4 W/K at 5 m/s, 0.1 ohm of copper."""
    plant.winding_heat, plant.case_heat, plant.winding_to_case = 3.0, 12.0, 0.8
    plant.case_to_air, plant.case_to_still_air, plant.hover_flow_squared = 0.4, 0.1, 25.0
    plant.air_temperature, plant.copper_per_kelvin = 293.15, 0.00393
    plant.winding_limit = plant.magnet_limit = plant.loud_speed = plant.propeller_limit = math.inf


def run(f: Callable, plant: Any, held: Any, x: np.ndarray, seconds: float, dt: float) -> None:
    for look in range(round(seconds / dt)):
        f(look, dt, x, held, plant)


def steady_nodes(f: Callable) -> None:
    """9 A, 600 rad/s, 5 m/s for half an hour: the linear system of both nodes with R(T), solved by numpy.

    i^2 R20 (1 + a (Tw - T20)) = Gwc (Tw - Tc);  kt w (i00 + i01 w) + Gwc (Tw - Tc) = G (Tc - Tair).
    """
    plant, held, x = body(), calm(), state(rotors=600.0, velocity=(3.0, -4.0, 0.0))
    constant_load(plant)
    plant.no_load_current, plant.no_load_slope, plant.esc_resistance = 0.4, 5e-4, 0.02
    held.winding_temperature[:] = held.case_temperature[:] = 293.15
    held.motor_current[:] = 9.0
    run(f, plant, held, x, 1500.0, 0.5)
    copper, iron = 81.0 * 0.1, 0.01 * 600.0 * (0.4 + 0.3)
    a = np.array([[0.8 - copper * 0.00393, -0.8], [-0.8, 0.8 + 0.4]])
    b = np.array([copper * (1.0 - 0.00393 * 293.15), iron + 0.4 * 293.15])
    wanted = np.linalg.solve(a, b)
    near(np.array(held.winding_temperature), np.full(4, wanted[0]), 1e-3)
    near(np.array(held.case_temperature), np.full(4, wanted[1]), 1e-3)


def time_constants(f: Callable) -> None:
    """Without losses both nodes decay with the two eigenvalues of their matrix [[-G/Cw, G/Cw], [G/Cc, -(G + Ga)/Cc]].

    numpy's eigenvectors give both temperatures after 2, 12 and 40 s; the bound is the first order of steps of 20 ms.
    """
    plant, held, x = body(), calm(), state(velocity=(0.0, 0.0, 5.0))
    constant_load(plant)
    held.winding_temperature[:], held.case_temperature[:] = 353.15, 293.15
    values, vectors = np.linalg.eig(np.array([[-0.8 / 3.0, 0.8 / 3.0], [0.8 / 12.0, -(0.8 + 0.4) / 12.0]]))
    parts = np.linalg.solve(vectors, [60.0, 0.0])
    done = 0.0
    for t in (2.0, 12.0, 40.0):
        run(f, plant, held, x, t - done, 0.004)
        done = t
        wanted = (vectors * np.exp(values * t)) @ parts + 293.15
        near(np.array(held.winding_temperature), np.full(4, wanted[0]), 0.12)
        near(np.array(held.case_temperature), np.full(4, wanted[1]), 0.12)


HEAT_MUTANTS = (
    HeatMutant("copper loss counts the current once", "+= held.motor_current[i] * held.motor_current[i]", "+= held.motor_current[i]", steady_nodes),
    HeatMutant("the ESC warms the winding", "winding_resistance(held.winding_temperature[i], plant) - plant.esc_resistance", "winding_resistance(held.winding_temperature[i], plant)", steady_nodes),
    HeatMutant("copper does not feel its temperature", "(max(temperature, COLDEST) - ROOM)", "0.0", steady_nodes),
    HeatMutant("iron loss forgotten", "+ plant.no_load_slope * speed)", ")", steady_nodes),
    HeatMutant("no-load loss warms nothing", "+ dt * no_load_loss(x[X.ROTORS + i], plant)", "", steady_nodes),
    HeatMutant("air speed does not cool", "+ airspeed_squared", "", steady_nodes),
    HeatMutant("cooling linear in the flow", "math.sqrt(math.sqrt(flow_squared / plant.hover_flow_squared))", "math.sqrt(flow_squared / plant.hover_flow_squared) * 0.5", steady_nodes),
    HeatMutant("a turn counts as one look", "warm_motor(turn, x, TURNS * dt", "warm_motor(turn, x, dt", time_constants),
    HeatMutant("heat flows from cold to warm", "plant.case_heat * held.case_temperature[i]", "plant.winding_heat * held.case_temperature[i]", time_constants),
    HeatMutant("case without the winding's heat", "(a * case + through * winding)", "(a * case)", time_constants),
)  # fmt: skip
