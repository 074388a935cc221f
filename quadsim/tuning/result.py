"""What tuning hands over, and the whole of it in one call: corners, sets of gains, flights, what holds the craft back."""

from __future__ import annotations

import math
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from quadsim.analysis.craft_loops import LoopBench
from quadsim.analysis.margin_survey import PointMargins
from quadsim.analysis.response_bench import Bench, angle_of
from quadsim.analysis.response_figures import NOWHERE, Rejection, Step, Trace, figures_of_step
from quadsim.analysis.responses import torque_step
from quadsim.config.loose_load import payload_of
from quadsim.config.mass_properties import Load
from quadsim.tuning.axis_loop import AXES
from quadsim.tuning.axis_search import search
from quadsim.tuning.confirm import FLIGHTS, Confirmed, confirm
from quadsim.tuning.corners import LEAST_DUTY, Corner, make_corners
from quadsim.tuning.hardware_limit import HardwareLimit, binding, hardware_limit
from quadsim.tuning.limits import Limits
from quadsim.tuning.tune import (
    GainSet,
    Workshop,
    axis_bounds,
    check_blocks,
    find_sets,
    in_hover,
    make_axis,
    workshop,
)
from quadsim.tuning.whole_loops import WorstMargins, whole_margins
from quadsim.units import DEG

QUARTER = 0.25
"""Full payload over the craft's mass where none is stated; our choice, as in the laws compared."""
STEP_DEG = 10.0
"""Step of roll that is flown with the gains found [deg]."""
STEP_S = 1.0
STANDS_S = 0.1
"""And for how long, and the last part of that, whose mean is what the angle has come to [s]."""
ARRIVED = 0.2
"""A step that comes to stand further off than this share of it has got nowhere; assumed."""


@dataclass(frozen=True)
class TunedSet:
    """One set with everything known of it.

    before : the gains it had (5, GAINS_SIZE); hover : its loops in hover
    worst : by loop, least margins over the corners, by the whole model
    step : a step of roll, flown, as the craft sees it; drift_deg : by how much the true angle left that in its second
    pushed : by axis, answer to a lasting torque, flown: with the gains found, and with those it had
    binding : by axis, which limit the gains stand at
    yaw_not_idling_Hz : crossover that yaw could reach without the corners with next to no thrust, where these hold it back
    """

    set: GainSet
    before: NDArray[np.float64]
    hover: PointMargins
    worst: dict[str, WorstMargins]
    step: Step
    drift_deg: float
    pushed: dict[str, tuple[Rejection, Rejection]]
    binding: dict[str, str]
    yaw_not_idling_Hz: float | None
    confirmed: Confirmed

    @property
    def worst_phase(self) -> tuple[float, str]:
        """Least phase margin of roll, pitch and yaw [deg], and where."""
        return min((one.phase_deg, one.phase_at) for name, one in self.worst.items() if name != "height")


@dataclass(frozen=True)
class Tuning:
    """Of one craft; `sets` is empty when nothing keeps to the limits. payload : full payload [kg]"""

    craft: str
    limits: Limits
    payload: float
    corners: tuple[str, ...]
    sets: tuple[TunedSet, ...]
    hardware: HardwareLimit | None
    stopped: bool = field(default=False)


def tune(
    bench: LoopBench, payload: float, limits: Limits, flights: int = FLIGHTS, seed: int = 1,
    progress: Callable[[float, str], None] | None = None, least_duty: float = LEAST_DUTY,
) -> Tuning:  # fmt: skip
    """Find gains for a craft and confirm them in flight; Ctrl-C in the flights keeps the gains.

    Parameters
    ----------
    bench : the craft with its blocks and present gains
    payload : full payload [kg]; half of the flights carry it
    flights : how many flights confirm each set; seed : of their cases
    progress : called with the share done and what comes next
    least_duty : least throttle that it will be flown with, 0..1

    Raises
    ------
    InputError
        for blocks whose gains are not known here.
    """
    check_blocks(bench)
    say = progress or (lambda done, words: None)
    corners = make_corners(bench, payload, lambda done, words: say(0.2 * done, words), least_duty)
    say(0.2, "search")
    shop = workshop(bench, corners)
    sets = find_sets(shop, limits, lambda done, words: say(0.2 + 0.4 * done, words))
    names = tuple(one.name for one in corners)
    if not sets:
        return Tuning(bench.craft.name, limits, payload, names, (), None)
    first = sets[0].filters
    roll = make_axis(shop, 0, first["gyro_cutoff_Hz"], first["derivative_cutoff_Hz"])
    say(0.6, "what the hardware allows")
    reached = float(sets[0].axes["roll"].verdict.crossover_Hz[0])
    hardware = hardware_limit(roll, limits, corners[0].loops.plant, corners[0].loops.hardware, reached)
    loads = payload_of(payload)
    tuned: list[TunedSet] = []
    for number, one in enumerate(sets):
        begin, share = 0.65 + 0.35 * number / len(sets), 0.35 / len(sets)

        def flown(count: int, begin: float = begin, share: float = share) -> None:
            say(begin + share * count / flights, f"{count} of {flights} flights flown")

        tuned.append(_confirmed(shop, one, limits, loads, flights, seed, flown))
        if tuned[-1].confirmed.stopped:
            return Tuning(bench.craft.name, limits, payload, names, tuple(tuned), hardware, True)
    return Tuning(bench.craft.name, limits, payload, names, tuple(tuned), hardware)


def _confirmed(
    shop: Workshop, one: GainSet, limits: Limits, loads: list[Load], flights: int, seed: int,
    flown: Callable[[int], None],
) -> TunedSet:  # fmt: skip
    """A set with its loops, its step and its flights."""
    craft = shop.bench.craft
    carried = [] if one.name == "empty" else loads
    with ThreadPoolExecutor(1) as aside:  # flights leave the interpreter free for most of their time
        whole = aside.submit(whole_margins, covered(shop, one), one.gains, shop.w)
        confirmed = confirm(
            craft, one.gains, carried, flights, seed, always=one.name == "loaded", progress=flown
        )
        worst = whole.result()
    bench = Bench(craft, gains=one.gains)
    step, drift = roll_step(bench)
    before = Bench(craft, gains=shop.bench.gains)
    pushed = {name: (torque_step(bench, k), torque_step(before, k)) for k, name in enumerate(AXES)}
    stands = {
        words: binding(found, limits, axis_bounds(axis))
        for axis, (words, found) in enumerate(one.axes.items())
    }
    return TunedSet(
        one,
        shop.bench.gains,
        in_hover(shop.bench, one.gains),
        worst,
        step,
        drift,
        pushed,
        stands,
        idle_yaw(shop, one, limits),
        confirmed,
    )


def idle_yaw(shop: Workshop, one: GainSet, limits: Limits) -> float | None:
    """Crossover [Hz] of yaw over the corners with thrust, where the worst one has next to none; None where it is another."""
    kept = covered(shop, one)
    if not any(corner.idling and corner.name == one.worst["yaw"] for corner in kept):
        return None
    here = [k for k, c in enumerate(shop.corners) if c in kept and not c.idling and not c.strained]
    axis = make_axis(shop.only(here), 2, one.filters["gyro_cutoff_Hz"], one.filters["derivative_cutoff_Hz"])
    found = search(axis, limits, start=one.axes["yaw"].gains, steps=(1.2,))
    return float(found.verdict.crossover_Hz[0]) if found is not None else None


def roll_step(bench: Bench) -> tuple[Step, float]:
    """A roll step, flown; its figures are of the angle as the craft itself sees it, over what that comes to stand at.

    While a bank is held the accelerometer, which feels little but thrust, tells the estimate that the craft is level: the true
    angle drifts off, and the angle seen stands a little short of what is wanted, by that drift over the attitude's gain. No gain
    of a loop makes up for it: how far the true angle has gone from the one seen [deg] comes second.
    """
    flown = bench.target_step("roll", math.radians(STEP_DEG), STEP_S)
    seen, wanted = (angle_of(one, 0) / DEG for one in (flown.attitude_seen, flown.attitude_wanted))
    trace = Trace(flown.t_s, wanted, seen, "deg")
    stands = float(np.mean(seen[flown.t_s > flown.t_s[-1] - STANDS_S]))
    arrived = not flown.trouble and abs(stands / STEP_DEG - 1.0) < ARRIVED
    figures = figures_of_step(flown.t_s, seen, stands) if arrived else NOWHERE
    drift = float(angle_of(flown.attitude, 0)[-1] / DEG - seen[-1])
    step = Step(f"roll {STEP_DEG:g} deg", "roll", STEP_DEG, trace, figures, flown.limited_pct, flown.trouble)
    return step, drift


def covered(shop: Workshop, one: GainSet) -> list[Corner]:
    """The corners that a set is for."""
    kept = [corner for corner in shop.corners if corner.name not in one.left_out]
    if one.name in ("empty", "loaded"):
        kept = [corner for corner in kept if corner.loaded == (one.name == "loaded")]
    return kept
