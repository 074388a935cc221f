"""The loops of a condition measured in flight, beside what the linear model says of them there."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.analysis.craft_loops import Condition, LoopBench, charge_at
from quadsim.analysis.flown_sweep import FlownLoop, flown_loop
from quadsim.analysis.loop_agreement import Agreement, agreement
from quadsim.analysis.margin_survey import PointMargins, loops_of
from quadsim.analysis.sweep_flight import MakeSession, steady
from quadsim.config.flight_schema import ModeName
from quadsim.errors import InputError
from quadsim.simulation.session import Session

Array = NDArray[np.float64]

FLOWN = ("roll", "pitch", "yaw", "height")
"""Loops that are flown: those cut at what the rotors are asked for."""
LINES = 14
LOWEST = 0.3
"""First line over the crossover frequency."""
SMALLEST_DB = -20.0
"""Size of L at the last line: beyond it noise hides the loop."""
SETTLE_S, FORWARD_SETTLE_S = 4.0, 30.0
"""Time before anything counts, in hover and in forward flight [s]."""


@dataclass(frozen=True)
class FlownBeside:
    """name : of the loop; flown : measured; beside : how far it is from the linear model"""

    name: str
    flown: FlownLoop
    beside: Agreement


def lines_for(point: PointMargins, name: str) -> Array:
    """Angular frequencies at which a loop is measured [rad/s]."""
    node = loops_of(point.loops.bench, point.condition)[name]
    crossover = 2.0 * math.pi * max(point.margins[name].crossover_Hz, 0.3)
    size = 20.0 * np.log10(np.abs(point.model.loop(node)))
    above = point.model.w[size > SMALLEST_DB]
    return np.geomspace(LOWEST * crossover, max(float(above[-1]), 2.0 * crossover), LINES)


def fly_beside(point: PointMargins) -> Iterator[FlownBeside]:
    """Measure the loops of a condition one after the other.

    Raises
    ------
    InputError
        for a condition that is no steady flight.
    FlightError
        when the flights end early, however small the wave.
    """
    if point.condition.duty is not None or point.condition.climb:
        raise InputError(
            f"{point.condition.words} is not flown: a loop is measured in hover or level flight. Leave out --flown, or the "
            "throttle and the climb"
        )
    make, settle = _maker(point.loops.bench, point.condition, point), SETTLE_S
    if point.condition.forward:
        settle = FORWARD_SETTLE_S
    for name in FLOWN:
        flown = flown_loop(make, name, lines_for(point, name), settle_s=settle)
        node = loops_of(point.loops.bench, point.condition)[name]
        linear = point.loops.model(flown.w).loop(node)
        yield FlownBeside(name, flown, agreement(flown, linear, point.condition.forward))


def _maker(bench: LoopBench, condition: Condition, point: PointMargins) -> MakeSession:
    """Sessions that fly as in a condition, with the bench's gains."""
    charge = 100.0 * charge_at(bench.plant, condition.cell_voltage)
    pitch = math.degrees(point.loops.plant.point.euler[1])
    mode: ModeName = "waypoint" if "place_ahead" in point.margins else "setpoint"
    plain = steady(
        bench.craft, pitch_deg=pitch if condition.forward else 0.0, charge_pct=charge,
        payload_g=1000.0 * condition.payload, mode=mode, blocks=bench.chosen,
    )  # fmt: skip

    def make(seconds: float) -> Session:
        session = plain(seconds)
        session.gains[:] = bench.gains
        return session

    return make
