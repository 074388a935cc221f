"""First sight of a craft: its mass, what its drive gives, and how long it hovers."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.analysis.evidence import CraftEvidence, craft_evidence
from quadsim.analysis.hover import (
    Endurance,
    HoverPoint,
    StaticRow,
    hover_endurance,
    hover_point,
    static_table,
)
from quadsim.analysis.measurements import Best, best_measurement
from quadsim.config import Craft, MassProperties, mass_properties, resolve_plant
from quadsim.config.equilibrium import hover_balance
from quadsim.dynamics.vortex_ring import greatest_safe_descent
from quadsim.environment.atmosphere import Site
from quadsim.units import G_FORCE


@dataclass(frozen=True)
class Inspection:
    """What a craft is before it flies.

    hover, endurance : None when it cannot hover
    table : the drive on the bench, full pack, per 10 % throttle
    max_thrust_N : all four rotors at full throttle, full pack
    safe_descent_m_s : greatest vertical descent short of the vortex-ring state
    drag_area_m2 : drag coefficient times area along forward, right, down, as stated or estimated
    drag_centre_m : where it acts, from the frame's origin
    evidence : what the rotor map rests on, and how sure the answers are
    best : the single measurement that would narrow them most, if any
    """

    craft: Craft
    site: Site
    mass: MassProperties
    table: list[StaticRow]
    hover: HoverPoint | None
    endurance: Endurance | None
    max_thrust_N: float
    thrust_to_weight: float
    safe_descent_m_s: float
    drag_area_m2: NDArray[np.float64]
    drag_centre_m: NDArray[np.float64]
    evidence: CraftEvidence
    best: Best | None


def inspect_craft(craft: Craft, site: Site) -> Inspection:
    """Everything of an Inspection for a craft at a site."""
    plant = resolve_plant(craft, site)
    hovers = hover_balance(plant) is not None
    table = static_table(craft, site)
    thrust = table[-1].thrust_g * G_FORCE
    evidence = craft_evidence(craft, site)
    return Inspection(
        craft=craft,
        site=site,
        mass=mass_properties(craft),
        table=table,
        hover=hover_point(craft, site) if hovers else None,
        endurance=hover_endurance(craft, site) if hovers else None,
        max_thrust_N=thrust,
        thrust_to_weight=thrust / float(plant.mass * plant.gravity),
        safe_descent_m_s=greatest_safe_descent(_hover_induced_velocity(plant)),
        drag_area_m2=np.array(plant.drag_area),
        drag_centre_m=np.asarray(plant.drag_centre) + np.asarray(plant.centre_of_mass),
        evidence=evidence,
        best=best_measurement(evidence),
    )


def _hover_induced_velocity(plant: Any) -> float:
    """v_h = sqrt(T/(2 rho A)) of one rotor [m/s], Leishman, Principles of Helicopter Aerodynamics, 2nd ed., ch. 2."""
    return math.sqrt(float(plant.mass * plant.gravity) / 4.0 * float(plant.per_disc_mass))
