"""How cold or warm air and packs may be: one sweep of both, a range of each."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from quadsim.contest_day.bound import NEVER, Bound, Range, kept_range
from quadsim.contest_day.today import at_temperature
from quadsim.environment.atmosphere import Site

Array = NDArray[np.float64]
TEMPERATURES = np.arange(-10.0, 46.0, 5.0)
"""That are looked at [deg C]."""
COLD_PACK_C = 15.0
"""Packs are warmed up to this before a run [deg C]; common practice, no source."""


def swept(site: Site) -> list[Site]:
    """The place at all TEMPERATURES of the air with the packs of today, then the other way round."""
    air = [at_temperature(site, air_C=one) for one in TEMPERATURES.tolist()]
    return air + [at_temperature(site, pack_C=one) for one in TEMPERATURES.tolist()]


def warmth_bounds(
    site: Site, left: Mapping[str, Array], levels: tuple[float, float], words: str
) -> list[Bound]:
    """Bounds on air and pack from what is left by name over `swept`.

    Packs are go from COLD_PACK_C on, whatever their resistance allows.

    levels : what must be left for go, and before no-go; words : why, with {} for what bites first
    """
    count, bounds = len(TEMPERATURES), []
    for k, (quantity, now) in enumerate((("air", site.temperature_C), ("pack", site.pack_temperature_C))):
        own = {name: one[k * count : (k + 1) * count] for name, one in left.items()}
        first = min(own, key=lambda name: float(np.min(own[name])))
        least = np.min(np.array(list(own.values())), axis=0)
        go, stop = (kept_range(TEMPERATURES, least - level, now) for level in levels)
        go = _warmed_up(go) if quantity == "pack" else go
        bounds.append(Bound(quantity, "deg C", now, go, stop, words.format(first)))
    return bounds


def _warmed_up(go: Range) -> Range:
    return (max(go[0], COLD_PACK_C), go[1]) if go[1] > COLD_PACK_C else NEVER
