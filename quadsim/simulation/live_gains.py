"""The gains of a flight in progress: listed with their bounds, changed while it flies, set back to the craft's."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from controllers.contract import SLOTS, Block
from controllers.registry import STOCK
from quadsim.simulation.run import Event
from quadsim.simulation.session import Session

ROOM = 4.0
"""Where a block declares no bound, a gain may go from nothing to so many times its value; our choice."""
RATE = SLOTS.index("rate")


@dataclass(frozen=True)
class LiveGain:
    """One gain: its place in the array of gains, its name and unit, least, greatest and the craft's value."""

    row: int
    index: int
    name: str
    unit: str
    low: float
    high: float
    craft: float

    @property
    def slot(self) -> str:
        """Slot of its block."""
        return SLOTS[self.row]


class LiveGains:
    """The gains of a session. What is set holds from the next run of its block on."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._craft = session.gains.copy()
        self.by_slot: dict[str, tuple[LiveGain, ...]] = {}
        """Every gain of the chain's blocks, by slot; a slot whose block has none is left out."""
        for row, (slot, block) in enumerate(zip(SLOTS, session.blocks, strict=True)):
            rate_Hz = session.rates.physics_Hz / int(session.rates.every[row])
            found = tuple(_entry(row, block, gain, self._craft[row], rate_Hz) for gain in block.gains)
            if found:
                self.by_slot[slot] = found

    @property
    def values(self) -> NDArray[np.float64]:
        """All gains as they are now, a copy."""
        return self._session.gains.copy()

    def block(self, slot: str) -> Block:
        """The block that flies in a slot."""
        return self._session.blocks[SLOTS.index(slot)]

    def value(self, gain: LiveGain) -> float:
        """A gain as it is now."""
        return float(self._session.gains[gain.row, gain.index])

    def set(self, gain: LiveGain, value: float) -> float:
        """Give a gain another value, kept within its bounds; returns what it has become."""
        kept = min(max(value, gain.low), gain.high)
        if kept != self.value(gain):
            self._session.gains[gain.row, gain.index] = kept
            self._renew(gain.row)
        return kept

    def reset(self) -> None:
        """All gains as the craft file has them."""
        rows = {gain.row for gain in self.changed}
        self._session.gains[:] = self._craft
        for row in rows:
            self._renew(row)
        if rows:
            self._note("gains back to the craft file's")

    @property
    def changed(self) -> list[LiveGain]:
        """Gains that differ from the craft file."""
        return [gain for found in self.by_slot.values() for gain in found if self.value(gain) != gain.craft]

    def note(self, gain: LiveGain, before: float) -> None:
        """Mark a change in the flight's events, once it is done."""
        after = self.value(gain)
        if after != before:
            self._note(
                f"{gain.slot} {gain.name.lower()} {before:.4g} to {after:.4g} {gain.unit}".rstrip(" -")
            )

    def craft_lines(self) -> list[str]:
        """What differs, as lines for the craft file."""
        lines: list[str] = []
        for slot, found in self.by_slot.items():
            own = [gain for gain in found if gain in self.changed]
            if own:
                lines.append(f"[gains.{slot}]")
                lines += [f"{gain.name.lower()} = {self.value(gain):.6g}" for gain in own]
        return lines

    def _note(self, text: str) -> None:
        self._session.events.append(Event(self._session.t_s, "timeline", text))

    def _renew(self, row: int) -> None:
        """Stock laws that work out their feedback from the gains before their first run do so again; PID and geometric law take
        the present rates for the last ones, which they nearly are."""
        block = self._session.blocks[row]
        if row == RATE and ("rate", block.name) in STOCK:
            self._session.memory[row, 0] = 0.0


def _entry(row: int, block: Block, gain: object, values: NDArray[np.float64], rate_Hz: float) -> LiveGain:
    """A gain with bounds that a slider can have; one in Hz stays below half its block's rate (`block_limits`)."""
    assert isinstance(gain, block.gains)
    craft = float(values[gain])
    low, high = gain.low, gain.high
    if gain.unit == "Hz":
        high = min(high, 0.5 * rate_Hz)
    reach = max(ROOM * abs(craft), 1.0)
    low = low if np.isfinite(low) else min(0.0, craft - reach)
    high = high if np.isfinite(high) else craft + reach
    return LiveGain(row, int(gain), gain.name, gain.unit, float(low), max(float(high), craft), craft)
