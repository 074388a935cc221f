"""Gains of height control by search, over the corners that leave thrust to spare.

The guide's response to height and climb rate comes from the block itself. For one CLIMB_P its thrust is linear in CLIMB_I, and
the share of height in HEIGHT_P besides, so two linearisations give it for all of them.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from controllers.guide_gains import GuideGain
from quadsim.analysis.craft_loops import LoopBench
from quadsim.analysis.linear_block import Rest, linearise_block
from quadsim.analysis.loop_model import ASKED
from quadsim.tuning.axis_loop import Opened
from quadsim.tuning.axis_search import turns
from quadsim.tuning.corners import Corner
from quadsim.tuning.limits import Limits

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

NET_HEIGHT = (0.7, 1.1, 1.7, 2.6)
"""HEIGHT_P [1/s]."""
NET_CLIMB = (2.5, 4.0, 6.0, 9.0, 13.0)
"""CLIMB_P [1/s]."""
NET_INTEGRAL = (0.08, 0.18, 0.35)
"""CLIMB_I over the square of CLIMB_P [-]."""
STEPS = (1.25, 1.1)
RESONANCE = 1.6
"""Greatest gain of height over height as measured: the target itself comes through a model that does not overshoot. Assumed."""
_GIVEN = (("height", 0), ("climb_rate", 0))


@dataclass(frozen=True)
class HeightPlant:
    """Height and climb rate as estimated per thrust asked for, (corners, n)."""

    w: Array
    height: Complex
    climb: Complex


@dataclass(frozen=True)
class HeightFound:
    """Gains [1/s, 1/s, 1/s2] with their disk margin.

    upset : what is made small, the square root of the integral of squared height after a step of force [m s^0.5/N]
    """

    height_p: float
    climb_p: float
    climb_i: float
    disk: float
    upset: float


def height_plant(corners: list[Corner], opened: list[Opened], w: Array) -> HeightPlant:
    """Of all corners in which a height can be held."""
    thrust = ASKED.index(("thrust_wanted", 0))
    kept = [
        one for corner, one in zip(corners, opened, strict=True) if not corner.strained and not corner.idling
    ]
    height, climb = (np.array([one.answer(node, thrust) for one in kept]) for node in _GIVEN)
    return HeightPlant(w, height, climb)


def search_height(bench: LoopBench, rest: Rest, plant: HeightPlant, limits: Limits) -> HeightFound | None:
    """The gains that hold the height best within the limits; None if nothing in the net keeps to them."""
    some = [(h, c, i * c * c) for h, c, i in itertools.product(NET_HEIGHT, NET_CLIMB, NET_INTEGRAL)]
    guide = _Guide(bench, rest, plant.w)
    best = _best(guide, plant, limits, some)
    if best is None:
        return None
    for step in STEPS:
        for _ in range(3):
            centre = (best.height_p, best.climb_p, best.climb_i)
            h, c, i = ((value / step, value, value * step) for value in centre)
            around = list(itertools.product(h, c, i))
            better = _best(guide, plant, limits, around)
            if better is None or better.upset >= best.upset * (1.0 - 1e-9):
                break
            best = better
    return best


def _best(
    guide: _Guide, plant: HeightPlant, limits: Limits, some: list[tuple[float, float, float]]
) -> HeightFound | None:
    bounds = [(g.low, g.high) for g in (GuideGain.HEIGHT_P, GuideGain.CLIMB_P, GuideGain.CLIMB_I)]
    low, high = np.transpose(bounds)
    some = list(dict.fromkeys((float(a), float(b), float(c)) for a, b, c in np.clip(some, low, high)))
    loops = np.array([_loop(guide, plant, one) for one in some])
    sensitivity = 1.0 / (1.0 + loops)
    disks = np.min(2.0 / np.max(np.abs(2.0 * sensitivity - 1.0), axis=-1), axis=1)
    peak = np.max(np.abs(loops * sensitivity), axis=(1, 2))
    counted = turns(loops)
    good = np.flatnonzero(disks > 0.5)
    if not good.size:
        return None
    stable = np.all(np.abs(counted - np.median(counted[good], axis=0)) < 0.5, axis=1)
    size = np.abs(plant.height * sensitivity / (1j * plant.w)) ** 2
    squared = (np.trapezoid(size, plant.w, axis=-1) + plant.w[0] * size[..., 0]) / math.pi
    upset = np.where(
        stable & (disks >= limits.disk) & (peak <= RESONANCE), np.sqrt(squared.max(axis=1)), np.inf
    )
    k = int(np.argmin(upset))
    if not math.isfinite(upset[k]):
        return None
    return HeightFound(*some[k], float(disks[k]), float(upset[k]))


@dataclass
class _Guide:
    """Thrust asked for per height and climb rate (n, 2), from the block; one for each CLIMB_P, as it is needed."""

    bench: LoopBench
    rest: Rest
    w: Array
    known: dict[float, tuple[Complex, Complex]] = field(default_factory=dict)

    def answer(self, height_p: float, climb_p: float, climb_i: float) -> Complex:
        """For any gains."""
        if climb_p not in self.known:
            self.known[climb_p] = self.linear(1.0, climb_p, 0.0), self.linear(1.0, climb_p, 1.0)
        without, with_one = self.known[climb_p]
        return np.asarray((without + climb_i * (with_one - without)) * np.array([height_p, 1.0]))

    def linear(self, height_p: float, climb_p: float, climb_i: float) -> Complex:
        """The block itself, linearised with these gains."""
        bench, gains = self.bench, np.array(self.bench.gains[1])
        gains[GuideGain.HEIGHT_P], gains[GuideGain.CLIMB_P], gains[GuideGain.CLIMB_I] = (
            height_p,
            climb_p,
            climb_i,
        )
        dt = int(bench.rates.every[1]) * bench.h
        model = linearise_block(bench.blocks[1], bench.builder, gains, self.rest, dt, _GIVEN)
        return model.response(self.w)[:, model.outputs.index(("thrust_wanted", 0)), :]


def _loop(guide: _Guide, plant: HeightPlant, one: tuple[float, float, float]) -> Complex:
    """L of the height loop at every corner, (corners, n)."""
    answer = guide.answer(*one)
    return np.asarray(-(answer[:, 0] * plant.height + answer[:, 1] * plant.climb))
