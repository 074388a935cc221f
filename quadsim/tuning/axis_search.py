"""Gains of one axis by search: a coarse net first, then ever finer steps about the best of it, all candidates at once.

What counts is how far and how long a lasting torque from outside turns the craft: the square root of the integral of the squared
angle after a step of it, at the corner where that is greatest (Parseval). What is allowed is said by `Limits`.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from quadsim.tuning.axis_loop import Answers, AxisPlant, Basis, Candidates, answers
from quadsim.tuning.limits import Limits

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

NET_P = np.geomspace(4.0, 90.0, 10)
NET_YAW_P = np.geomspace(0.8, 40.0, 10)
NET_I = (0.5, 1.5, 4.0)
"""I over P [1/s]."""
MOST_I = 6.0
"""Greatest I over P [1/s]; assumed: a faster integral winds up as soon as a motor is at its limit, which margins do not see."""
NET_D = (0.0, 0.005, 0.012, 0.025)
"""D over P [s]."""
NET_A = (2.5, 4.0, 6.5, 10.0, 15.0)
NET_YAW_A = (0.7, 1.3, 2.5, 4.5, 9.0)
"""Attitude P [1/s]."""
STEPS = (1.4, 1.2, 1.1, 1.05)
"""Factors of the finer steps."""
ROUNDS = 6
"""Most moves at each step."""
AT_ONCE = 160
"""Candidates evaluated in one go: what fits a processor's cache."""


@dataclass(frozen=True)
class Axis:
    """What the search of one axis needs.

    plant, basis, filter_, feed_forward : see `axis_loop`
    to_command : motor command [-] per angular acceleration asked for, rms over the motors, at hover
    density : of the gyroscope's noise, one-sided [rad/s/rtHz]
    shake, rotor_Hz : rms of what unbalanced rotors shake into the gyroscope [rad/s], and at which frequency
    mode_Hz : of a flexible mode, 0 for none
    bounds : (4, 2) least and greatest P, I, D, attitude P
    uses_d : whether the axis has a D
    """

    plant: AxisPlant
    basis: Basis
    filter_: Complex
    feed_forward: float
    to_command: float
    density: float
    shake: float
    rotor_Hz: float
    mode_Hz: float
    bounds: Array
    uses_d: bool


@dataclass(frozen=True)
class Verdict:
    """Of m candidates, each (m,), the worst over the corners; `upset` is what is made small.

    disk, resonance, noise_pct : see Limits; crossover_Hz : at the slowest corner; flexible_dB : below 1 about a mode
    bandwidth_Hz, quickest_Hz : bandwidth of the angle at the slowest and the quickest corner; phase_delay_s : at the latest
    stable : whether L goes round -1 as often as that of the surely stable; worst : corner of the least disk margin
    """

    upset: Array
    disk: Array
    resonance: Array
    noise_pct: Array
    crossover_Hz: Array
    flexible_dB: Array
    bandwidth_Hz: Array
    quickest_Hz: Array
    phase_delay_s: Array
    stable: NDArray[np.bool_]
    worst: NDArray[np.intp]

    def allowed(self, limits: Limits) -> NDArray[np.bool_]:
        """Which keep to the limits."""
        return np.asarray(
            self.stable
            & (self.disk >= limits.disk)
            & (self.resonance <= limits.resonance)
            & (self.noise_pct <= limits.noise_pct)
            & (self.flexible_dB >= limits.flexible_dB)
            & (self.bandwidth_Hz >= limits.least_bandwidth_Hz)
            & (self.quickest_Hz <= limits.most_bandwidth_Hz)
            & (self.phase_delay_s <= limits.phase_delay_s)
        )


def turns(loop: Complex) -> Array:
    """How often L goes round -1 over the frequencies, counted from phase to phase of 1 + L: (m, c)."""
    around = 1.0 + loop
    return np.asarray(np.sum(np.angle(around[..., 1:] / around[..., :-1]), axis=-1) / (2.0 * math.pi))


def judge(
    axis: Axis, some: Candidates, reference: Array | None = None, limits: Limits | None = None
) -> Verdict:
    """Figures of candidates.

    reference : `turns` (c,) of a stable candidate, for telling the others; None: none is told
    limits : candidates that break one of them are not looked at any further, and count as unstable: takes half the time
    """
    parts = []
    for first in range(0, len(some), AT_ONCE):
        piece = some.pick(slice(first, first + AT_ONCE))
        got = answers(axis.plant, axis.basis, axis.feed_forward, axis.filter_, piece)
        parts.append(_figures(axis, got, reference, limits))
    return Verdict(*(np.concatenate([getattr(one, each.name) for one in parts]) for each in fields(Verdict)))


def _figures(axis: Axis, got: Answers, reference: Array | None, limits: Limits | None) -> Verdict:
    w = axis.plant.w
    sensitivity = 1.0 / (1.0 + got.loop)
    disks = 2.0 / np.max(np.abs(2.0 * sensitivity - 1.0), axis=-1)
    size = np.abs(got.upset) ** 2
    below = w[0] * size[..., 0]  # with an integral it is flat below the first frequency
    squared = (np.trapezoid(size, w, axis=-1) + below) / math.pi
    hertz = w / (2.0 * math.pi)
    white = np.trapezoid(np.abs(got.noise) ** 2, hertz, axis=-1) * axis.density**2
    tone = np.abs(got.noise[..., int(np.argmin(np.abs(hertz - axis.rotor_Hz)))]) * axis.shake
    noise_pct = 100.0 * axis.to_command * np.max(np.sqrt(white + tone**2), axis=1)
    resonance = np.max(np.abs(got.angle), axis=(1, 2))
    least_disk, flexible_dB = np.min(disks, axis=1), _below_mode(axis, hertz, got.loop)
    kept = np.ones(len(disks), bool)
    if limits is not None:
        kept = (least_disk >= limits.disk) & (resonance <= limits.resonance)
        kept &= (noise_pct <= limits.noise_pct) & (flexible_dB >= limits.flexible_dB)
    bandwidths, delays = np.full(disks.shape, math.nan), np.full(disks.shape, math.nan)
    stable = kept.copy()
    if kept.any():
        bandwidths[kept], delays[kept] = _handling(hertz, got.angle[kept])
        if reference is not None:
            stable[kept] = np.all(np.abs(turns(got.loop[kept]) - reference) < 0.5, axis=1)
    return Verdict(
        upset=np.sqrt(np.max(squared, axis=1)),
        disk=least_disk,
        resonance=resonance,
        noise_pct=noise_pct,
        crossover_Hz=np.min(_crossovers(hertz, got.loop), axis=1),
        flexible_dB=flexible_dB,
        bandwidth_Hz=np.min(bandwidths, axis=1),
        quickest_Hz=np.max(bandwidths, axis=1),
        phase_delay_s=np.max(delays, axis=1),
        stable=stable,
        worst=np.argmin(disks, axis=1),
    )


def _last_above(loop: Complex) -> NDArray[np.intp]:
    """Place of the highest frequency at which |L| is above 1, (m, c); -1 where it never is."""
    above = np.abs(loop) > 1.0
    return np.where(above.any(axis=-1), loop.shape[-1] - 1 - np.argmax(above[..., ::-1], axis=-1), -1)


def _crossovers(hertz: Array, loop: Complex) -> Array:
    """Highest frequency [Hz] at which |L| is above 1, (m, c); 0 where it never is."""
    last = _last_above(loop)
    return np.where(last >= 0, hertz[last], 0.0)


def _at_crossover(loop: Complex) -> Complex:
    """L at the highest frequency at which it is above 1, (m, c); at the first one where it never is."""
    last = np.maximum(_last_above(loop), 0)
    return np.asarray(np.take_along_axis(loop, last[..., None], axis=-1)[..., 0])


def _handling(hertz: Array, angle: Complex) -> tuple[Array, Array]:
    """First frequency [Hz] at which the angle is 135 deg late, and its phase delay [s], (m, c); see `analysis.bandwidth`."""
    phase = np.unwrap(np.angle(angle), axis=-1)
    late, over = phase < -0.75 * math.pi, phase < -math.pi
    bandwidth = np.where(late.any(axis=-1), hertz[np.argmax(late, axis=-1)], hertz[-1])
    turn = np.where(over.any(axis=-1), np.argmax(over, axis=-1), len(hertz) - 1)
    twice = np.searchsorted(hertz, 2.0 * hertz[turn]).clip(max=len(hertz) - 1)
    beyond = -math.pi - np.take_along_axis(phase, twice[..., None], axis=-1)[..., 0]
    return bandwidth, beyond / (4.0 * math.pi * hertz[turn])


def _below_mode(axis: Axis, hertz: Array, loop: Complex) -> Array:
    """How far below 1 |L| stays within a third of a flexible mode's frequency [dB], (m,)."""
    near = np.abs(hertz / axis.mode_Hz - 1.0) < 0.33 if axis.mode_Hz > 0.0 else np.zeros(len(hertz), bool)
    if not near.any():
        return np.full(loop.shape[0], np.inf)
    return np.asarray(-20.0 * np.log10(np.max(np.abs(loop[..., near]), axis=(1, 2))))


def net(axis: Axis, every: int = 1) -> Candidates:
    """The coarse net, within the bounds; of its values of P one in `every`."""
    ratios_d = NET_D if axis.uses_d else (0.0,)
    p, angle = (NET_P, NET_A) if axis.uses_d else (NET_YAW_P, NET_YAW_A)
    rows = np.array(
        [(a, a * b, a * c, d) for a, b, c, d in itertools.product(p[::every], NET_I, ratios_d, angle)]
    )
    return _bounded(axis, rows)


def _bounded(axis: Axis, rows: Array) -> Candidates:
    low, high = axis.bounds.T
    kept = np.clip(rows, low, high)
    kept[:, 1] = np.minimum(kept[:, 1], MOST_I * kept[:, 0])
    kept = np.unique(kept, axis=0)
    return Candidates(*kept.T)


@dataclass(frozen=True)
class Found:
    """Gains of an axis with their figures; `gains` is one candidate."""

    gains: Candidates
    verdict: Verdict


def reference_turns(axis: Axis) -> Array | None:
    """`turns` of a design that is stable for certain: of all in the net with a good disk margin at every corner the one whose
    count most share; the nearest to -1 that good loops come is the same for all of them. None without any.

    A plant of the wrong sign has good disk margins too, on the other side. The slowest good loop tells: far below lags and delays
    an integrator is late by a quarter turn, and ahead by one with the wrong sign.
    """
    some = net(axis, 2)
    verdict = judge(axis, some)
    good = np.flatnonzero(verdict.disk > 0.5)
    if not good.size:
        return None
    got = answers(axis.plant, axis.basis, axis.feed_forward, axis.filter_, some.pick(good))
    slowest = int(np.argmin(some.p[good]))
    if np.any(_at_crossover(got.loop[slowest : slowest + 1]).imag >= 0.0):
        return None
    counted = turns(got.loop)
    whole, votes = np.unique(np.round(counted - counted[0]), axis=0, return_counts=True)
    return counted[0] + whole[np.argmax(votes)]


def search(
    axis: Axis,
    limits: Limits,
    start: Candidates | None = None,
    steps: Sequence[float] = STEPS,
    every: int = 1,
) -> Found | None:
    """The gains that reject best within the limits; None when nothing in the net keeps to them.

    start : one candidate to begin with besides the net; steps : factors of the finer steps; every : see `net`
    """
    reference = reference_turns(axis)
    if reference is None:
        return None
    some = net(axis, every)
    if start is not None:
        some = Candidates(
            *(np.concatenate([getattr(some, k), getattr(start, k)]) for k in ("p", "i", "d", "a"))
        )
    best = _best(axis, limits, some, reference)
    if best is None:
        return None
    for step in steps:
        for _ in range(ROUNDS):
            better = _best(axis, limits, _around(axis, best.gains, step), reference)
            if better is None or better.verdict.upset[0] >= best.verdict.upset[0] * (1.0 - 1e-9):
                break
            best = better
    return best


def _best(axis: Axis, limits: Limits, some: Candidates, reference: Array) -> Found | None:
    verdict = judge(axis, some, reference, limits)
    upset = np.where(verdict.allowed(limits), verdict.upset, np.inf)
    k = int(np.argmin(upset))
    if not math.isfinite(upset[k]):
        return None
    one = Verdict(*(getattr(verdict, each.name)[k : k + 1] for each in fields(Verdict)))
    return Found(some.pick(k), one)


def _around(axis: Axis, centre: Candidates, step: float) -> Candidates:
    """All neighbours of a candidate: each gain a step down, as it is, or a step up."""
    values = [
        np.array([value / step, value, value * step])
        for value in (float(centre.p[0]), float(centre.i[0]), float(centre.d[0]), float(centre.a[0]))
    ]
    if axis.uses_d and values[2][1] == 0.0:
        values[2] = np.array([0.0, 0.002 * float(centre.p[0])])
    return _bounded(axis, np.array(list(itertools.product(*values))))
