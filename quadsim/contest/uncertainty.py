"""What a builder does not know of the craft, the map and the day, drawn at random or moved one at a time.

Inputs are independent and normal with the standard uncertainties of the craft file (quadsim.analysis.evidence lists them); the
drag area and the weather of the hour are added here. Seeded sampling: JCGM 101:2008, Propagation of distributions using a
Monte Carlo method.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.analysis.evidence import LEAST_LEFT, LOSS, MASS, MOUNTED, THRUST, TORQUE, uncertain
from quadsim.config import Craft, resolve_plant
from quadsim.config.equilibrium import HOVER_NODE
from quadsim.config.propeller_evidence import propeller_map
from quadsim.config.quantity import Uncertain
from quadsim.config.resolve_drive import fill_drive, fill_heat
from quadsim.environment.atmosphere import Site

Array = NDArray[np.float64]

SAMPLES = 500
"""Craft that are drawn."""
DRAG, AIR, PRESSURE = "drag area", "air temperature", "air pressure"
DRAG_SIGMA = 0.25
"""Relative standard uncertainty of a drag area estimated from the parts' boxes; assumed."""
AIR_SIGMA_K, PRESSURE_SIGMA_HPA = 1.5, 2.0
"""Of the weather between the forecast and the attempt; assumed."""

BEST_MERIT = 0.85
"""Greatest figure of merit in hover of a drawn rotor, if the craft's own is not above it: our choice. Momentum theory allows 1,
the best helicopter rotors reach 0.8 (J. G. Leishman, Principles of Helicopter Aerodynamics, ch. 2; from memory)."""


@dataclass(frozen=True)
class Unknown:
    """An uncertain input: its standard uncertainty in `unit`, as people write it."""

    name: str
    value: float
    sigma: float
    unit: str


def unknowns(craft: Craft, site: Site, plant: Any) -> list[Unknown]:
    """All uncertain inputs of a prediction."""
    found = [
        Unknown(one.name, float(one.value), one.sigma, one.unit)
        for one in uncertain(craft, site, plant, propeller_map(craft))
    ]
    drag = 100.0 * DRAG_SIGMA if craft.drag.area_cm2 is None else 0.0
    found += [Unknown(DRAG, 100.0, drag, "%")] if drag else []
    found.append(Unknown(AIR, site.temperature_C, AIR_SIGMA_K, "deg C"))
    found.append(Unknown(PRESSURE, site.pressure_hPa, PRESSURE_SIGMA_HPA, "hPa"))
    return found


def drawn(count: int, inputs: list[Unknown], seed: int = 1) -> Array:
    """Standard normal moves (count, inputs), the same for the same seed."""
    return np.random.default_rng(seed).standard_normal((count, len(inputs)))


def one_at_a_time(inputs: list[Unknown]) -> Array:
    """Moves by one standard uncertainty, first all upward and then all downward (2 inputs, inputs)."""
    return np.concatenate([np.eye(len(inputs)), -np.eye(len(inputs))])


def moved_plants(craft: Craft, site: Site, inputs: list[Unknown], moves: Array) -> list[Any]:
    """PLANT records with every input moved by so many standard uncertainties (rows, inputs)."""
    plant = resolve_plant(craft, site)
    return [_moved(craft, site, plant, inputs, row) for row in moves.tolist()]


def _moved(craft: Craft, site: Site, plant: Any, inputs: list[Unknown], steps: list[float]) -> Any:
    by = {one.name: (one, step * one.sigma) for one, step in zip(inputs, steps, strict=True)}
    moved = plant.copy()
    weather = replace(
        site,
        temperature_C=site.temperature_C + _shift(by, AIR),
        pressure_hPa=site.pressure_hPa + _shift(by, PRESSURE),
        pack_temperature_C=site.pack_temperature_C,
    )
    moved.per_disc_mass *= float(moved.air_density) / weather.density
    moved.air_density = weather.density
    fill_drive(moved, _sections(craft, by), weather)
    for channel, name in ((0, THRUST), (1, TORQUE), (1, MOUNTED)):
        factor = max(1.0 + _shift(by, name) / 100.0, LEAST_LEFT)
        moved.rotor_map[..., channel] *= factor
        moved.rotor_trend[..., channel] *= factor
    _keep_merit(moved, max(BEST_MERIT, _merit(plant)))
    moved.installed_loss = min(max(float(moved.installed_loss) + _shift(by, LOSS) / 100.0, 0.0), 0.99)
    moved.mass = max(float(moved.mass) + _shift(by, MASS) / 1000.0, LEAST_LEFT * float(moved.mass))
    moved.drag_area *= max(1.0 + _shift(by, DRAG) / 100.0, LEAST_LEFT)
    fill_heat(moved, craft)
    return moved


def _merit(plant: Any) -> float:
    """Figure of merit of the free rotor at the craft's hover speed, CT^(3/2) sqrt(2/pi)/CP: ideal power over power."""
    ct, cp = np.asarray(plant.rotor_map)[HOVER_NODE, 0, :2].tolist()
    return float(ct**1.5 * math.sqrt(2.0 / math.pi) / cp)


def _keep_merit(moved: Any, best: float) -> None:
    """Errors of thrust and power are drawn apart; where they meet in a rotor that beats momentum theory, it takes more power."""
    excess = max(_merit(moved) / best, 1.0)
    moved.rotor_map[..., 1] *= excess
    moved.rotor_trend[..., 1] *= excess


def _shift(by: dict[str, tuple[Unknown, float]], name: str) -> float:
    return by[name][1] if name in by else 0.0


def _sections(craft: Craft, by: dict[str, tuple[Unknown, float]]) -> Craft:
    """The craft with the uncertain keys of its sections moved."""
    changes: dict[str, dict[str, Uncertain]] = {}
    for name, (one, shift) in by.items():
        section, _, key = name.partition(".")
        if key and name != LOSS:
            value = max(one.value + shift, LEAST_LEFT * one.value)
            changes.setdefault(section, {})[key] = Uncertain(value)
    parts = {
        section: getattr(craft, section).model_copy(update=update) for section, update in changes.items()
    }
    return craft.model_copy(update=parts)


@dataclass(frozen=True)
class Spread:
    """How sure an answer is: 80 % interval, what 95 % of the draws reach at least, and what contributes most.

    contributions : (input, half the difference between one standard uncertainty up and down), the greatest first
    """

    samples: Array
    interval: tuple[float, float]
    at_least: float
    contributions: list[tuple[Unknown, float]]


@dataclass(frozen=True)
class Draws:
    """Craft as they may be: `count` drawn ones, then one with each of `inputs` moved up, and down; PLANT records."""

    inputs: list[Unknown]
    count: int
    plants: list[Any]


def draws(craft: Craft, site: Site, count: int = SAMPLES, seed: int = 1) -> Draws:
    """What `spread` asks about: a second answer about the same craft at the same site may take the same draws."""
    inputs = unknowns(craft, site, resolve_plant(craft, site))
    moves = np.concatenate([drawn(count, inputs, seed), one_at_a_time(inputs)])
    return Draws(inputs, count, moved_plants(craft, site, inputs, moves))


def spread(
    answer: Callable[[list[Any]], Array], craft: Craft, site: Site, count: int = SAMPLES, seed: int = 1,
    of: Draws | None = None,
) -> Spread:  # fmt: skip
    """The spread of an answer, a function of many PLANT records at once. of : draws of this craft, where there are some."""
    of = draws(craft, site, count, seed) if of is None else of
    found, inputs = answer(of.plants), of.inputs
    samples, sides = found[: of.count], found[of.count :]
    half = 0.5 * (sides[: len(inputs)] - sides[len(inputs) :])
    ranked = sorted(zip(inputs, half.tolist(), strict=True), key=lambda one: -abs(one[1]))
    low, high, least = np.nanquantile(samples, (0.1, 0.9, 0.05)).tolist()
    return Spread(samples, (low, high), least, [one for one in ranked if math.isfinite(one[1])])
