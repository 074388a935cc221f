"""Gain map: two gains varied, the worst of several conditions at each point: stable or not, margins, rejection.

Safe is what the practice for rigid modes asks of every loop that the gains move, in every condition: 6 dB up, 6 dB down, 45 deg
(see `quadsim.analysis.margin_survey`). Other gains and other loops stay as they are.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from controllers.signals import Mode
from quadsim.analysis.craft_loops import LOOPS, Condition, LoopBench, craft_loops, frequencies
from quadsim.analysis.gain_axes import GainAxis
from quadsim.analysis.gain_loops import ANGLES, GainLoops
from quadsim.analysis.grid_margins import GridMargins, grid_margins
from quadsim.analysis.margin_survey import LOW_CELL_V, shares_of_practice
from quadsim.errors import InputError

Array = NDArray[np.float64]

MOVED = 0.1
"""A loop counts as moved by the gains when L changes by this share of |1 + L| somewhere; our choice."""
PER_DECADE = 40
"""Frequencies per decade."""


@dataclass(frozen=True)
class Field:
    """At points of the two gains, all of one shape, the worst over conditions and moved loops.

    reserve : least of gain up / 6 dB, gain down / 6 dB, phase / 45 deg: 1 just meets the practice; below 0 is unstable
    stable : in every condition
    gain_up_dB, gain_down_dB, phase_deg : least of each; no reserve where unstable
    crossover_Hz : of the loop that the gains move most, least over the conditions
    sway_deg : greatest angle under a swinging disturbance of 1 rad/s2 amplitude, whatever its frequency, of the axis that the
        gains move most; nan if they move none
    condition, loop : number of the condition and of the loop with the least reserve
    """

    reserve: Array
    stable: NDArray[np.bool_]
    gain_up_dB: Array
    gain_down_dB: Array
    phase_deg: Array
    crossover_Hz: Array
    sway_deg: Array
    condition: NDArray[np.int64]
    loop: NDArray[np.int64]

    def shaped(self, shape: tuple[int, ...]) -> Field:
        """The same in another shape."""
        return Field(*(getattr(self, one.name).reshape(shape) for one in fields(self)))


@dataclass(frozen=True)
class GainMap:
    """The field over the grid, [first gain, second gain], and what it is of."""

    craft: str
    axes: tuple[GainAxis, GainAxis]
    conditions: tuple[Condition, ...]
    left_out: tuple[tuple[Condition, str], ...]
    """Conditions that the craft cannot fly, and why."""
    loops: tuple[str, ...]
    """The loops that the gains move; the one they move most comes first."""
    grid: Field
    at: Callable[[Array], Field]
    """The field at any points (points, 2) within the ranges of the knobs."""

    @property
    def now(self) -> Field:
        """At the present gains, one point."""
        return self.at(np.array([[axis.present for axis in self.axes]]))


def map_conditions(bench: LoopBench, payload: float = 0.0) -> list[Condition]:
    """What a map looks at unless told otherwise: hover, least and full throttle, a low battery; with a payload [kg] hover with it
    too, and the low battery with it."""
    mode = Mode.WAYPOINT if bench.builder.gnss > 0.0 else Mode.SETPOINT
    found = [Condition(mode=mode), Condition(duty=0.10), Condition(duty=0.95)]
    found += [Condition(payload=payload, mode=mode)] if payload > 0.0 else []
    return [*found, Condition(duty=0.30, payload=payload, cell_voltage=LOW_CELL_V)]


def gain_map(
    bench: LoopBench, axes: tuple[GainAxis, GainAxis], conditions: Sequence[Condition],
    progress: Callable[[int, Condition], None] | None = None,
) -> GainMap:  # fmt: skip
    """The map of two gains in all conditions that the craft can fly.

    progress : called with the number done and the next condition

    Raises
    ------
    InputError
        when it can fly none of them, or the gains move no loop.
    """
    w, knobs = frequencies(bench, PER_DECADE), (axes[0].knob, axes[1].knob)
    known: list[GainLoops] = []
    left_out, flown, names = [], [], tuple[str, ...]()
    for done, condition in enumerate(conditions):
        if progress is not None:
            progress(done, condition)
        try:
            loops = craft_loops(bench, condition)
        except InputError as error:
            left_out.append((condition, str(error)))
            continue
        names = names or _moved(GainLoops(loops, w, knobs, list(LOOPS.values())), axes)
        known.append(GainLoops(loops, w, knobs, [LOOPS[name] for name in names]))
        flown.append(condition)
    if not known:
        raise InputError("the craft can fly in none of the conditions of the map: " + left_out[0][1])

    def at(points: Array) -> Field:
        return _worst([_field(one, points) for one in known])

    first, second = (axis.values for axis in axes)
    points = np.stack(np.meshgrid(first, second, indexing="ij"), axis=-1)
    grid = at(points.reshape(-1, 2)).shaped(points.shape[:2])
    return GainMap(bench.craft.name, axes, tuple(flown), tuple(left_out), names, grid, at)


def _moved(loops: GainLoops, axes: tuple[GainAxis, GainAxis]) -> tuple[str, ...]:
    """Names of the loops that the gains move, the most moved first."""
    one, two = (axis.present for axis in axes)
    ends = [(value, two) for value in _nearer(axes[0])] + [(one, value) for value in _nearer(axes[1])]
    seen = loops.exactly([(one, two), *ends])
    change = {}
    for name, place in LOOPS.items():
        found = seen.loops[place]
        change[name] = float(np.max(np.abs(found[1:] - found[0]) / np.abs(1.0 + found[0])))
    names = sorted((name for name in change if change[name] > MOVED), key=lambda name: -change[name])
    if not names:
        raise InputError(
            f"{axes[0].name} and {axes[1].name} move no loop within their ranges; name other gains"
        )
    return tuple(names)


def _nearer(axis: GainAxis) -> tuple[float, float]:
    """Half way to the ends of the range, at most twice the gain: not where all is unstable and everything moves everything."""
    high = min(axis.high, 3.0 * axis.present) if axis.present > 0.0 else axis.high
    return 0.5 * (axis.present + axis.low), 0.5 * (axis.present + high)


def _field(loops: GainLoops, points: Array) -> Field:
    """In one condition."""
    seen = loops.at(points)
    found = [grid_margins(loops.w, seen.loops[place]) for place in loops.nodes]
    stable = seen.unstable <= 0
    reserves = np.array([reserve(one) for one in found])
    least = np.argmin(reserves, axis=0)
    worst = np.where(stable, 1.0, -1.0) * np.min(reserves, axis=0)
    turned = [place for place in loops.nodes if place in ANGLES]
    sway = np.degrees(np.abs(seen.angles[turned[0]]).max(axis=1)) if turned else np.full(len(points), np.nan)
    up, down, phase = (
        np.min([getattr(one, name) for one in found], axis=0) for name in ("gain_up_dB", "gain_down_dB", "phase_deg")
    )  # fmt: skip
    zero = np.zeros(len(points), np.int64)
    return Field(worst, stable, up, down, phase, found[0].crossover_Hz, sway, zero, least)


def reserve(one: GridMargins) -> Array:
    """How loops stand against the practice, (points,); see `Field`."""
    return shares_of_practice(one.gain_up_dB, one.gain_down_dB, one.phase_deg).min(axis=0)


def _worst(found: Sequence[Field]) -> Field:
    """The worst over conditions, point by point."""
    reserves = np.array([one.reserve for one in found])
    which = np.argmin(reserves, axis=0)
    every = range(reserves.shape[1])

    def least(name: str) -> Array:
        return np.asarray(np.min([getattr(one, name) for one in found], axis=0))

    return Field(
        reserves.min(axis=0), np.all([one.stable for one in found], axis=0), least("gain_up_dB"), least("gain_down_dB"),
        least("phase_deg"), least("crossover_Hz"), np.max([one.sway_deg for one in found], axis=0), which,
        np.array([one.loop for one in found])[which, every],
    )  # fmt: skip
