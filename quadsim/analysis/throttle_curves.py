"""What the drive gives over the throttle, with the band of its uncertainty, and the builder's bench rows beside it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.analysis.evidence import LEVEL, MASS, CraftEvidence, uncertain
from quadsim.config import Craft, resolve_plant
from quadsim.config.equilibrium import balance
from quadsim.config.propeller_evidence import bench_table
from quadsim.constants import R_AIR
from quadsim.dynamics.map_uncertainty import half_width
from quadsim.environment.atmosphere import Site
from quadsim.units import CELSIUS, G_FORCE, RPM

Array = NDArray[np.float64]

THROTTLE = np.linspace(0.04, 1.0, 97)
COARSE = slice(None, None, 12)
"""Of these throttles those at which the band is computed; between them it is interpolated."""
BANDED = ("thrust_g", "pack_current_A", "efficiency_g_W")


@dataclass(frozen=True)
class ThrottleCurves:
    """All four rotors on a full pack, (n,) each over `throttle` [-].

    low, high : 80 % bounds of the curves named in BANDED
    bench_throttle, bench_thrust_g : the bench's rows as the craft would give them; empty without a bench
    """

    throttle: Array
    thrust_g: Array
    pack_current_A: Array
    motor_current_A: Array
    efficiency_g_W: Array
    cell_voltage_V: Array
    rpm: Array
    limited: NDArray[np.bool_]
    low: dict[str, Array]
    high: dict[str, Array]
    bench_throttle: Array
    bench_thrust_g: Array


def throttle_curves(craft: Craft, site: Site, evidence: CraftEvidence) -> ThrottleCurves:
    """The curves of a craft at a site."""
    plant = resolve_plant(craft, site)
    curves = _curves(plant, THROTTLE)
    spread = _spread(craft, site, plant, evidence)
    low = {name: curves[name] * np.exp(-spread[name]) for name in BANDED}
    high = {name: curves[name] * np.exp(spread[name]) for name in BANDED}
    at, thrust = bench_points(craft, plant, curves["rpm"])
    return ThrottleCurves(
        throttle=THROTTLE, low=low, high=high, bench_throttle=at, bench_thrust_g=thrust, **curves
    )


def bench_points(craft: Craft, plant: Any, rpm: Array) -> tuple[Array, Array]:
    """Throttle [-] and thrust of four rotors [g] of each row of the bench, as mounted and in the air of `plant`.

    A row goes to the throttle at which the craft turns at the row's speed (`rpm` over THROTTLE); rows faster or slower than
    the craft turns are left out. Thrust goes with density, and on the craft it is less by installed loss and download.
    """
    bench = craft.propeller.bench
    if bench is None:
        return np.empty(0), np.empty(0)
    table = bench_table(craft, bench)
    speed, thrust = (np.array([row[name] for row in table["rows"]]) for name in ("rpm", "thrust_g"))
    density = 100.0 * table["pressure_hPa"] / (R_AIR * (table["temperature_C"] + CELSIUS))
    kept = 1.0 if table["measured_on"] == "own arm" else 1.0 - float(plant.installed_loss)
    kept *= 1.0 - float(np.mean(plant.download))
    inside = (speed >= rpm[0]) & (speed <= rpm[-1])
    mounted = 4.0 * thrust * kept * float(plant.air_density) / density
    return np.interp(speed[inside], rpm, THROTTLE), mounted[inside]


def _curves(plant: Any, throttle: Array) -> dict[str, Any]:
    points = [balance(plant, duty) for duty in throttle.tolist()]
    thrust = np.array([4.0 * at.thrust for at in points]) / G_FORCE
    return {
        "thrust_g": thrust,
        "pack_current_A": np.array([at.pack_current for at in points]),
        "motor_current_A": np.array([at.motor_current for at in points]),
        "efficiency_g_W": thrust / np.array([at.pack_power for at in points]),
        "cell_voltage_V": np.array([at.pack_voltage for at in points]) / float(plant.cells),
        "rpm": np.array([at.rotor_speed for at in points]) / RPM,
        "limited": np.array([at.limited for at in points]),
    }


def _spread(craft: Craft, site: Site, plant: Any, evidence: CraftEvidence) -> dict[str, Array]:
    """Half the 80 % band of each banded curve's logarithm over THROTTLE, by the method of `quadsim.analysis.evidence`."""
    felt = {one.input for one in evidence.contributions} - {MASS}
    squares = {name: np.zeros(THROTTLE[COARSE].size) for name in BANDED}
    for one in uncertain(craft, site, plant, evidence.blades):
        if one.name in felt:
            down, up = (_curves(one.moved(steps), THROTTLE[COARSE]) for steps in (-1.0, 1.0))
            for name in BANDED:
                squares[name] += (0.5 * np.log(_positive(up[name]) / _positive(down[name]))) ** 2
    wide = half_width(LEVEL)
    return {
        name: wide * np.interp(THROTTLE, THROTTLE[COARSE], np.sqrt(square))
        for name, square in squares.items()
    }


def _positive(values: Array) -> Array:
    """Values that have a logarithm: a motor that does not turn gives nothing."""
    return np.maximum(values, math.ulp(1.0))
