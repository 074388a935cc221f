"""Copies of the wind's source in plain Python, each with one thing wrong: the checks must notice every one."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import checks_wind
from mutants import plain_modules


def plain_air(module: str = "", old: str = "", new: str = "") -> Any:
    """The modules of a plain copy in which `old` in `module` reads `new`."""
    copy = plain_modules(f"quadsim.environment.{module}", old, new)
    return SimpleNamespace(
        **{name: copy(f"quadsim.environment.{name}") for name in ("profile", "turbulence", "wind")}
    )


MUTANTS = {
    "scales of the other standard": ("turbulence", "return feet * FOOT / t**1.2", "return 0.5 * feet * FOOT / t**1.2", checks_wind.length_scales),
    "ratio of intensities wrong": ("turbulence", "1.0 / t**0.4", "t**0.4", checks_wind.length_scales),
    "no lowest height": ("turbulence", "max(height / FOOT, LOWEST)", "(height / FOOT)", checks_wind.length_scales),
    "draws of the two lags wrongly tied": ("turbulence", "(0.5 * gone - theta", "(0.5 * gone + theta", checks_wind.lags_step_exactly),
    "first-order step of the lags": ("turbulence", "e = math.exp(-theta)", "e = 1.0 - theta", checks_wind.lags_step_exactly),
    "series cut short": ("turbulence", "1.0 - theta * (7.0", "2.0 - theta * (7.0", checks_wind.lags_step_exactly),
    "the root of three dropped": ("turbulence", "root = math.sqrt(3.0)", "root = 1.0", checks_wind.correlation_over_distance),
    "variance of v doubled": ("turbulence", "eddies[2]) * math.sqrt(0.5)", "eddies[2])", checks_wind.correlation_over_distance),
    "w of the other lag": ("turbulence", "(1.0 - root) * eddies[4]", "(1.0 + root) * eddies[4]", checks_wind.spectrum_of_the_steps),
    "second lag not fed by the first": ("turbulence", "+ step[0] * eddies[at])", ")", checks_wind.drawn_turbulence),
    "sideways as weak as upwards": ("turbulence", "sigma[0] * v, ", "sigma[1] * v, ", checks_wind.drawn_turbulence),
    "hover stands in frozen air": ("turbulence", "max(airspeed, LEAST_AIRSPEED)", "airspeed", checks_wind.pattern_passes_at_airspeed),
    "own motion left out": ("wind", "n - vn, e - ve", "n, e - ve", checks_wind.pattern_passes_at_airspeed),
    "turbulence mirrored": ("wind", "along * carried.wind_along[0] - right * carried", "along * carried.wind_along[0] + right * carried", checks_wind.turbulence_turns_with_the_wind),
    "holding gust builds up twice as fast": ("wind", "math.cos(math.pi * since / build_up)", "math.cos(2.0 * math.pi * since / build_up)", checks_wind.gust_forms),
    "returning gust holds": ("wind", "if since <= 0.0 or since >= duration:", "if since >= duration:\n        return 1.0\n    if since <= 0.0:", checks_wind.gust_forms),
    "wind below the roughness height": ("profile", "if height > roughness else 0.0", "if height > 0.0 else 0.0", checks_wind.mean_over_height),
    "power law upside down": ("profile", "(height / reference) ** exponent", "(reference / height) ** exponent", checks_wind.mean_over_height),
    "terrain factor of another exponent": ("profile", "TERRAIN[\"II\"], 0.07)", "TERRAIN[\"II\"], 0.7)", checks_wind.eurocode_terrain),
}  # fmt: skip
