"""Integer ticks: the physics rate and how many ticks lie between runs of everything else."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.config.craft_schema import Craft
from quadsim.config.listing import Finding
from quadsim.errors import InputError, Problem

LEAST_PHYSICS_HZ = 4000
"""Classical RK4 at 4 kHz keeps a 5 s tumble with saturation within 1e-6 m (measured)."""
SLOTS = ("estimate", "guide", "attitude", "rate", "allocate")


@dataclass(frozen=True)
class Rates:
    """Physics rate [Hz]; ticks between samples of each sensor; ticks between runs of each block (5,)."""

    physics_Hz: int
    imu_every: int
    baro_every: int
    every: NDArray[np.int64]


def physics_rate(craft: Craft) -> int:
    """The least multiple of the fastest loop or sensor rate that reaches 4 kHz [Hz]."""
    fastest = max(craft.flight_controller.rates_Hz.model_dump().values())
    return int(fastest * math.ceil(LEAST_PHYSICS_HZ / fastest))


def rate_problems(craft: Craft) -> Iterator[Finding]:
    """(key path, given, allowed, remedy) of every rate that does not divide the physics rate."""
    physics = physics_rate(craft)
    given = {("rates_Hz", name): rate for name, rate in craft.flight_controller.rates_Hz.model_dump().items()}
    given["barometer", "rate_Hz"] = craft.flight_controller.barometer.rate_Hz
    for path, rate in given.items():
        if physics % rate:
            slower = next(r for r in range(rate, 0, -1) if physics % r == 0)
            faster = next(r for r in range(rate, physics + 1) if physics % r == 0)
            allowed = f"must divide the physics rate of {physics} Hz (a multiple of the fastest rate, 4000 Hz or more)"
            yield ("flight_controller", *path), f"is {rate}", allowed, f"Nearest: {slower} or {faster} Hz"


def with_rates(craft: Craft, changes: Mapping[str, int]) -> Craft:
    """The same craft with some of its rates changed [Hz]."""
    board = craft.flight_controller
    rates = board.rates_Hz.model_copy(update=dict(changes))
    return craft.model_copy(update={"flight_controller": board.model_copy(update={"rates_Hz": rates})})


def choose_rates(craft: Craft) -> Rates:
    """The clock of a craft. Raises InputError when a rate does not divide the physics rate."""
    problems = [Problem(".".join(map(str, path)), *rest) for path, *rest in rate_problems(craft)]
    if problems:
        raise InputError(problems, str(craft.path or craft.name))
    physics, rates = physics_rate(craft), craft.flight_controller.rates_Hz
    every = np.array([physics // getattr(rates, slot) for slot in SLOTS], dtype=np.int64)
    return Rates(physics, physics // rates.imu, physics // craft.flight_controller.barometer.rate_Hz, every)
