"""The two gains of a map, from text: `rate.roll_p,rate.roll_d`, each perhaps with a range, `rate.roll_p=5:60`."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from controllers.contract import Gains
from quadsim.analysis.craft_loops import LoopBench
from quadsim.analysis.gain_changes import find_gain
from quadsim.analysis.gain_loops import Knob
from quadsim.errors import InputError, Problem

Array = NDArray[np.float64]

POINTS = 21
"""Values of each gain on the grid."""
AROUND = 4.0
"""A range that is not given goes from the present value divided by this to that times this, within the block's bounds."""
FURTHER = 2.0
"""An edge is looked for beyond the map's range, by this factor."""


@dataclass(frozen=True)
class GainAxis:
    """A gain that is varied: from `low` to `high` on the map, looked at over the knob's range for edges; in its own unit."""

    name: str
    row: int
    gain: Gains
    present: float
    low: float
    high: float

    @property
    def unit(self) -> str:
        return self.gain.unit

    @property
    def logarithmic(self) -> bool:
        """Whether steps are ratios: where the gain stays over zero."""
        return self.low > 0.0 and self.present > 0.0

    @property
    def values(self) -> Array:
        """The grid's values."""
        steps = np.geomspace if self.logarithmic else np.linspace
        return np.asarray(steps(self.low, self.high, POINTS), float)

    @property
    def knob(self) -> Knob:
        """The range over which loops are looked at."""
        if not self.logarithmic:
            return Knob(self.row, int(self.gain), self.low, self.high)
        low, high = max(self.gain.low, self.low / FURTHER), min(self.gain.high, self.high * FURTHER)
        return Knob(self.row, int(self.gain), low if low > 0.0 else self.low, high)

    def ratio_dB(self, value: float) -> float | None:
        """A value over the present one [dB]; None where there is no such ratio."""
        if value <= 0.0 or self.present <= 0.0:
            return None
        return 20.0 * math.log10(value / self.present)


def gain_axes(text: str, bench: LoopBench) -> tuple[GainAxis, GainAxis]:
    """The two axes that a text names; ranges left out are taken about the present values.

    Raises
    ------
    InputError
        for anything but two different gains of the craft's blocks, or a range that cannot be.
    """
    parts = [part.strip() for part in text.split(",") if part.strip()]
    if len(parts) != 2:
        raise InputError(
            [Problem("map", f"names {len(parts)} gains", "must name two, such as rate.roll_p,rate.roll_d")]
        )
    first, second = (_axis(part, bench) for part in parts)
    if (first.row, int(first.gain)) == (second.row, int(second.gain)):
        raise InputError([Problem("map", f"names {first.name} twice", "must name two different gains")])
    return first, second


def _axis(text: str, bench: LoopBench) -> GainAxis:
    name, given, limits = text.partition("=")
    row, gain = find_gain(name, bench.blocks)
    name, present = f"{bench.blocks[row].slot}.{gain.name.lower()}", float(bench.gains[row, gain])
    low, high = _range(name, limits) if given else _usual(gain, present)
    if not gain.low <= low < high <= gain.high:
        within = f"must rise, within {gain.low:g} to {gain.high:g} {gain.unit}"
        raise InputError([Problem(name, f"ranges from {low:g} to {high:g}", within)])
    if not low <= present <= high:
        raise InputError(
            [Problem(name, f"ranges from {low:g} to {high:g}", f"must take in the present value, {present:g} {gain.unit}")]
        )  # fmt: skip
    return GainAxis(name, row, gain, present, low, high)


def _range(name: str, text: str) -> tuple[float, float]:
    low, colon, high = text.partition(":")
    try:
        found = float(low), float(high)
    except ValueError:
        found = math.nan, math.nan
    if not colon or not all(math.isfinite(one) for one in found):
        raise InputError(
            [Problem(name, f"has the range {text!r}", "must be LOW:HIGH, such as rate.roll_p=5:60")]
        )
    return found


def _usual(gain: Gains, present: float) -> tuple[float, float]:
    """About the present value; from the lower bound on for a gain that is zero."""
    if present > 0.0:
        return max(gain.low, present / AROUND), min(gain.high, present * AROUND)
    low = max(gain.low, min(present, 0.0))
    return low, min(gain.high, gain.default * AROUND if gain.default > 0.0 else low + 0.1 * (gain.high - low))
