"""How the mean wind grows with height above flat ground: nothing, a power law, or the logarithm of the height.

A craft's height counts from the take-off point, and the ground is flat. Below the roughness height there is no wind.
"""

from __future__ import annotations

import math

from quadsim.jit import kernel

UNIFORM, LOG, POWER = 0, 1, 2
"""Codes of `wind.profile`."""

FORECAST_HEIGHT = 10.0
"""Height for which weather services give the wind [m]. WMO-No. 8, Guide to Instruments, part I ch. 5 (from memory)."""
SHORT_GRASS = 0.03
"""Roughness height of open flat country with short grass [m]. WMO-No. 8, part I ch. 5, annex (from memory)."""
SEVENTH_ROOT = 1.0 / 7.0
"""Exponent of the power law over open country in neutral air [-]. AMS Glossary of Meteorology, "power-law profile"."""

TERRAIN = {"0": 0.003, "I": 0.01, "II": 0.05, "III": 0.3, "IV": 1.0}
"""Roughness height [m] of the terrain categories of EN 1991-1-4:2005, table 4.1: 0 sea or coast, I lakes and flat without
obstacles, II low vegetation with single obstacles (the reference), III villages, suburbs, forest, IV town."""


@kernel
def log_share(height, roughness, gain):
    """Wind at `height` [m] over the reference wind: gain ln(h/z0), zero at and below the roughness height z0 [m].

    The gain is 1/ln(h_ref/z0) where the reference height is over the same ground (MIL-F-8785C sec. 3.7.3 mean wind), or
    the terrain factor of EN 1991-1-4.
    """
    return gain * math.log(height / roughness) if height > roughness else 0.0


@kernel
def power_share(height, reference, exponent):
    """Wind at `height` over that at the `reference` height [m]: (h/h_ref)^a; zero at and below the ground."""
    return (height / reference) ** exponent if height > 0.0 else 0.0


@kernel
def profile_share(height, wind):
    """Wind at `height` [m] over the reference wind, by the profile of the WIND record."""
    if wind.profile == LOG:
        return log_share(height, wind.roughness, wind.log_gain)
    if wind.profile == POWER:
        return power_share(height, wind.reference_height, wind.exponent)
    return 1.0


def terrain_factor(roughness: float) -> float:
    """k_r [-]: 0.19 (z0/0.05)^0.07. EN 1991-1-4:2005 eq. 4.5. k_r ln(z/z0) is the mean wind over the basic wind, which is
    the one at 10 m over terrain II. The standard holds the value at its z_min below that height; here the logarithm goes on
    down to z0."""
    return 0.19 * math.pow(roughness / TERRAIN["II"], 0.07)


def log_gain(roughness: float, reference: float) -> float:
    """Gain of `log_share` for a wind known at the `reference` height [m] over ground of this `roughness` [m]."""
    return 1.0 / math.log(reference / roughness)
