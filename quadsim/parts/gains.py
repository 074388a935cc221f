"""Gains by "slot.gain", as flights and tuning find them: put into a craft, and as tables of its file."""

from __future__ import annotations

from collections.abc import Mapping

from quadsim.config import Craft

Gains = dict[str, float]


def with_gains(craft: Craft, gains: Mapping[str, float]) -> Craft:
    """The craft with these gains, its others as they are."""
    merged: dict[str, dict[str, float]] = {slot: dict(own) for slot, own in craft.gains.items()}
    for slot, own in by_slot(gains).items():
        merged[slot] = merged.get(slot, {}) | own
    return craft.model_copy(update={"gains": merged})


def by_slot(gains: Mapping[str, float]) -> dict[str, dict[str, float]]:
    """Slot -> gain -> value."""
    found: dict[str, dict[str, float]] = {}
    for name, value in gains.items():
        slot, _, gain = name.partition(".")
        found.setdefault(slot, {})[gain] = value
    return found
