"""The craft file with what a log says written into it, comments kept, and the proof on the rows that no fit saw."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from quadsim.config import Craft, parse_craft
from quadsim.config.quantity import Uncertain
from quadsim.config.toml_edit import merged, written
from quadsim.errors import InputError, Problem
from quadsim.logs.agreement import Agreement
from quadsim.logs.along import along, model_of
from quadsim.logs.channels import channels
from quadsim.logs.comparison import Comparison
from quadsim.logs.estimate import Estimate, Key

MOST_DELAY_MS = 15.0
"""Greatest `esc.delay_ms` that a craft file takes [ms]."""


@dataclass(frozen=True)
class Proof:
    """One channel on the rows kept back: with the craft file as it was, and as corrected."""

    before: Agreement
    after: Agreement

    @property
    def better(self) -> bool:
        """Whether the corrected craft is nearer to the log."""
        return self.after.rms < self.before.rms


def to_write(found: Comparison) -> list[Estimate]:
    """The estimates that a corrected file takes: those with a key that say more than the file; a delay only when it differs."""
    told = [one for one in found.estimates if one.key is not None and one.tells]
    return [one for one in told if one.name != "delay" or _worth(one)]


def _worth(one: Estimate) -> bool:
    """Whether a delay is off the file's and one that the file may hold."""
    assert one.key is not None and isinstance(one.key.value, float)
    return one.verdict in ("corrects", "contradicts") and 0.0 <= one.key.value <= MOST_DELAY_MS


def corrected_text(found: Comparison, name: str) -> str:
    """The craft file's text with the estimates in it. name : of the log, for the comment on top

    Raises
    ------
    InputError
        when something grave looks wrong with the log, it says nothing that the file does not know, or the file cannot be edited.
    """
    if not found.sound:
        grave = [Problem("LOG", one.text) for one in found.suspicions if one.grave]
        raise InputError(grave, "nothing is written into a craft file from a log that looks wrong")
    wanted = to_write(found)
    if not wanted:
        given = "says nothing that the craft file does not know better"
        raise InputError(
            [Problem("--apply", f"this log {given}", "", "Fly what is said under `cannot tell`")]
        )
    keys = [one.key for one in wanted if one.key is not None]
    entries = {key.name: entry(key) for key in keys}
    try:
        text = merged(found.craft.source_text, entries, found.craft.name)
    except InputError:
        given, remedy = "the craft file's layout cannot be edited safely", "Put in by hand: "
        by_hand = "; ".join(f"{name} = {written(value)}" for name, value in entries.items())
        raise InputError([Problem("--apply", given, "", remedy + by_hand)]) from None
    return "\n".join([f"# Corrected by {name}, a flight log:", *map(_history, wanted), "", text])


def entry(key: Key) -> Any:
    """What a craft file holds under a key: a number with its sigma, or a list of numbers."""
    if isinstance(key.value, tuple):
        return [float(f"{one:.4g}") for one in key.value]
    return Uncertain(key.value, key.sigma)


def _history(one: Estimate) -> str:
    """What a key holds and whence, as a comment."""
    assert one.key is not None
    text = (
        f"#   {one.key.name}: {one.words}, log {one.value:.4g}, file {one.expected:.4g} {one.unit}".rstrip()
    )
    if isinstance(one.key.value, tuple):  # a list of numbers takes no sigma
        text += f", standard uncertainty {100.0 * one.key.sigma:.2g} %"
    return text


def corrected(found: Comparison, name: str) -> Craft:
    """The corrected craft, checked like any file."""
    craft = parse_craft(corrected_text(found, name), f"corrected {found.craft.name}")
    craft._path = found.craft.path
    return craft


def prove(found: Comparison, craft: Craft) -> list[Proof]:
    """Every channel on the rows kept back, before and after."""
    model = model_of(craft, found.site)
    said = along(model, found.log, found.wind)
    before = channels(found.model, found.log, found.said, found.kept, found.offsets, found.fitted)
    after = channels(model, found.log, said, found.kept, found.offsets, found.fitted)
    return [
        Proof(one, replace(two, allowed=one.allowed, why=one.why))
        for one, two in zip(before, after, strict=True)
    ]
