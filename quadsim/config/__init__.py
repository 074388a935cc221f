"""Files to checked, derived records: craft files and what follows from them."""

from quadsim.config.craft_loader import load_craft, parse_craft
from quadsim.config.craft_schema import Craft
from quadsim.config.craft_view import craft_view
from quadsim.config.mass_properties import Load, MassProperties, mass_properties
from quadsim.config.rates import Rates, choose_rates, with_rates
from quadsim.config.resolve import resolve_plant
from quadsim.config.resolve_builder import resolve_builder
from quadsim.config.resolve_sensors import resolve_sensors

__all__ = [
    "Craft",
    "Load",
    "MassProperties",
    "Rates",
    "choose_rates",
    "craft_view",
    "load_craft",
    "mass_properties",
    "parse_craft",
    "resolve_builder",
    "resolve_plant",
    "resolve_sensors",
    "with_rates",
]
