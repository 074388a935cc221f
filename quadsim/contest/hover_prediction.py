"""`quadsim hover` without the printing: minutes to the landing rule, and to the cut-off, with how sure that is.

The rule is that of quadsim.analysis.hover, wherever minutes are shown: the reserve or the landing voltage, whichever is first.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.analysis.hover import End, Endurance, cut_off, landing, plant_endurance
from quadsim.config import Craft, resolve_plant
from quadsim.config.equilibrium import hover_balance
from quadsim.config.loose_load import payload_of
from quadsim.contest.changes import Sensitivity, sensitivities
from quadsim.contest.uncertainty import SAMPLES, Spread, spread
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError, Problem

Array = NDArray[np.float64]
POINTS, DIFFERENCES, ROUGH = 400, 60, 12
"""Steps over the charge: of the answer, of the changes and of the draws."""


@dataclass(frozen=True)
class HoverPrediction:
    """Minutes of hover from a full battery in still air, far from the ground.

    end : the rule; at_end : minutes to it and what came first; at_cut_off : to the cut-off voltage, charge permitting
    power, ideal_power : electrical power at the start, and what momentum theory leaves as the least [W]
    """

    payload: float
    end: End
    at_end: Endurance
    at_cut_off: Endurance
    power: float
    ideal_power: float
    spread: Spread
    sensitivities: list[Sensitivity]


def stated_end(craft: Craft, used_pct: float | None = None, cell_V: float | None = None) -> End:
    """The landing rule of a craft, or a contest's: share of the capacity that may be used [%], loaded voltage [V]."""
    end = landing(craft.battery)
    if used_pct is not None:
        end = replace(end, reserve=1.0 - used_pct / 100.0)
    return end if cell_V is None else replace(end, cell_V=cell_V, voltage="stated voltage")


def predict_hover(
    craft: Craft, site: Site, payload: float = 0.0, end: End | None = None, *, samples: int = SAMPLES, seed: int = 1
) -> HoverPrediction:  # fmt: skip
    """Endurance of a craft with a payload [kg] to a stated end, the craft's landing rule when None.

    Raises
    ------
    InputError
        when it cannot hover.
    """
    end = landing(craft.battery) if end is None else end
    loads = payload_of(payload)
    plant = resolve_plant(craft, site, loads)
    start = hover_balance(plant)
    if start is None:
        given = f"{craft.name} weighs {plant.mass * 1e3:.0f} g and cannot hover on a full battery"
        raise InputError([Problem("", given, "", "Take weight off, or a stronger drive")])
    bare = resolve_plant(craft, site)

    def lasting(plants: list[Any]) -> Array:
        for one in plants:
            _mount(one, bare, plant)
        return np.array([plant_endurance(one, end, ROUGH).minutes for one in plants])

    def minutes(changed: Craft) -> float:
        return plant_endurance(resolve_plant(changed, site, loads), end, DIFFERENCES).minutes

    thrust = float(plant.mass * plant.gravity)
    return HoverPrediction(
        payload,
        end,
        plant_endurance(plant, end, POINTS),
        plant_endurance(plant, cut_off(craft.battery), POINTS),
        start.pack_power,
        thrust * float(np.sqrt(thrust / 4.0 * plant.per_disc_mass)),
        spread(lasting, craft, site, samples, seed),
        sensitivities(craft, lambda crafts: [minutes(one) for one in crafts]),
    )


def _mount(one: Any, bare: Any, loaded: Any) -> None:
    """Put the load of `loaded` on a drawn bare craft; only what a hover feels."""
    one.mass += loaded.mass - bare.mass
    one.download[:] = loaded.download
