"""A loop's frequency response out of the steady answer to a periodic wave: lines, phases, cross spectra, how sure each line is.

The loop is cut where a wave e is added: given = law + e, law = -L given. With Y and U = Y + E the lines of `law` and `given`,
averaged over periods in phase with e (their cross spectra with it), L = -Y/U.

References
----------
R. Pintelon, J. Schoukens, System Identification: A Frequency Domain Approach (2001), ch. 2 and 4 (periodic excitation, averaging
over periods, variance from their scatter, odd lines; from memory). M. R. Schroeder, Synthesis of low-peak-factor signals and
binary sequences with low autocorrelation, IEEE Trans. Information Theory 16(1), 1970 (phases; from memory).
Ordinary coherence: J. S. Bendat, A. G. Piersol, Random Data, ch. 5 (from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]
Whole = NDArray[np.int64]

CYCLES = 5
"""Turns of the lowest line in one period: odd lines 5, 7, 9, ... lie 1.4 apart at the low end."""
NEIGHBOURS = 8
"""Odd harmonics without a line that tell of the bend at a line: the nearest ones."""
DB_PER_NEPER = 20.0 / math.log(10.0)


@dataclass(frozen=True)
class Wave:
    """A periodic sum of cosines on odd harmonics, so that what squares make of it falls in between.

    period : samples; rate_Hz : samples per second
    harmonics, amplitudes, phases : (n,); phases [rad]
    """

    period: int
    rate_Hz: float
    harmonics: Whole
    amplitudes: Array
    phases: Array

    @property
    def w(self) -> Array:
        """Angular frequencies of the lines [rad/s]."""
        return np.asarray(2.0 * math.pi * self.rate_Hz / self.period * self.harmonics, dtype=float)

    @property
    def lines(self) -> Complex:
        """Complex amplitudes (n,): the wave is Re sum E e^(j w t)."""
        return self.amplitudes * np.exp(1j * self.phases)

    @property
    def samples(self) -> Array:
        """One period (period,)."""
        spectrum = np.zeros(self.period // 2 + 1, complex)
        spectrum[self.harmonics] = 0.5 * self.period * self.lines
        return np.fft.irfft(spectrum, self.period)

    @property
    def peak(self) -> float:
        """Greatest size over a period."""
        return float(np.max(np.abs(self.samples)))

    def scaled(self, peak: float) -> Wave:
        """The same shape with another peak."""
        factor = peak / self.peak
        return Wave(self.period, self.rate_Hz, self.harmonics, factor * self.amplitudes, self.phases)


def wave_at(w: Array, rate_Hz: float) -> Wave:
    """A wave of equal lines on the odd harmonics next to the frequencies wanted; peak 1.

    Parameters
    ----------
    w : angular frequencies wanted [rad/s]; two that fall on one line become one
    rate_Hz : samples per second
    """
    w = np.sort(np.asarray(w, dtype=float))
    period = round(CYCLES * 2.0 * math.pi / w[0] * rate_Hz)
    exact = w * period / (2.0 * math.pi * rate_Hz)
    harmonics = np.unique(2 * np.round(0.5 * (exact - 1.0)).astype(np.int64) + 1)
    n = np.arange(len(harmonics))
    # Schroeder's phases: the frequency sweeps once over the period, so no two lines peak together
    phases = -math.pi * n * (n - 1) / len(harmonics)
    return Wave(period, rate_Hz, harmonics, np.ones(len(harmonics)), phases).scaled(1.0)


@dataclass(frozen=True)
class LoopEstimate:
    """L at each line, with how sure it is.

    loop : (n,) complex
    scatter : standard error of L over |L|, from the scatter between periods
    coherence : of the wave with what the law answers and with what the plant is given, the lesser of the two
    bend : error of L over |L| to be expected from what cubes and limits make of the wave: they show on odd harmonics where it has
        no line, and on the lines as well; noise is taken off
    even : answer on even harmonics over that on the lines (root of the sums of squares): what squares and unequal ways up and
        down make of the wave; it does not fall on the lines
    """

    loop: Complex
    scatter: Array
    coherence: Array
    bend: Array
    even: float

    @property
    def error_deg(self) -> Array:
        """Standard error of the phase [deg]: half of the variance lies across L."""
        return np.degrees(self.scatter / math.sqrt(2.0))


def estimate_loop(wave: Wave, law: Array) -> LoopEstimate:
    """The loop from what the law asked for during whole periods of the wave.

    Parameters
    ----------
    law : (periods, wave.period), the law's own output at the runs where the wave was added, transient over; two periods at least.
        A law that does not answer at all has no loop: the caller looks for that
    """
    periods = law.shape[0]
    spectra = np.fft.rfft(_without_trend(law), axis=1) * (2.0 / wave.period)
    mean = spectra.mean(axis=0)
    variance = np.sum(np.abs(spectra - mean) ** 2, axis=0) / (periods * (periods - 1))
    at, drive = wave.harmonics, wave.lines
    answer, given = mean[at], mean[at] + drive
    loop = -answer / given
    # from an error of the answer to one of L over |L|
    weight = np.abs(drive) / (np.abs(given) * np.abs(answer))
    scatter, bend = weight * np.sqrt(variance[at]), weight * _silent_odd(mean, variance, at)
    coherence = np.minimum(_coherence(spectra[:, at]), _coherence(spectra[:, at] + drive))
    squares = np.abs(mean) ** 2 - variance
    even = float(np.sum(squares[at[0] - 1 : at[-1] + 1 : 2])) / float(np.sum(np.abs(answer) ** 2))
    return LoopEstimate(loop, scatter, coherence, bend, math.sqrt(max(even, 0.0)))


def _silent_odd(mean: Complex, variance: Array, lines: Whole) -> Array:
    """Root mean power of the odd harmonics without a line next to each line, noise taken off; 0 where it is within three standard
    errors of the noise, which in n squares of a complex mean is variance/sqrt(n). Below the lowest line a drift would tell."""
    odd = np.setdiff1d(np.arange(lines[0], len(mean), 2), lines)
    level = np.zeros(len(lines))
    for n, line in enumerate(lines):
        near = odd[np.argsort(np.abs(np.log(odd / line)))[:NEIGHBOURS]]
        noise = float(np.mean(variance[near]))
        power = float(np.mean(np.abs(mean[near]) ** 2)) - noise
        level[n] = math.sqrt(power) if power > 3.0 * noise / math.sqrt(near.size) else 0.0
    return level


def _coherence(lines: Complex) -> Array:
    """|mean|^2 over the mean square of lines that a strictly periodic wave drives, (periods, n) -> (n,)."""
    return np.abs(lines.mean(axis=0)) ** 2 / np.mean(np.abs(lines) ** 2, axis=0)


def _without_trend(values: Array) -> Array:
    """Taken out is the straight line through the periods' means: a slow drift would leak into the low lines."""
    periods, n = values.shape
    means = values.mean(axis=1)
    slope = np.polyfit(np.arange(periods), means, 1)[0] / n if periods > 1 else 0.0
    t = np.arange(periods * n).reshape(periods, n)
    return values - values.mean() - slope * (t - t.mean())
