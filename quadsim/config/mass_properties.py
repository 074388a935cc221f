"""Mass, centre of mass and inertia tensor of a craft, from its parts, its scales and its loads."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from quadsim.config.craft_schema import Craft
from quadsim.config.craft_solids import craft_solids
from quadsim.config.solids import Solid, combine, shifted
from quadsim.units import GRAM, INCH, MM

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Load:
    """A rigid box carried along: mass [kg], size (3,) [m], centre (3,) from the frame's origin [m].

    drag_area_m2 : drag coefficient times area [m2]; None: from the faces of the box
    download : share of all rotors' thrust that their wakes give back to it; None: from the box
    """

    mass_kg: float
    size_m: ArrayLike
    at_m: ArrayLike
    drag_area_m2: float | None = None
    download: float | None = None


@dataclass(frozen=True)
class MassProperties:
    """Mass properties, body axes.

    mass_kg : with unlisted mass and loads
    centre_of_mass_m : (3,) from the frame's origin
    inertia_kg_m2 : (3, 3) about the centre of mass, rotors as if locked
    listed_mass_kg : sum of the listed pieces
    unlisted_mass_kg : what was added for wire and the like, or what the scales say it is
    weighed_difference_kg : weighed mass minus what list and allowance promised; None when nothing was weighed
    mass_sigma_kg : standard uncertainty of mass_kg from the unlisted share; 0 when weighed without one
    items : the listed pieces
    """

    mass_kg: float
    centre_of_mass_m: Array
    inertia_kg_m2: Array
    listed_mass_kg: float
    unlisted_mass_kg: float
    weighed_difference_kg: float | None
    mass_sigma_kg: float
    items: list[Solid]


def mass_properties(craft: Craft, loads: Sequence[Load] = ()) -> MassProperties:
    """Mass properties of a craft with loads.

    The unlisted mass is spread like the listed one: it leaves the centre of mass where it is and scales the inertia. What
    was measured replaces what follows from the parts.
    """
    items = craft_solids(craft)
    listed, centre, inertia = combine(items)
    allowance = craft.mass.unlisted_pct
    promised = listed * (1.0 + allowance / 100.0)
    weighed = craft.mass.weighed_mass_g
    mass = promised if weighed is None else weighed * GRAM
    sigma = listed * allowance.sigma / 100.0 if weighed is None else weighed.sigma * GRAM
    own = as_swung(craft, inertia * (mass / listed))
    total, middle, tensor = _with_loads(mass, as_balanced(craft, centre), own, loads)
    difference = None if weighed is None else mass - promised
    return MassProperties(total, middle, tensor, listed, mass - listed, difference, sigma, items)


def as_balanced(craft: Craft, centre: Array) -> Array:
    """The centre of mass (3,) [m] with the measured places in place of those from the parts."""
    stated = (craft.mass.centre_forward_mm, craft.mass.centre_right_mm, craft.mass.centre_down_mm)
    return np.array([have if one is None else one * MM for have, one in zip(centre, stated, strict=True)])


def as_swung(craft: Craft, inertia: Array) -> Array:
    """The inertia tensor (3, 3) [kg m2] stretched along the body axes until its diagonal is what was measured.

    S I S with S = diag(sqrt(measured/estimated)): the products of inertia, which nobody swings for, are stretched along.
    """
    stated = (craft.mass.roll_inertia_gm2, craft.mass.pitch_inertia_gm2, craft.mass.yaw_inertia_gm2)
    have = np.diag(inertia)
    wanted = np.array([old if one is None else one * GRAM for old, one in zip(have, stated, strict=True)])
    stretch = np.sqrt(wanted / have)
    return np.asarray(inertia * np.outer(stretch, stretch))


def _with_loads(
    mass: float, centre: Array, inertia: Array, loads: Sequence[Load]
) -> tuple[float, Array, Array]:
    boxes = [
        Solid("load", "box", load.mass_kg, _three(load.size_m), _three(load.at_m))
        for load in loads
        if load.mass_kg > 0.0
    ]
    if not boxes:
        return mass, centre, inertia
    carried, at, own = combine(boxes)
    total = mass + carried
    middle = (mass * centre + carried * at) / total
    return total, middle, inertia + shifted(mass, centre - middle) + own + shifted(carried, at - middle)


def _three(values: ArrayLike) -> tuple[float, float, float]:
    x, y, z = np.asarray(values, dtype=float).tolist()
    return x, y, z


def rotor_inertia(craft: Craft) -> float:
    """Inertia of one rotor about its shaft [kg m2]: propeller m k^2 and the motor's turning part m r^2.

    Without stated values the turning part has 45 % of the motor's mass and a radius of gyration of 42 % of its
    diameter: assumed (magnets and ring lie at the rim).
    """
    motor, propeller = craft.motor, craft.propeller
    gyration = propeller.gyration_pct / 100.0 * propeller.diameter_in / 2.0 * INCH
    bell = (0.45 * motor.mass_g if motor.bell_mass_g is None else motor.bell_mass_g) * GRAM
    radius = (0.42 * motor.diameter_mm if motor.bell_radius_mm is None else motor.bell_radius_mm) * MM
    return propeller.mass_g * GRAM * gyration**2 + bell * radius**2
