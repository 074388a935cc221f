"""Where a loop would oscillate: the frequencies at which its phase passes -180 deg, and the gain that is missing there or too much.

With the gain raised by what is missing, or lowered by what is too much, the loop oscillates steadily at that frequency
(Nyquist's criterion; K. Ogata, Modern Control Engineering, sec. 7-7). That is what a builder sees in the log.
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
