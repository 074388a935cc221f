"""Notes that the flight loop leaves for the session, which makes events of them."""

from __future__ import annotations

from quadsim.jit import kernel
from quadsim.simulation.carried import NOTES


@kernel
def note(carried, kind, value, energy=0.0):
    """Keep that something happened at this tick; dropped when the list is full."""
    if carried.notes < NOTES:
        carried.note_tick[carried.notes] = carried.tick
        carried.note_kind[carried.notes] = kind
        carried.note_value[carried.notes] = value
        carried.note_energy[carried.notes] = energy
        carried.notes += 1
