"""Bandwidth and phase delay of a response to a command, in the sense of the handling-qualities standard.

ADS-33E-PRF (2000), sec. 3.3.2.1 and fig. 4. Its boundaries are for helicopters; they are not scaled to small craft and not used.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

PHASE_BANDWIDTH_DEG = -135.0
GAIN_BANDWIDTH_DB = 6.0
HALF_POWER_DB = 10.0 * math.log10(2.0)


@dataclass(frozen=True)
class Bandwidth:
    """NaN where the response never gets there.

    bandwidth_Hz : the lesser of phase and gain bandwidth for a rate response type, phase bandwidth for an attitude one
    phase_Hz : where the phase is 45 deg from -180; gain_Hz : where the gain is 6 dB above that at -180 deg
    turn_Hz : where the phase is -180 deg
    phase_delay_s : phase beyond -180 deg at twice that frequency, over that frequency in rad/s
    half_power_Hz : where the gain has fallen 3 dB below that at the lowest frequency given; not of the standard
    """

    bandwidth_Hz: float
    phase_Hz: float
    gain_Hz: float
    turn_Hz: float
    phase_delay_s: float
    half_power_Hz: float


def bandwidth(w: Array, response: Complex, rate_type: bool = False) -> Bandwidth:
    """Bandwidth of attitude over command.

    Parameters
    ----------
    w : rising angular frequencies [rad/s], (n,)
    response : attitude over command at them, (n,); its phase begins between -180 and 180 deg
    rate_type : True for a rate response type: attitude over rate command
    """
    phase = np.degrees(np.unwrap(np.angle(response)))
    gain = 20.0 * np.log10(np.abs(response))
    turn = _first(w, phase + 180.0)
    at_phase = _first(w, phase - PHASE_BANDWIDTH_DEG)
    half = _first(w, gain - gain[0] + HALF_POWER_DB) / TURN
    if math.isnan(turn):
        return Bandwidth(at_phase / TURN, at_phase / TURN, math.nan, math.nan, math.nan, half)
    at_gain = _last(w, gain - _at(w, gain, turn) - GAIN_BANDWIDTH_DB, turn)
    beyond = -180.0 - _at(w, phase, 2.0 * turn)
    delay = math.radians(beyond) / (2.0 * turn) if 2.0 * turn <= w[-1] else math.nan
    chosen = min(at_phase, at_gain) if rate_type and not math.isnan(at_gain) else at_phase
    return Bandwidth(chosen / TURN, at_phase / TURN, at_gain / TURN, turn / TURN, delay, half)


TURN = 2.0 * math.pi


def _at(w: Array, y: Array, where: float) -> float:
    return float(np.interp(math.log(where), np.log(w), y))


def _crossing(w: Array, y: Array, k: int) -> float:
    share = y[k] / (y[k] - y[k + 1])
    return float(math.exp(math.log(w[k]) + share * math.log(w[k + 1] / w[k])))


def _first(w: Array, y: Array) -> float:
    """First frequency at which y falls through zero."""
    falls = np.flatnonzero((y[:-1] > 0.0) & (y[1:] <= 0.0))
    return _crossing(w, y, int(falls[0])) if falls.size else math.nan


def _last(w: Array, y: Array, before: float) -> float:
    """Last frequency up to `before` at which y falls through zero."""
    falls = np.flatnonzero((y[:-1] > 0.0) & (y[1:] <= 0.0) & (w[:-1] < before))
    return _crossing(w, y, int(falls[-1])) if falls.size else math.nan
