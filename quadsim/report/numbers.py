"""Numbers as people read them."""

from __future__ import annotations

import math


def figure(value: float | None, digits: int = 3) -> str:
    """A number with about so many significant digits and no exponent; a dash for one that does not exist."""
    if value is None or not math.isfinite(value):
        return "-"
    if value == 0.0:
        return "0"
    decimals = digits - 1 - math.floor(math.log10(abs(value)))
    text = f"{value:.{min(max(decimals, 0), 4)}f}"
    return "0" if float(text) == 0.0 else text


def with_sigma(value: float, sigma: float) -> tuple[str, str]:
    """Value and standard uncertainty with the same decimals, two digits of the uncertainty; "-" for one that is not known."""
    if not (sigma > 0.0 and math.isfinite(sigma)):
        return f"{value:.4g}", "-"
    decimals = max(1 - math.floor(math.log10(sigma)), 0)
    return f"{value:.{decimals}f}", f"{sigma:.{decimals}f}"
