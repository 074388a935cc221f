"""Gains and filters for a craft: search over its corners, then flights that confirm them."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from controllers.attitude import AttitudeGain
from controllers.contract import SLOTS
from controllers.estimate import EstimateGain
from controllers.guide_gains import GuideGain
from controllers.rate import RateGain
from quadsim.analysis.craft_loops import Condition, LoopBench
from quadsim.analysis.linear_block import Rest
from quadsim.analysis.margin_survey import PointMargins, margins_at
from quadsim.dynamics.state import X
from quadsim.errors import InputError, Problem
from quadsim.tuning.axis_loop import (
    AXES,
    AxisPlant,
    Candidates,
    Opened,
    axis_plants,
    basis,
    grid,
    gyro_filter,
    with_filter,
)
from quadsim.tuning.axis_search import Axis, Found, search
from quadsim.tuning.corners import Corner
from quadsim.tuning.height_search import HeightFound, height_plant, search_height
from quadsim.tuning.limits import Limits

Array = NDArray[np.float64]
Progress = Callable[[float, str], None]

STOCK = {
    "estimate": ("complementary",), "guide": ("response", "navigation"), "attitude": ("quaternion_p",), "rate": ("pid",),
    "allocate": ("priority",),
}  # fmt: skip
"""Blocks whose gains are known here."""
GYRO_CUTOFFS = (60.0, 90.0, 130.0, 180.0, 250.0)
DERIVATIVE_CUTOFFS = (40.0, 80.0, 140.0)
"""Filters that are tried [Hz]."""
SHAKE = math.radians(5.0)
"""Rms of what the rotors shake into the gyroscope in hover [rad/s]; assumed, balanced propellers on a soft mount."""


@dataclass(frozen=True)
class GainSet:
    """One set of gains for some of the corners.

    name : "empty and loaded", "empty" or "loaded"
    gains : (5, GAINS_SIZE); changed : "slot.gain" -> value, everything that was searched for
    axes : what was found, by axis; height : None where nothing kept to the limits and the craft's own stand
    worst : by axis, name of the corner with the least disk margin
    left_out : corners at which no gains keep to the limits
    """

    name: str
    gains: Array
    changed: dict[str, float]
    filters: dict[str, float]
    axes: dict[str, Found]
    height: HeightFound | None
    worst: dict[str, str]
    left_out: tuple[str, ...]


@dataclass(frozen=True)
class Workshop:
    """What the searches share: corners, frequencies, the plant of each axis with the estimate's own filter, blocks at rest."""

    bench: LoopBench
    corners: list[Corner]
    w: Array
    opened: list[Opened] = field(repr=False)
    plants: list[AxisPlant]
    resting: dict[str, Rest] = field(repr=False)

    def only(self, kept: list[int]) -> Workshop:
        """The same with some of the corners."""
        plants = [AxisPlant(one.axis, one.w, one.rate[kept], one.angle[kept]) for one in self.plants]
        corners, opened = [self.corners[k] for k in kept], [self.opened[k] for k in kept]
        return replace(self, corners=corners, opened=opened, plants=plants)


def check_blocks(bench: LoopBench) -> None:
    """Refuse blocks whose gains mean something else.

    Raises
    ------
    InputError
        that names every block that is not known here.
    """
    problems = [
        Problem(
            f"controllers.{slot}",
            f"is {block.name}",
            f"tune knows the gains of {' and '.join(STOCK[slot])} only",
        )
        for slot, block in zip(SLOTS, bench.blocks, strict=True)
        if block.name not in STOCK[slot]
    ]
    if problems:
        raise InputError(problems, bench.craft.name)


def workshop(bench: LoopBench, corners: list[Corner]) -> Workshop:
    """The corners made ready for the search."""
    w, resting = grid(bench), corners[0].loops.chain.rest.rest
    opened = [Opened.of(one.loops, w) for one in corners]
    return Workshop(bench, corners, w, opened, axis_plants(bench, resting["attitude"], opened, w), resting)


def axis_bounds(axis: int) -> Array:
    """Least and greatest P, I, D and attitude P of an axis, (4, 2); yaw has no D."""
    rate = (RateGain(first + axis) for first in (RateGain.ROLL_P, RateGain.ROLL_I, RateGain.ROLL_D))
    gains = (*rate, AttitudeGain.TILT_P if axis < 2 else AttitudeGain.YAW_P)
    bounds = np.array([(one.low, one.high) for one in gains])
    if axis == 2:
        bounds[2] = 0.0
    return bounds


def make_axis(shop: Workshop, axis: int, gyro_cutoff: float, derivative_cutoff: float) -> Axis:
    """One axis with filters."""
    bench, builder = shop.bench, shop.bench.builder
    hover = float(builder.hover_throttle)
    slope = float(builder.max_thrust) * (
        2.0 * float(builder.thrust_curve) * hover + 1.0 - float(builder.thrust_curve)
    )
    share = np.sqrt(np.mean(np.asarray(builder.allocation)[:, axis] ** 2))
    hovering = shop.corners[0].loops.plant.point.x[X.ROTORS : X.ROTORS + 4]
    return Axis(
        plant=with_filter(shop.plants[axis], bench, gyro_cutoff),
        basis=basis(bench, shop.resting["rate"], axis, shop.w, derivative_cutoff),
        filter_=gyro_filter(bench, gyro_cutoff, shop.w).astype(np.complex64),
        feed_forward=float(bench.gains[3, RateGain.FEED_FORWARD]),
        to_command=float(share) / slope,
        density=float(builder.gyro_density),
        shake=SHAKE,
        rotor_Hz=float(np.mean(np.abs(hovering))) / (2.0 * math.pi),
        mode_Hz=float(bench.sensors.mode_frequency) / (2.0 * math.pi),
        bounds=axis_bounds(axis),
        uses_d=axis < 2,
    )  # fmt: skip


def present(bench: LoopBench, axis: int) -> Candidates:
    """The gains of an axis as they are."""
    rate, angle = bench.gains[3], bench.gains[2, 0 if axis < 2 else 1]
    values = (rate[RateGain.ROLL_P + axis], rate[RateGain.ROLL_I + axis], rate[RateGain.ROLL_D + axis], angle)
    return Candidates(*(np.array([float(value)]) for value in values))


def choose_filters(shop: Workshop, limits: Limits, progress: Progress) -> tuple[float, float] | None:
    """The cut-offs with which roll rejects best; None if roll keeps to the limits with none of them.

    First each of the gyroscope's with the derivative's in the middle, then the other derivative's beside the two best of those.
    """
    nyquist = 0.45 * shop.bench.rates.physics_Hz / int(shop.bench.rates.every[0])
    low, middle, high = DERIVATIVE_CUTOFFS
    tried: dict[tuple[float, float], float] = {}

    def look(pairs: list[tuple[float, float]], first: float) -> tuple[float, float] | None:
        for done, pair in enumerate(pairs):
            progress(first + 0.5 * done / len(pairs), f"filters of {pair[0]:g} and {pair[1]:g} Hz")
            found = search(make_axis(shop, 0, *pair), limits, steps=(1.25,), every=2)
            if found is not None:
                tried[pair] = float(found.verdict.upset[0])
        return min(tried, key=lambda pair: tried[pair]) if tried else None

    usable = [gyro for gyro in GYRO_CUTOFFS if gyro < nyquist]
    look([(gyro, middle if gyro > middle else low) for gyro in usable], 0.0)
    beside = [gyro for gyro, _ in sorted(tried, key=lambda pair: tried[pair])[:2]] or usable
    pairs = [(gyro, other) for gyro in beside for other in (low, high) if other <= gyro]
    return look([pair for pair in pairs if pair not in tried], 0.5)


def find_set(shop: Workshop, limits: Limits, name: str, progress: Progress) -> GainSet | None:
    """One set for all corners of a workshop; corners at which hardly any thrust is left give way if they must."""
    left_out: list[str] = []

    def without(extreme: str) -> Workshop:
        """The corners less some at which it may be that no gains help."""
        gone = [one.name for one in shop.corners if getattr(one, extreme)]
        left_out.extend(name for name in gone if name not in left_out)
        return shop.only([k for k, one in enumerate(shop.corners) if not getattr(one, extreme)])

    def coarse(done: float, words: str) -> None:
        progress(0.5 * done, words)

    filters = choose_filters(shop, limits, coarse)
    found = find_axes(shop, limits, filters, without, progress) if filters else None
    if found is None and any(one.strained for one in shop.corners):
        left_out.clear()
        shop = without("strained")
        filters = choose_filters(shop, limits, coarse)
        found = find_axes(shop, limits, filters, without, progress) if filters else None
    if filters is None or found is None:
        return None
    axes, worst = found
    progress(0.86, "height")
    height = search_height(
        shop.bench, shop.resting["guide"], height_plant(shop.corners, shop.opened, shop.w), limits
    )
    return _assembled(shop, name, filters, axes, height, worst, tuple(left_out))


def find_axes(
    shop: Workshop, limits: Limits, filters: tuple[float, float], without: Callable[[str], Workshop], progress: Progress
) -> tuple[dict[str, Found], dict[str, str]] | None:  # fmt: skip
    """What is found for each axis with filters, and its worst corner; None where an axis keeps to the limits with no gains.

    without : the corners less some extremes
    """
    axes: dict[str, Found] = {}
    worst: dict[str, str] = {}
    for axis, words in enumerate(AXES):
        progress(0.5 + 0.12 * axis, words)
        # where thrust runs out yaw gives way to roll and pitch, whatever its gains
        here = shop if axis < 2 else shop.only([k for k, one in enumerate(shop.corners) if not one.strained])
        found = search(make_axis(here, axis, *filters), limits, start=present(shop.bench, axis))
        if found is None and axis == 2:
            here = without("idling")
            here = here.only([k for k, one in enumerate(here.corners) if not one.strained])
            found = search(make_axis(here, axis, *filters), limits, start=present(shop.bench, axis))
        if found is None:
            return None
        axes[words], worst[words] = found, here.corners[int(found.verdict.worst[0])].name
    return axes, worst


def _assembled(
    shop: Workshop, name: str, filters: tuple[float, float], axes: dict[str, Found], height: HeightFound | None,
    worst: dict[str, str], left_out: tuple[str, ...],
) -> GainSet:  # fmt: skip
    """The set as gains; rounded as a person would write them down."""
    gains, changed = shop.bench.gains.copy(), {}

    def put(slot: str, gain: int, value: float) -> None:
        row = SLOTS.index(slot)
        gains[row, gain] = _rounded(value)
        changed[f"{slot}.{shop.bench.blocks[row].gains(gain).name.lower()}"] = float(gains[row, gain])

    for axis, words in enumerate(AXES):
        one = axes[words].gains
        put("rate", RateGain.ROLL_P + axis, float(one.p[0]))
        put("rate", RateGain.ROLL_I + axis, float(one.i[0]))
        put("rate", RateGain.ROLL_D + axis, float(one.d[0]))
    tilt = min(float(axes["roll"].gains.a[0]), float(axes["pitch"].gains.a[0]))
    put("attitude", AttitudeGain.TILT_P, tilt)
    put("attitude", AttitudeGain.YAW_P, float(axes["yaw"].gains.a[0]))
    if height is not None:
        put("guide", GuideGain.HEIGHT_P, height.height_p)
        put("guide", GuideGain.CLIMB_P, height.climb_p)
        put("guide", GuideGain.CLIMB_I, height.climb_i)
    put("estimate", EstimateGain.GYRO_CUTOFF, filters[0])
    put("rate", RateGain.DERIVATIVE_CUTOFF, filters[1])
    cutoffs = {"gyro_cutoff_Hz": filters[0], "derivative_cutoff_Hz": filters[1]}
    return GainSet(name, gains, changed, cutoffs, axes, height, worst, left_out)


def _rounded(value: float) -> float:
    """Three significant figures."""
    return float(f"{value:.3g}")


def find_sets(shop: Workshop, limits: Limits, progress: Progress) -> list[GainSet]:
    """One set for everything, or, when one cannot cover both, one for the empty and one for the loaded craft; none if even that
    keeps to no limits."""
    both = any(one.loaded for one in shop.corners)
    whole = find_set(shop, limits, "empty and loaded" if both else "empty", progress)
    if whole is not None or not both:
        return [whole] if whole is not None else []
    found = []
    for loaded, name in ((False, "empty"), (True, "loaded")):
        kept = [k for k, one in enumerate(shop.corners) if one.loaded is loaded]
        one = find_set(shop.only(kept), limits, name, progress)
        if one is not None:
            found.append(one)
    return found


def in_hover(bench: LoopBench, gains: Array) -> PointMargins:
    """All loops in hover with some gains."""
    return margins_at(bench.with_gains(gains), Condition())
