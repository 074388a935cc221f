"""Changes of gains given as text, `rate.roll_p=22`: slot, gain as the craft file spells it (or with dots), value."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from controllers.contract import SLOTS, Block, Gains
from quadsim.errors import InputError, Problem

Array = NDArray[np.float64]


def find_gain(text: str, blocks: Sequence[Block]) -> tuple[int, Gains]:
    """Row of the slot and the gain that a text like `rate.roll_p` or `rate.roll.p` names.

    Raises
    ------
    InputError
        that names the gains there are, and the nearest.
    """
    slot, _, rest = text.strip().partition(".")
    if slot not in SLOTS:
        near = difflib.get_close_matches(slot, SLOTS, 1)
        hint = f"; nearest: {near[0]}" if near else ""
        raise InputError(
            [Problem(text, f"begins with {slot!r}", f"must begin with a slot: {', '.join(SLOTS)}{hint}")]
        )
    row = SLOTS.index(slot)
    known = {gain.name.lower(): gain for gain in blocks[row].gains}
    name = rest.strip().replace(".", "_").lower()
    if name not in known:
        near = difflib.get_close_matches(name, known, 1)
        hint = f"; nearest: {near[0]}" if near else ""
        raise InputError(
            [Problem(text, "is no gain", f"{blocks[row].name} has: {', '.join(known) or 'none'}{hint}")]
        )
    return row, known[name]


def changed_gains(changes: Iterable[str], blocks: Sequence[Block], gains: Array) -> Array:
    """Gains (5, GAINS_SIZE) with changes `SLOT.GAIN=VALUE` made.

    Raises
    ------
    InputError
        with everything that is wrong: no such gain, no number, out of the bounds that the block declares.
    """
    new, problems = gains.copy(), []
    for change in changes:
        name, equals, text = change.partition("=")
        if not equals:
            problems.append(
                Problem(change, "has no value", "must be SLOT.GAIN=VALUE, such as rate.roll_p=22")
            )
            continue
        try:
            row, gain = find_gain(name, blocks)
            value = float(text)
        except InputError as error:
            problems += error.problems
            continue
        except ValueError:
            problems.append(Problem(name, f"is {text.strip()!r}", f"must be a number in {gain.unit}"))
            continue
        if not gain.low <= value <= gain.high:
            problems.append(
                Problem(name, f"is {value:g}", f"must be {gain.low:g} to {gain.high:g} {gain.unit}")
            )
        new[row, gain] = value
    if problems:
        raise InputError(problems)
    return new
