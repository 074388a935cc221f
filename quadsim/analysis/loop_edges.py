"""How a loop would oscillate at its edges: gain too high, gain too low, one part of the gain alone too high.

With the gain changed by its margin at a phase crossover the loop oscillates steadily at that frequency
(Nyquist's criterion; K. Ogata, Modern Control Engineering, sec. 7-7). That is what a builder sees in the log. The same for
one part of the gain alone: with L = L0 + x L1 the loop oscillates where 1 + L0 + x L1 = 0: where -(1 + L0)/L1 is real.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.analysis.margins import Margins

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]


@dataclass(frozen=True)
class Crossover:
    """frequency_Hz : of the oscillation; gain_dB : by which the gain must rise for it, below zero: fall."""

    frequency_Hz: float
    gain_dB: float


def too_high(one: Margins) -> Crossover | None:
    """What comes first when the gain is raised; None if nothing does."""
    return min(
        (turn for turn in crossovers(one) if turn.gain_dB > 0.0), key=lambda turn: turn.gain_dB, default=None
    )


def too_low(one: Margins) -> Crossover | None:
    """What comes first when the gain is lowered: the wallow; None if nothing does."""
    return max(
        (turn for turn in crossovers(one) if turn.gain_dB < 0.0), key=lambda turn: turn.gain_dB, default=None
    )


def crossovers(one: Margins) -> list[Crossover]:
    """All phase crossovers of a loop, by rising frequency."""
    return [Crossover(frequency, gain) for frequency, gain in one.turns]


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
