"""Where a loop would oscillate: the frequencies at which its phase passes -180 deg, and the gain missing there or too much.

With the gain raised by what is missing, or lowered by what is too much, the loop oscillates steadily at that frequency
(Nyquist's criterion; K. Ogata, Modern Control Engineering, sec. 7-7). That is what a builder sees in the log. The same for
one part of the gain alone: with L = L0 + x L1 the loop oscillates where 1 + L0 + x L1 = 0: where -(1 + L0)/L1 is real.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]


@dataclass(frozen=True)
class Crossover:
    """frequency_Hz : of the oscillation; gain_dB : by which the gain must rise for it, below zero: fall."""

    frequency_Hz: float
    gain_dB: float


def phase_crossovers(w: Array, loop: Complex) -> list[Crossover]:
    """All crossings of -180 deg (and full turns from it), by rising frequency.

    Parameters
    ----------
    w : rising angular frequencies [rad/s], dense enough that the phase does not jump between two
    loop : L, negative feedback
    """
    size, phase = np.log(np.abs(loop)), np.unwrap(np.angle(loop))
    turns = np.floor((phase + math.pi) / (2.0 * math.pi))
    found = []
    for k in np.flatnonzero(np.diff(turns)):
        at = math.pi * (2.0 * max(turns[k], turns[k + 1]) - 1.0)
        share = (at - phase[k]) / (phase[k + 1] - phase[k])
        frequency = float(w[k] * (w[k + 1] / w[k]) ** share)
        gain = -20.0 * (size[k] + share * (size[k + 1] - size[k])) / math.log(10.0)
        found.append(Crossover(frequency / (2.0 * math.pi), float(gain)))
    return found


def too_high(found: list[Crossover]) -> Crossover | None:
    """What comes first when the gain is raised; None if nothing does."""
    return min((one for one in found if one.gain_dB > 0.0), key=lambda one: one.gain_dB, default=None)


def too_low(found: list[Crossover]) -> Crossover | None:
    """What comes first when the gain is lowered, or the integral is raised: the wallow; None if nothing does."""
    return max((one for one in found if one.gain_dB < 0.0), key=lambda one: one.gain_dB, default=None)


def part_too_high(w: Array, loop: Complex, part: Complex) -> Crossover | None:
    """How the loop oscillates when one part of it is raised alone, such as the integral; None if it never does.

    Parameters
    ----------
    loop, part : L with the part as it is, and what the part adds to it
    """
    more = -(1.0 + loop) / part
    found = []
    for k in np.flatnonzero(np.diff(np.sign(more.imag))):
        share = float(more.imag[k] / (more.imag[k] - more.imag[k + 1]))
        factor = 1.0 + float(more.real[k] + share * (more.real[k + 1] - more.real[k]))
        if factor > 1.0:
            frequency = float(w[k] * (w[k + 1] / w[k]) ** share) / (2.0 * math.pi)
            found.append(Crossover(frequency, 20.0 * math.log10(factor)))
    return min(found, key=lambda one: one.gain_dB, default=None)
