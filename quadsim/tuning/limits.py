"""What a set of gains must keep to, in numbers."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quadsim.analysis.margin_survey import GAIN_DB, PHASE_DEG


@dataclass(frozen=True)
class Limits:
    """Every limit holds at every corner of what the craft will meet.

    gain_dB, phase_deg : margins; kept together by a disk margin that promises both (practice for aircraft, see margin_survey)
    resonance : greatest gain of angle over angle asked for, so of the overshoot too [-]
    noise_pct : rms of a motor command from the gyroscope's noise, all axes together [% of full command]
    flexible_dB : how far below 1 the loop stays about a flexible mode [dB]
    least_bandwidth_Hz, most_bandwidth_Hz : of the roll and pitch angle, in the sense of ADS-33E-PRF: how quick, or how soft
    phase_delay_s : greatest phase delay of the roll and pitch angle, in the same sense
    """

    gain_dB: float = GAIN_DB
    phase_deg: float = PHASE_DEG
    resonance: float = 1.10
    noise_pct: float = 1.5
    flexible_dB: float = 8.0
    least_bandwidth_Hz: float = 0.0
    most_bandwidth_Hz: float = math.inf
    phase_delay_s: float = math.inf

    @property
    def disk(self) -> float:
        """The balanced disk margin that promises both: gains of (2 + a)/(2 - a), a phase of 2 atan(a/2)."""
        factor = 10.0 ** (self.gain_dB / 20.0)
        by_gain = 2.0 * (factor - 1.0) / (factor + 1.0)
        return max(by_gain, 2.0 * math.tan(math.radians(self.phase_deg) / 2.0))
