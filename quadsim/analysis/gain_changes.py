"""What-if: gains named in words, such as "rate.roll_p=26", put into the gains of a chain."""

from __future__ import annotations

import difflib
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from controllers.contract import SLOTS, Block
from quadsim.errors import InputError, Problem


def changed_gains(
    blocks: Sequence[Block], gains: NDArray[np.float64], changes: Sequence[str]
) -> NDArray[np.float64]:
    """A copy of `gains` (5, n), in the order of SLOTS, with `changes` made: SLOT.GAIN=VALUE each, in the gain's own unit.

    Dots within a gain's name count as underscores: "rate.roll.p=26" is "rate.roll_p=26".

    Raises
    ------
    InputError
        that lists every change with an unknown slot or gain, no number, or a value out of its gain's bounds.
    """
    made, problems = gains.copy(), []
    for change in changes:
        name, equals, text = change.partition("=")
        slot, _, gain_name = name.strip().lower().partition(".")
        gain_name = gain_name.replace(".", "_")
        if slot not in SLOTS or not equals:
            problems.append(
                Problem(f"--set {change}", "", f"must be SLOT.GAIN=VALUE, SLOT one of {', '.join(SLOTS)}")
            )
            continue
        row = SLOTS.index(slot)
        known = {gain.name.lower(): gain for gain in blocks[row].gains}
        gain = known.get(gain_name)
        if gain is None:
            near = difflib.get_close_matches(gain_name, known, 1)
            nearest = f"; nearest: {near[0]}" if near else ""
            allowed = f"{blocks[row].name} has: {', '.join(known) or 'none'}{nearest}"
            problems.append(Problem(f"--set {change}", "no such gain", allowed))
            continue
        value = _number(text)
        if value is None or not gain.low <= value <= gain.high:
            allowed = f"must be {gain.low:g} to {gain.high:g} {gain.unit}"
            problems.append(Problem(f"--set {change}", f"is {text.strip() or 'nothing'}", allowed))
            continue
        made[row, gain] = value
    if problems:
        raise InputError(problems)
    return made


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None
