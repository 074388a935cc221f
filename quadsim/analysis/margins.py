"""Margins of one loop from its frequency response: gain up and down, phase, delay, disk, crossover, sensitivity peak.

References
----------
Gain and phase margin: any text, such as K. Ogata, Modern Control Engineering, sec. 7-7. Balanced disk margin: P. Seiler,
A. Packard, P. Gahinet, An Introduction to Disk Margins, IEEE Control Systems Magazine 40(5), 2020: alpha = 1/max |S - T|/2 with
S = 1/(1 + L), T = L/(1 + L); gain margin (2 + a)/(2 - a), phase margin 2 atan(a/2).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

CAP_DB = 99.0
"""A gain margin beyond this, or none at all, counts as this [dB]."""


@dataclass(frozen=True)
class Margins:
    """Of one loop, broken at one place.

    gain_up_dB, gain_down_dB : by how much the gain may rise or fall (a positive number) before the loop is unstable
    phase_deg, delay_ms : phase and delay that may be added at the worst crossover
    disk : balanced disk margin alpha
    crossover_Hz : highest frequency at which |L| passes 1 downward
    peak : greatest |1/(1 + L)|
    """

    gain_up_dB: float
    gain_down_dB: float
    phase_deg: float
    delay_ms: float
    disk: float
    crossover_Hz: float
    peak: float
    peak_Hz: float
    stable: bool


def margins(w: Array, loop: Complex, stable: bool = True) -> Margins:
    """Margins of a stable closed loop.

    Parameters
    ----------
    w : rising angular frequencies [rad/s], dense enough that neither phase nor size jumps between two
    loop : L, negative feedback
    """
    size, phase = np.abs(loop), np.unwrap(np.angle(loop))
    up, down = CAP_DB, CAP_DB
    turns = np.floor((phase + math.pi) / (2.0 * math.pi))
    for k in np.flatnonzero(np.diff(turns)):
        at = math.pi * (2.0 * max(turns[k], turns[k + 1]) - 1.0)
        share = (at - phase[k]) / (phase[k + 1] - phase[k])
        log = math.log(size[k]) + share * math.log(size[k + 1] / size[k])
        gain = -20.0 * log / math.log(10.0)
        up, down = (min(up, gain), down) if gain > 0.0 else (up, min(down, -gain))
    least, delay, crossover = 180.0, math.inf, 0.0
    for k in np.flatnonzero(np.diff(np.sign(size - 1.0))):
        share = math.log(size[k]) / math.log(size[k] / size[k + 1])
        at = phase[k] + share * (phase[k + 1] - phase[k])
        frequency = w[k] * (w[k + 1] / w[k]) ** share
        margin = math.remainder(at + math.pi, 2.0 * math.pi)
        least = min(least, abs(math.degrees(margin)))
        delay = min(delay, (margin if margin > 0.0 else margin + 2.0 * math.pi) / frequency)
        if size[k] > 1.0:
            crossover = frequency
    s = 1.0 / (1.0 + loop)
    peak = int(np.argmax(np.abs(s)))
    balanced = np.max(np.abs(s - 0.5)) * 2.0
    return Margins(
        up, down, least, 1e3 * delay, 2.0 / float(balanced), crossover / (2.0 * math.pi), float(np.abs(s[peak])),
        float(w[peak] / (2.0 * math.pi)), stable,
    )  # fmt: skip
