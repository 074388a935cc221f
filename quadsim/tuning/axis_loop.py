"""The loop of one axis for many candidates at once: what the plant makes of an angular acceleration asked for, and what the stock
rate and attitude blocks make of that, at every corner and frequency.

The blocks' own responses come from the blocks, linear in their gains: each gain is set to one, the others to none.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from controllers.attitude import AttitudeGain
from controllers.contract import SLOTS
from controllers.estimate import EstimateGain
from controllers.filters import second_order_low_pass
from controllers.rate import RateGain
from quadsim.analysis.craft_loops import CraftLoops, LoopBench
from quadsim.analysis.linear_block import LinearBlock, Place, Rest, linearise_block
from quadsim.analysis.loop_hardware import held_between
from quadsim.analysis.loop_model import ASKED, READS

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

AXES = ("roll", "pitch", "yaw")
PER_DECADE = 26
"""Frequencies per decade: |L| turns by some degrees from one to the next."""


def grid(bench: LoopBench) -> Array:
    """Angular frequencies of the search [rad/s]: from 0.05 Hz to half the rate of the rate block."""
    highest = 0.45 * bench.rates.physics_Hz / int(bench.rates.every[SLOTS.index("rate")])
    count = round(PER_DECADE * math.log10(highest / 0.05))
    return 2.0 * math.pi * np.geomspace(0.05, highest, count)


@dataclass(frozen=True)
class Basis:
    """Responses (n,) of the stock blocks for one axis and one derivative cut-off, per unit of gain.

    p, i, d : acceleration asked for per rate, sign turned; feed : per rate wanted, of the feed-forward
    """

    p: NDArray[np.complex64]
    i: NDArray[np.complex64]
    d: NDArray[np.complex64]
    feed: NDArray[np.complex64]


@dataclass(frozen=True)
class AxisPlant:
    """One axis at every corner, for an estimate with one gyroscope cut-off.

    rate, angle : estimated rate and angle per acceleration asked for, (corners, n); the angle held for the rate block
    """

    axis: int
    w: Array
    rate: Complex
    angle: Complex


def attitude_share(bench: LoopBench, rest: Rest) -> LinearBlock:
    """The attitude block with both its gains at one: rates wanted per attitude."""
    gains = np.array(bench.gains[2])
    gains[AttitudeGain.TILT_P] = gains[AttitudeGain.YAW_P] = 1.0
    dt = int(bench.rates.every[2]) * bench.h
    return linearise_block(bench.blocks[2], bench.builder, gains, rest, dt, READS["attitude"])


@dataclass(frozen=True)
class Opened:
    """A craft in one condition with its accelerations and thrust free: `answers` (n, nodes, 4) per unit of each asked for."""

    nodes: tuple[Place, ...]
    answers: Complex

    @classmethod
    def of(cls, loops: CraftLoops, w: Array) -> Opened:
        """At angular frequencies w (n,) [rad/s]."""
        model = loops.model(w)
        return cls(tuple(model.nodes), model.opened(ASKED))

    def answer(self, node: Place, asked: int) -> Complex:
        """What becomes at a node (n,)."""
        return self.answers[:, self.nodes.index(node), asked]


def axis_plants(bench: LoopBench, rest: Rest, corners: list[Opened], w: Array) -> list[AxisPlant]:
    """The three axes at all corners, with the estimate as it is; rest : of the attitude block."""
    share = attitude_share(bench, rest)
    hold = held_between(w, share.dt, int(bench.rates.every[3]) * bench.h)
    out = share.a.shape[0] - len(share.outputs)
    rates: list[list[Complex]] = [[], [], []]
    angles: list[list[Complex]] = [[], [], []]
    for corner in corners:
        for axis in range(3):
            rates[axis].append(corner.answer(("rates", axis), axis))
            turn = sum(
                -share.b[out + axis, share.inputs.index(("attitude", k))]
                * corner.answer(("attitude", k), axis)
                for k in range(4)
            )
            angles[axis].append(np.asarray(turn) * hold)
    return [AxisPlant(axis, w, np.array(rates[axis]), np.array(angles[axis])) for axis in range(3)]


def basis(bench: LoopBench, rest: Rest, axis: int, w: Array, derivative_cutoff: float) -> Basis:
    """What each gain of the rate block does by itself."""
    rate, wanted, out = ("rates", axis), ("rates_wanted", axis), ("angular_acceleration_wanted", axis)

    def alone(gain: int, given: Place) -> Complex:
        gains = np.array(bench.gains[3])
        for k in range(3):
            gains[RateGain.ROLL_P + k] = gains[RateGain.ROLL_I + k] = gains[RateGain.ROLL_D + k] = 0.0
        gains[RateGain.FEED_FORWARD] = gains[RateGain.GYROSCOPIC] = 0.0
        gains[RateGain.DERIVATIVE_CUTOFF] = derivative_cutoff
        gains[gain] = 1.0
        dt = int(bench.rates.every[3]) * bench.h
        model = linearise_block(bench.blocks[3], bench.builder, gains, rest, dt, (rate, wanted))
        return model.response(w)[:, model.outputs.index(out), model.inputs.index(given)]

    responses = (
        -alone(RateGain.ROLL_P + axis, rate), -alone(RateGain.ROLL_I + axis, rate), -alone(RateGain.ROLL_D + axis, rate),
        alone(RateGain.FEED_FORWARD, wanted),
    )  # fmt: skip
    return Basis(*(one.astype(np.complex64) for one in responses))


def gyro_filter(bench: LoopBench, cutoff: float, w: Array) -> Complex:
    """The estimate's low-pass on the rates; 1 for a cut-off of 0."""
    dt = int(bench.rates.every[0]) * bench.h
    if cutoff <= 0.0:
        return np.ones(len(w), complex)
    b0, a1, a2 = second_order_low_pass(cutoff * dt)
    late = np.exp(-1j * w * dt)
    return np.asarray(b0 * (1.0 + late) ** 2 / (1.0 + late * (a1 + late * a2)))


def with_filter(plant: AxisPlant, bench: LoopBench, cutoff: float) -> AxisPlant:
    """The same with another cut-off of the gyroscope's low-pass: it acts on the rates alone, not on the attitude. In single
    precision, which is plenty for margins and twice as fast."""
    own = gyro_filter(bench, float(bench.gains[0, EstimateGain.GYRO_CUTOFF]), plant.w)
    rate = plant.rate * gyro_filter(bench, cutoff, plant.w) / own
    return AxisPlant(plant.axis, plant.w, rate.astype(np.complex64), plant.angle.astype(np.complex64))


@dataclass(frozen=True)
class Candidates:
    """Gains of one axis, each (m,): rate P [1/s], I [1/s2], D [-], attitude P [1/s]."""

    p: Array
    i: Array
    d: Array
    a: Array

    def __len__(self) -> int:
        return len(self.p)

    def pick(self, which: Any) -> Candidates:
        """Some of them."""
        return Candidates(
            *(np.atleast_1d(np.asarray(one)[which]) for one in (self.p, self.i, self.d, self.a))
        )


@dataclass(frozen=True)
class Answers:
    """Of m candidates at c corners and n frequencies, (m, c, n).

    loop : L of the axis, cut at the acceleration asked for, attitude closed; angle : angle over angle asked for
    noise : acceleration asked for per rate as the gyroscope reads it
    upset : angle per acceleration from outside that goes on, so over s
    """

    loop: Complex
    angle: Complex
    noise: Complex
    upset: Complex


def answers(
    plant: AxisPlant, basis_: Basis, feed_forward: float, filter_: Complex, some: Candidates
) -> Answers:
    """Closed loops of candidates.

    feed_forward : share of the wanted rate's derivative; filter_ : (n,) of the gyroscope's low-pass
    """
    p, i, d, a = (one.astype(np.float32)[:, None, None] for one in (some.p, some.i, some.d, some.a))
    on_rate = p * basis_.p + i * basis_.i + d * basis_.d
    on_wanted = p * basis_.p + i * basis_.i + np.float32(feed_forward) * basis_.feed
    loop = on_rate * plant.rate + a * on_wanted * plant.angle
    sensitivity = 1.0 / (1.0 + loop)
    angle = a * on_wanted * plant.angle * sensitivity
    upset = plant.angle * sensitivity * (-1j / plant.w).astype(np.complex64)
    return Answers(loop, angle, on_rate * filter_ * sensitivity, upset)
