"""Margins of many loops at once, for maps: straight lines between the samples, all points of a grid in one expression.

`quadsim.analysis.margins` is the finer ruler for one loop; a test holds the two against each other.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quadsim.analysis.margins import CAP_DB

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

NO_CROSSOVER_DEG = 180.0
"""Phase margin of a loop whose gain never passes 1."""


@dataclass(frozen=True)
class GridMargins:
    """Of one loop at many points, each (points,); meanings and caps as of `Margins`, for stable closed loops."""

    gain_up_dB: Array
    gain_down_dB: Array
    phase_deg: Array
    crossover_Hz: Array
    peak: Array


def grid_margins(w: Array, loop: Complex) -> GridMargins:
    """Margins of loops L (points, n) at rising angular frequencies w (n,) [rad/s]."""
    log_w, log_size, from_minus_one = np.log(w), np.log(np.abs(loop)), np.angle(-loop)
    gain = np.where(crossing := _crosses_negative_axis(from_minus_one), 0.0, np.nan)
    gain = gain - 20.0 / math.log(10.0) * _at_zero(from_minus_one, log_size)
    up = np.min(np.where(crossing & (gain > 0.0), gain, CAP_DB), axis=1)
    down = np.min(np.where(crossing & (gain <= 0.0), -gain, CAP_DB), axis=1)
    passes = np.diff(np.sign(log_size), axis=1) != 0.0
    angle = _at_zero(log_size, np.unwrap(from_minus_one, axis=1))
    away = np.abs(np.degrees(np.angle(np.exp(1j * angle))))
    phase = np.min(np.where(passes, away, NO_CROSSOVER_DEG), axis=1)
    falls = passes & (log_size[:, :-1] > 0.0)
    at = _at_zero(log_size, np.broadcast_to(log_w, log_size.shape))
    crossover = np.max(np.where(falls, np.exp(at), 0.0), axis=1) / (2.0 * math.pi)
    return GridMargins(up, down, phase, crossover, np.max(1.0 / np.abs(1.0 + loop), axis=1))


def _crosses_negative_axis(from_minus_one: Array) -> NDArray[np.bool_]:
    """Where the angle of -L changes its sign from one sample to the next without going round the back."""
    change = np.diff(from_minus_one, axis=1)
    return (np.diff(np.sign(from_minus_one), axis=1) != 0.0) & (np.abs(change) < math.pi)


def _at_zero(by: Array, value: Array) -> Array:
    """`value` where `by` is zero on the straight line between neighbours, (points, n - 1)."""
    change = np.diff(by, axis=1)
    share = np.clip(-by[:, :-1] / np.where(change == 0.0, 1.0, change), 0.0, 1.0)
    return np.asarray(value[:, :-1] + share * np.diff(value, axis=1), float)


def unstable_modes(determinant: Complex, known: Complex, known_unstable: int) -> NDArray[np.int64]:
    """Number of growing modes of closed loops, from one whose number is known.

    det(I - M(jw)) turns by pi less from w = 0 to infinity for each of its zeros that moves from the left half plane to the right
    (principle of the argument; generalised Nyquist criterion, e.g. S. Skogestad, I. Postlethwaite, Multivariable Feedback
    Control, 2nd ed. (2005), sec. 4.9; from memory), as long as what is cut open keeps its own poles on their side. A mode that
    rings longer than one step of the frequencies resolves may be counted on the wrong side: it is at the edge then.

    Parameters
    ----------
    determinant : det(I - M), (points, n)
    known : of the loop whose number of growing modes is `known_unstable`, (n,)
    """
    turned = np.unwrap(np.angle(determinant / known), axis=1)
    return np.asarray(known_unstable - np.rint((turned[:, -1] - turned[:, 0]) / math.pi), np.int64)
