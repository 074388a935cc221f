"""The gains that go up together on a ladder, by what the blocks of a chain declare."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from controllers.contract import SLOTS, Block, Gains
from quadsim.errors import InputError, Problem

Array = NDArray[np.float64]

SHARES = (0.5, 0.7, 0.85, 1.0)
GUIDE_SCALED = ("HEIGHT_P", "CLIMB_P", "CLIMB_I")
INTEGRALS = {
    "roll": ("ROLL_I", "TILT_K_I"), "pitch": ("PITCH_I", "TILT_K_I"), "yaw": ("YAW_I", "YAW_K_I"), "height": ("CLIMB_I",)
}  # fmt: skip
"""The integral gain of each loop, by the names that laws give it."""
_SCALED = re.compile(r"(.*_)?(P|I|D|K_[A-Z])")


@dataclass(frozen=True)
class Scaled:
    """A gain that goes up with the ladder: slot, row in the gains array, its declaration."""

    slot: str
    row: int
    gain: Gains

    @property
    def key(self) -> str:
        """As a craft file spells it."""
        return self.gain.name.lower()


def scaled_gains(blocks: Sequence[Block]) -> list[Scaled]:
    """The gains of a chain that the ladder scales.

    Raises
    ------
    InputError
        when neither the attitude nor the rate block declares any.
    """
    found = []
    for slot in ("rate", "attitude", "guide"):
        row = SLOTS.index(slot)
        for gain in blocks[row].gains:
            wanted = gain.name in GUIDE_SCALED if slot == "guide" else _SCALED.fullmatch(gain.name)
            if wanted:
                found.append(Scaled(slot, row, gain))
    if not any(one.slot in ("rate", "attitude") for one in found):
        names = f"{blocks[SLOTS.index('attitude')].name} and {blocks[SLOTS.index('rate')].name}"
        raise InputError(
            [Problem("controllers", f"{names} declare no gain that ends in _p, _i or _d", "a ladder scales those",
                     "Take steps by hand with this law, and look at each with quadsim margins")]
        )  # fmt: skip
    return found


def with_share(gains: Array, scaled: Sequence[Scaled], share: float) -> Array:
    """Gains with the scaled ones times a share."""
    new = gains.copy()
    for one in scaled:
        new[one.row, one.gain] *= share
    return new
