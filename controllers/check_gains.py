"""What a block declares of its gains: a unit in SI and radians, a default, and bounds around it."""

from __future__ import annotations

import difflib
import math
import re

from controllers.bench import Finding
from controllers.contract import Block, Gains

UNITS = ("1", "-", "rad", "s", "Hz", "m", "kg", "N", "V", "A", "W", "J", "ohm", "K", "T", "Pa", "rtHz", "rts")
"""Units that others are made of: `rad/s2`, `1/s`, `N m`, `kg m2`, `N per rad/s2`."""

_NOT_INSIDE = {
    "deg": "rad",
    "deg/s": "rad/s",
    "rpm": "rad/s",
    "ms": "s",
    "us": "s",
    "g": "kg",
    "mm": "m",
    "%": "-",
}


def check_gains(block: Block) -> Finding:
    """The first fault of the list of gains, with what to do."""
    names = list(block.gains.__members__)
    if not names:
        return Finding("gains", True, "none declared: whatever it is tuned with stands in its text")
    faults = [fault for gain in block.gains if (fault := _fault(gain))]
    if faults:
        return Finding("gains", False, "; ".join(faults))
    return Finding("gains", True, f"{len(names)} declared, each with unit, default and bounds")


def _fault(gain: Gains) -> str:
    if not gain.unit:
        return f"{gain.name} has no unit; name it, or '-' for a plain number"
    if gain.unit in _NOT_INSIDE:
        return f"{gain.name} is in {gain.unit}; gains are in SI and radians: use {_NOT_INSIDE[gain.unit]}"
    for part in re.split(r"[/ ]|per", gain.unit):
        symbol = re.sub(r"(\^?-?\d+)$", "", part) or part
        if symbol and symbol not in UNITS:
            near = difflib.get_close_matches(symbol, UNITS, 1)
            hint = f"; nearest: {near[0]}" if near else ""
            return (
                f"{gain.name} has the unit {gain.unit!r}, which is not made of {', '.join(UNITS[1:])}{hint}"
            )
    if not (math.isfinite(gain.low) and math.isfinite(gain.high)):
        return f"{gain.name} has no bounds; write NAME = index, unit, default, least, greatest"
    if not gain.low <= gain.default <= gain.high:
        low, high = f"{gain.low:g}", f"{gain.high:g}"
        return (
            f"{gain.name} has the default {gain.default:g}, which is not within {low} to {high} {gain.unit}"
        )
    return ""
