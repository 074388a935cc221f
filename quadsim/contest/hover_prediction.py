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
from quadsim.config.equilibrium import Balance, hover_balance
from quadsim.config.loose_load import payload_of
from quadsim.contest.changes import Sensitivity, sensitivities
from quadsim.contest.uncertainty import SAMPLES, Spread, spread
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError, Problem

Array = NDArray[np.float64]
POINTS, DIFFERENCES, ROUGH = 400, 60, 12
"""Steps over the charge: of the answer, of the changes and of the draws."""


@dataclass(frozen=True)
class RunDown:
    """A battery in hover over minutes from the start: loaded voltage of a cell [V] and motor command [-]."""

    minutes: Array
    cell_V: Array
    throttle: Array


@dataclass(frozen=True)
class HoverPrediction:
    """Minutes of hover from a full battery in still air, far from the ground.

    end : the rule; at_end : minutes to it and what came first; at_cut_off : to the cut-off voltage, charge permitting
    power, ideal_power : electrical power at the start, and what momentum theory leaves as the least [W]
    run_down : to the cut-off
    """

    payload: float
    end: End
    at_end: Endurance
    at_cut_off: Endurance
    power: float
    ideal_power: float
    spread: Spread
    sensitivities: list[Sensitivity]
    run_down: RunDown


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
        return fine * np.array([plant_endurance(one, end, ROUGH).minutes for one in plants])

    def minutes(changed: Craft) -> float:
        return plant_endurance(resolve_plant(changed, site, loads), end, DIFFERENCES).minutes

    at_end, thrust = plant_endurance(plant, end, POINTS), float(plant.mass * plant.gravity)
    rough = plant_endurance(plant, end, ROUGH).minutes
    fine = (
        at_end.minutes / rough if rough > 0.0 else 1.0
    )  # rough steps count 3 % too much down to an empty pack
    at_cut_off, run_down = _run_down(plant, cut_off(craft.battery))
    return HoverPrediction(
        payload,
        end,
        at_end,
        at_cut_off,
        start.pack_power,
        thrust * float(np.sqrt(thrust / 4.0 * plant.per_disc_mass)),
        spread(lasting, craft, site, samples, seed),
        sensitivities(craft, lambda crafts: [minutes(one) for one in crafts]),
        run_down,
    )


def _run_down(plant: Any, end: End) -> tuple[Endurance, RunDown]:
    """Endurance to an end, and the battery on the way."""
    seen: list[tuple[float, float, float]] = []

    def look(seconds: float, at: Balance) -> None:
        seen.append((seconds / 60.0, float(at.pack_voltage / plant.cells), at.duty))

    found = plant_endurance(plant, end, POINTS, look)
    return found, RunDown(*np.array(seen).reshape(-1, 3).T)


def _mount(one: Any, bare: Any, loaded: Any) -> None:
    """Put the load of `loaded` on a drawn bare craft; only what a hover feels."""
    one.mass += loaded.mass - bare.mass
    one.download[:] = loaded.download
