"""Margins of one loop from its frequency response: gain up and down, phase, delay, disk, crossover, sensitivity peak.

Whether a closed loop is stable does not follow from its frequency response alone; who knows says so (`stable`).

References
----------
Gain and phase margin: any text, such as K. Ogata, Modern Control Engineering, sec. 7-7. Balanced disk margin: P. Seiler,
A. Packard, P. Gahinet, An Introduction to Disk Margins, IEEE Control Systems Magazine 40(5), 2020: alpha = 2/max |S - T| with
S = 1/(1 + L), T = L/(1 + L); with it go gains of (2 + a)/(2 - a) up and down, or a phase of 2 atan(a/2).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

CAP_DB = 99.0
"""A gain margin beyond this, or none at all, counts as this [dB]."""
BETWEEN = 12
"""Points put between two given ones: |L| and phase run on cubic splines over log frequency."""


@dataclass(frozen=True)
class Margins:
    """Of one loop, broken at one place.

    gain_up_dB, gain_down_dB : by how much the gain may rise or fall before the loop is unstable (CAP_DB: without limit). Of a
        loop that is unstable: how far off the gain is at the nearest phase crossover, as a negative number in `gain_up_dB`, and
        nothing (0) down
    phase_deg, delay_ms : phase, and delay, that may be added; 180 deg and infinite without a crossover; 0 when unstable
    disk : balanced disk margin alpha (at most 2); 0 when unstable
    crossover_Hz : highest frequency at which |L| passes 1 downward, 0 for none
    peak, peak_Hz : greatest |1/(1 + L)| and where
    stable : as told
    turns : (frequency [Hz], margin [dB]) of every phase crossover, the gain that is missing to 1 there
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
    turns: tuple[tuple[float, float], ...]

    def gain_beyond(self, frequency_Hz: float) -> float:
        """Least gain margin up among the phase crossovers beyond a frequency [dB], CAP_DB for none."""
        return min(
            (gain for frequency, gain in self.turns if frequency >= frequency_Hz and gain > 0.0),
            default=CAP_DB,
        )


def margins(w: Array, loop: Complex, stable: bool = True) -> Margins:
    """Margins of one loop.

    Parameters
    ----------
    w : rising angular frequencies [rad/s], dense enough for a spline to follow
    loop : L at them, negative feedback
    stable : whether the closed loop is stable
    """
    log_w, log_l = _splined(np.asarray(w, float), np.asarray(loop))
    turns = _phase_crossovers(log_w, log_l)
    up = min((gain for _, gain in turns if gain > 0.0), default=CAP_DB)
    down = min((-gain for _, gain in turns if gain <= 0.0), default=CAP_DB)
    phase, delay, crossover = _gain_crossovers(log_w, log_l)
    response = np.exp(log_l)
    sensitivity = 1.0 / (1.0 + response)
    peak = int(np.argmax(np.abs(sensitivity)))
    disk = 2.0 / float(np.max(np.abs(2.0 * sensitivity - 1.0)))
    if not stable:
        up, down, phase, delay, disk = -min(up, down), 0.0, 0.0, 0.0, 0.0
    return Margins(
        up, down, phase, 1e3 * delay, disk, crossover, float(np.abs(sensitivity[peak])),
        math.exp(log_w[peak]) / (2.0 * math.pi), stable, turns,
    )  # fmt: skip


def _splined(w: Array, loop: Complex) -> tuple[Array, Complex]:
    """Log of frequency and of L with points put in between; given points stay among them."""
    log_w = np.log(w)
    log_l = np.log(np.maximum(np.abs(loop), 1e-300)) + 1j * np.unwrap(np.angle(loop))
    places = np.arange(len(w))
    fine = np.linspace(0, len(w) - 1, (len(w) - 1) * BETWEEN + 1)
    dense = np.interp(fine, places, log_w)
    return dense, CubicSpline(log_w, log_l)(dense)


def _phase_crossovers(log_w: Array, log_l: Complex) -> tuple[tuple[float, float], ...]:
    """Frequency [Hz] and gain missing to 1 [dB] wherever the phase is an odd multiple of 180 deg."""
    turns = (log_l.imag + math.pi) / (2.0 * math.pi)
    found = []
    for k in np.flatnonzero(np.diff(np.floor(turns))):
        share = (max(np.floor(turns[k]), np.floor(turns[k + 1])) - turns[k]) / (turns[k + 1] - turns[k])
        log = log_l.real[k] + share * (log_l.real[k + 1] - log_l.real[k])
        at = log_w[k] + share * (log_w[k + 1] - log_w[k])
        found.append((math.exp(at) / (2.0 * math.pi), float(min(-20.0 * log / math.log(10.0), CAP_DB))))
    return tuple(found)


def _gain_crossovers(log_w: Array, log_l: Complex) -> tuple[float, float, float]:
    """Least phase [deg] and delay [s] over all crossovers, and the highest frequency [Hz] where |L| falls through 1."""
    size, phase = log_l.real, log_l.imag
    least, delay, crossover = 180.0, math.inf, 0.0
    for k in np.flatnonzero(np.diff(np.sign(size))):
        share = size[k] / (size[k] - size[k + 1])
        at = phase[k] + share * (phase[k + 1] - phase[k])
        frequency = math.exp(log_w[k] + share * (log_w[k + 1] - log_w[k]))
        margin = math.remainder(at + math.pi, 2.0 * math.pi)
        least = min(least, abs(math.degrees(margin)))
        delay = min(delay, (margin if margin > 0.0 else margin + 2.0 * math.pi) / frequency)
        if size[k] > 0.0:
            crossover = frequency / (2.0 * math.pi)
    return least, delay, crossover
