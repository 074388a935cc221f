"""Gains of a winner's own: found as `quadsim tune` finds them, by its linear search alone, and judged by the event flown with
them and with the shipped ones."""

from __future__ import annotations

from dataclasses import replace

from quadsim.analysis.craft_loops import loop_bench
from quadsim.config import Craft
from quadsim.environment.atmosphere import Site
from quadsim.parts.flown import Flown
from quadsim.parts.gains import Gains
from quadsim.tuning.corners import make_corners
from quadsim.tuning.limits import Limits
from quadsim.tuning.tune import find_set, workshop

TAKEN = ("rate.", "attitude.", "estimate.")
"""Slots whose gains are taken over. The guide's height gains are not: what an event flies with sets its own."""


def own_gains(craft: Craft, site: Site) -> Gains | None:
    """Gains for an empty craft that keep to the limits at every corner, by "slot.gain"; None where no gains do."""
    bench = loop_bench(craft, site=site)
    found = find_set(workshop(bench, make_corners(bench, 0.0)), Limits(), "empty", lambda done, words: None)
    if found is None:
        return None
    return {name: value for name, value in found.changed.items() if name.startswith(TAKEN)}


def better(shipped: Flown, own: Flown | None, gains: Gains | None = None) -> Flown:
    """The better of an event flown twice, and why; its own gains only where they are clearly better."""
    if own is None or gains is None:
        return replace(
            shipped, choice_of_gains="shipped gains: none of its own keep to the limits of quadsim tune"
        )
    if own.beats(shipped):
        return replace(
            own, gains=gains | own.gains, choice_of_gains=f"own gains: shipped ones flew {_figure(shipped)}"
        )
    return replace(shipped, choice_of_gains=f"shipped gains: its own flew {_figure(own)}")


def _figure(one: Flown) -> str:
    if not one.was_flown:
        return "none"
    return {
        "slalom": f"{one.flown:.2f} s", "lift": f"{1e3 * one.flown:.0f} g", "dash": f"{one.flown:.1f} m/s",
    }[one.event]  # fmt: skip
