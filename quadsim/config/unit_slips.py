"""Numbers in another unit than the key's, and keys by the name that somebody would guess: what was probably meant."""

from __future__ import annotations

import difflib
import re
from collections.abc import Sequence
from typing import Any

from quadsim.config.quantity import Quantity

_OTHERS: dict[str, tuple[tuple[str, float], ...]] = {
    "mm": (("cm", 10.0), ("m", 1000.0), ("inches", 25.4)),
    "in": (("mm", 1 / 25.4), ("cm", 1 / 2.54)),
    "m": (("cm", 0.01), ("mm", 0.001)),
    "g": (("kg", 1000.0), ("ounces", 28.349523125)),
    "mAh": (("Ah", 1000.0),),
    "mohm": (("ohm", 1000.0),),
    "ms": (("s", 1000.0), ("us", 0.001)),
    "s": (("ms", 0.001), ("min", 60.0)),
    "A": (("mA", 0.001),),
    "m/s": (("km/h", 1 / 3.6),),
    "hPa": (("Pa", 0.01), ("kPa", 10.0)),
}
"""By a key's unit: the units that a number may have been given in by mistake, and how much of the key's they are."""
_CELL_V = (3.7, 3.6, 4.2)
_NAMES = {
    "weight": "mass",
    "voltage": "cells",
    "pack_voltage": "cells",
    "nominal_voltage": "cells",
    "current_max": "current_limit",
    "max_current": "current_limit",
    "size": "diameter",
    "internal_resistance": "cell_resistance",
    "c_rating": "label_C_rating",
}
"""Names that people give to what has another one here, both without a unit."""


def unit_remedy(key: str, given: Any, quantity: Quantity | None) -> str:
    """What to write where a number is refused; empty when there is no guess."""
    value = given.get("value") if isinstance(given, dict) else given
    if isinstance(value, str):
        bare = re.match(r"\s*([-+]?\d+(?:[.,]\d+)?)", value)
        return f"Give the bare number, {bare[1].replace(',', '.')}; the unit is in the key" if bare else ""
    if quantity is None or isinstance(value, bool) or not isinstance(value, (int, float)):
        return ""
    if key == "cells":
        return _cells(float(value), quantity)
    guesses = [(name, value * factor) for name, factor in _OTHERS.get(quantity.unit, ())]
    inside = [f"{number:.4g} if that was {name}" for name, number in guesses if _in(number, quantity)]
    return f"Write {', or '.join(inside)}" if inside and not _in(float(value), quantity) else ""


def _in(number: float, quantity: Quantity) -> bool:
    """Inside the range; at no bound, since what only touches a bound is no likely guess."""
    return quantity.low < number < quantity.high


def _cells(volts: float, quantity: Quantity) -> str:
    for cell in _CELL_V:
        count = round(volts / cell)
        if abs(count * cell - volts) < 0.06 and quantity.low <= count <= quantity.high:
            return f"{volts:g} V are {count} cells of {cell:g} V: write {count}"
    return ""


def nearest_key(name: str, known: Sequence[str]) -> str:
    """The key that was probably meant: the same but for unit or case, a known other name, or nearly the same letters."""
    stem = _stem(name)
    for wanted in (stem, _NAMES.get(stem, "")):
        same = [key for key in known if wanted and wanted in (key.lower(), _stem(key))]
        if same:
            return same[0]
    close = difflib.get_close_matches(name, known, n=1)
    begun = [key for key in known if key.lower().startswith(stem + "_")]
    return (close or begun or [""])[0]


def _stem(key: str) -> str:
    """The name without its unit, small: `capacity_mAh` -> `capacity`."""
    return re.sub(
        r"_(?:mm|cm|m|in|inch|g|kg|mg|mAh|Ah|V|A|mohm|ohm|s|ms|Hz|deg|pct|C|W|rpm|rpm_per_V)$", "", key
    ).lower()
