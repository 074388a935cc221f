"""What a viewer needs to draw a craft true to its geometry: plain numbers that JSON can hold."""

from __future__ import annotations

from typing import Any

from quadsim.config.airframe_estimate import feet_estimate
from quadsim.config.craft_schema import Craft
from quadsim.config.craft_solids import rotor_places
from quadsim.config.mass_properties import mass_properties
from quadsim.config.resolve import resolve_plant
from quadsim.config.resolve_builder import resolve_builder
from quadsim.config.solids import Solid
from quadsim.dynamics.state import ROTOR_NAMES
from quadsim.environment.atmosphere import Site
from quadsim.units import GRAM, INCH


def craft_view(craft: Craft) -> dict[str, Any]:
    """Geometry for drawing, forward-right-down from the frame's origin, in metres.

    Keys: name, event, mass_g, centre_of_mass_m, blades, max_thrust_N (one rotor), rotors [{place, at_m, radius_m, spin}],
    parts [{name, shape, size_m (box around the part before its turn), at_m, yaw_rad, axis}], feet_m.
    """
    properties = mass_properties(craft)
    builder = resolve_builder(craft, resolve_plant(craft, Site()))
    rotors = [
        {
            "place": name,
            "at_m": at,
            "radius_m": float(craft.propeller.diameter_in * INCH / 2.0),
            "spin": getattr(craft.frame.spin, name),
        }
        for name, at in zip(ROTOR_NAMES, rotor_places(craft).tolist(), strict=True)
    ]
    parts = [_drawn(solid) for solid in properties.items if not solid.name.startswith("propeller ")]
    return {
        "name": craft.name,
        "event": craft.event,
        "mass_g": float(properties.mass_kg / GRAM),
        "centre_of_mass_m": properties.centre_of_mass_m.tolist(),
        "blades": int(craft.propeller.blades),
        "max_thrust_N": float(builder.max_thrust),
        "rotors": rotors,
        "parts": parts,
        "feet_m": feet_estimate(craft, properties.items).tolist(),
    }


def _drawn(solid: Solid) -> dict[str, Any]:
    return {
        "name": solid.name,
        "shape": solid.shape,
        "size_m": list(solid.extent_m),
        "at_m": list(solid.at_m),
        "yaw_rad": float(solid.yaw_rad),
        "axis": solid.axis,
    }
