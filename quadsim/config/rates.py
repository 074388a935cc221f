"""Integer ticks: the physics rate and how many ticks lie between runs of the blocks. Sensors keep clocks of their own."""

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
    """Physics rate [Hz]; ticks between runs of each block (5,).

    raised : why the physics runs faster than the blocks alone need, in words; empty when it does not
    """

    physics_Hz: int
    every: NDArray[np.int64]
    raised: str = ""


def _least_multiple(craft: Craft, least_Hz: float) -> int:
    fastest = _fastest_block(craft)
    return fastest * math.ceil(least_Hz / fastest)


def _fastest_block(craft: Craft) -> int:
    return max(int(getattr(craft.flight_controller.rates_Hz, slot)) for slot in SLOTS)


def physics_rate(craft: Craft) -> int:
    """The least multiple of the fastest block's rate that reaches 4 kHz and the inertial sensor's rate [Hz]."""
    return _least_multiple(craft, max(LEAST_PHYSICS_HZ, craft.flight_controller.rates_Hz.imu))


def raised_by_sensor(craft: Craft) -> str:
    """One sentence when the inertial sensor makes the physics run faster than the blocks alone need, else nothing."""
    physics, enough = physics_rate(craft), _least_multiple(craft, LEAST_PHYSICS_HZ)
    if physics == enough:
        return ""
    return (
        f"the inertial sensor samples at {craft.flight_controller.rates_Hz.imu} Hz, so the physics runs at {physics} Hz "
        f"where the blocks alone need {enough} Hz: a flight takes {physics / enough:.3g} times as long to compute"
    )


def rate_problems(craft: Craft) -> Iterator[Finding]:
    """(key path, given, allowed, remedy) of every rate that does not divide the physics rate; those of sensors need not."""
    physics = physics_rate(craft)
    given = {("rates_Hz", slot): getattr(craft.flight_controller.rates_Hz, slot) for slot in SLOTS}
    for path, rate in given.items():
        if physics % rate:
            slower = next(r for r in range(rate, 0, -1) if physics % r == 0)
            faster = next(r for r in range(rate, physics + 1) if physics % r == 0)
            allowed = (
                f"must divide the physics rate of {physics} Hz (a multiple of the fastest block's rate that reaches "
                f"{LEAST_PHYSICS_HZ} Hz and the inertial sensor's rate)"
            )
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
    return Rates(physics, every, raised_by_sensor(craft))
