"""Margins of all loops of a craft over everything it will meet: throttle, cell voltage, airspeed, payload. The worst is named.

Published practice for the margins: MIL-F-9490D (1975), sec. 3.1.3.6, table III, and SAE AS94900: 6 dB and 45 deg for rigid modes,
8 dB and 60 deg above the first structural mode (the latter from memory). Written for aircraft with people aboard; taken here as
the trade does.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from controllers.signals import Mode
from quadsim.analysis.bandwidth import Bandwidth, bandwidth
from quadsim.analysis.craft_loops import (
    LOOPS,
    PLACE_LOOPS,
    Condition,
    CraftLoops,
    LoopBench,
    craft_loops,
    frequencies,
)
from quadsim.analysis.disk_margin import DiskMargin, disk_margin
from quadsim.analysis.loop_model import LoopModel
from quadsim.analysis.margins import Margins, margins
from quadsim.analysis.sampled_loop import LoopModes, loop_modes
from quadsim.errors import InputError

Array = NDArray[np.float64]

GAIN_DB, PHASE_DEG = 6.0, 45.0
"""Of rigid modes, see above."""
FLEXIBLE_DB = 8.0
"""Of flexible modes, from memory."""
THROTTLES = (0.10, 0.30, 0.60, 0.95)
SPEEDS = (5.0, 10.0, 15.0, 20.0, 25.0, 30.0)
"""Airspeeds that are tried [m/s]; the first that the craft cannot fly ends the list."""
LOW_CELL_V = 3.6
"""Of a low battery at rest [V]: about 10 % of the charge; assumed."""
LEAST_THRUST = 1.3
"""Thrust over weight that a full payload must leave; our choice."""


@dataclass(frozen=True)
class PointMargins:
    """All loops in one condition."""

    loops: CraftLoops
    model: LoopModel
    margins: dict[str, Margins]
    modes: LoopModes
    together: DiskMargin
    """Of roll, pitch, yaw and thrust, all changing at once."""
    bandwidth: dict[str, Bandwidth]
    """Of roll and pitch angle, and heading, over what is asked of them."""

    @property
    def condition(self) -> Condition:
        return self.loops.condition


def reserve(one: Margins) -> float:
    """How a loop stands against the practice: 1 just meets it, more is better; the least of gain up, gain down and phase."""
    return float(shares_of_practice(one.gain_up_dB, one.gain_down_dB, one.phase_deg).min(axis=0))


def shares_of_practice(up_dB: Array | float, down_dB: Array | float, phase_deg: Array | float) -> Array:
    """Margins as shares of what practice asks for, (3, ...)."""
    return np.array([np.divide(up_dB, GAIN_DB), np.divide(down_dB, GAIN_DB), np.divide(phase_deg, PHASE_DEG)])


def loops_of(bench: LoopBench, condition: Condition) -> dict[str, tuple[str, int]]:
    """The loops that are closed in a condition: those of the place only where one is held."""
    return LOOPS | (PLACE_LOOPS if condition.mode >= Mode.POSITION_HOLD else {})


def margins_at(bench: LoopBench, condition: Condition, w: Array | None = None) -> PointMargins:
    """Margins of every loop in one condition, and whether it is stable at all.

    Raises
    ------
    InputError
        when the craft cannot fly like that.
    """
    loops = craft_loops(bench, condition)
    model = loops.model(frequencies(bench) if w is None else w)
    modes = loop_modes(loops)
    found = {
        name: margins(model.w, model.loop(node), stable=modes.stable)
        for name, node in loops_of(bench, condition).items()
    }
    together = disk_margin(model.w, model.loops(), modes.stable)
    return PointMargins(loops, model, found, modes, together, bandwidths(model))


FLEXIBLE_FROM = 0.7
"""Share of a flexible mode's frequency from which a crossover counts as the mode's; assumed."""


def flexible_margins(point: PointMargins) -> dict[str, float]:
    """Gain margin [dB] of roll, pitch and yaw about a flexible mode and above; empty for a craft without one."""
    mode = float(point.loops.bench.sensors.mode_frequency) / (2.0 * math.pi)
    if mode == 0.0:
        return {}
    return {name: point.margins[name].gain_beyond(FLEXIBLE_FROM * mode) for name in ("roll", "pitch", "yaw")}


_ANGLES = {"roll": 1, "pitch": 2, "heading": 3}


def bandwidths(model: LoopModel) -> dict[str, Bandwidth]:
    """Bandwidth and phase delay of each angle over the angle asked for, as the estimate sees it.

    The answer to what the guide asks, with the guide itself taken away: an attitude response type. Of a half-angle quaternion the
    ratio is that of the angles.
    """
    found = {}
    for name, k in _ANGLES.items():
        opened = model.opened((("attitude_wanted", k),))[:, model.nodes.index(("attitude", k)), 0]
        found[name] = bandwidth(model.w, opened)
    return found


def full_payload(bench: LoopBench) -> float:
    """Greatest payload [kg] that leaves LEAST_THRUST over the weight with a full battery; 0 if there is none."""
    most = 4.0 * float(bench.builder.max_thrust) / (LEAST_THRUST * float(bench.plant.gravity))
    return max(math.floor((most - float(bench.plant.mass)) * 100.0) / 100.0, 0.0)


def conditions(bench: LoopBench, payload: float | None = None) -> list[Condition]:
    """What a craft will meet: hover, all throttles and airspeeds, full and low battery, empty and with the payload [kg]."""
    heavy = full_payload(bench) if payload is None else payload
    hover_mode = Mode.WAYPOINT if bench.builder.gnss > 0.0 else Mode.SETPOINT
    found = []
    for volts in (None, LOW_CELL_V):
        found += [Condition(cell_voltage=volts, mode=hover_mode)]
        found += [Condition(payload=heavy, cell_voltage=volts, mode=hover_mode)] if heavy > 0.0 else []
        found += [Condition(duty=duty, cell_voltage=volts) for duty in THROTTLES]
        found += [Condition(forward=speed, cell_voltage=volts) for speed in SPEEDS]
    if heavy > 0.0:
        found += [Condition(duty=duty, payload=heavy, cell_voltage=LOW_CELL_V) for duty in (0.30, 0.95)]
    return found


def survey(
    bench: LoopBench, wanted: Sequence[Condition], progress: Callable[[int, Condition], None] | None = None
) -> Iterator[PointMargins]:
    """Margins in every condition that the craft can fly; faster flight than the first that fails is not tried.

    progress : called with the number done and the next condition
    """
    fastest: dict[tuple[float, float | None], float] = {}
    for done, condition in enumerate(wanted):
        if progress is not None:
            progress(done, condition)
        key = (condition.payload, condition.cell_voltage)
        if condition.forward > fastest.get(key, math.inf):
            continue
        try:
            yield margins_at(bench, condition)
        except InputError:
            if condition.duty is not None:
                raise
            if condition.forward:
                fastest[key] = condition.forward


def worst_points(points: Sequence[PointMargins]) -> dict[str, PointMargins]:
    """For each loop the point at which it stands worst; one that is unstable before all others."""
    names = list(dict.fromkeys(name for point in points for name in point.margins))
    return {
        name: min(
            (point for point in points if name in point.margins),
            key=lambda point: (point.modes.stable, reserve(point.margins[name])),
        )
        for name in names
    }


def as_condition(
    bench: LoopBench, forward: float, climb: float, duty: float | None, payload: float, cell_voltage: float | None
) -> Condition:  # fmt: skip
    """The condition that a user states; a craft with a satellite receiver holds its place in hover."""
    base = Condition(forward, climb, duty, payload, cell_voltage)
    still = duty is None and forward == 0.0 and climb == 0.0
    return replace(base, mode=Mode.WAYPOINT) if still and bench.builder.gnss > 0.0 else base
