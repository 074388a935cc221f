"""Craft whose numbers no part on earth has: almost always a number in another unit than its key's.

The bounds lie a factor of ten and more outside what is sold: a slip of units is a thousand, and a builder who asks what twice the
capacity would do, and leaves the mass, is answered. What is merely odd is left to the inspection.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from quadsim.config.craft_schema import Craft
from quadsim.config.listing import Finding, Rule

DENSEST = 500.0
"""Of anything [g/cm3]. The densest metal, osmium, has 22.6 (from memory); far above it, since builders put down a small size
where they know none, and sizes in cm make anything a thousand times denser than it is."""
MOST_WH_KG, USUAL_WH_KG = 30000.0, 150.0
"""Energy of a pack per mass [W h/kg]: refused above the first, assumed; packs for flying have 100 to 200 (from memory)."""
CELL_MOHM_AH = (0.2, 1000.0)
"""Resistance times capacity of a cell [mohm A h]: packs for flying have 3 to 30, tired ones 100; bounds assumed."""
MOTOR_QUALITY = (2e-5, 3.0)
"""Square of the torque per root of heat, kt^2/R over mass [N2 m2/(W kg)]: brushless outrunners from 20 g to 400 g
have 0.005 to 0.05; bounds assumed."""
NOMINAL_CELL_V = 3.7


def _battery(craft: Craft) -> Iterator[Finding]:
    pack = craft.battery
    energy = pack.cells * NOMINAL_CELL_V * pack.capacity_mAh / 1e3
    if energy > MOST_WH_KG * pack.mass_g / 1e3:
        given = f"is {pack.mass_g:g} for {pack.cells} cells of {pack.capacity_mAh:g} mAh"
        allowed = f"{energy:.0f} W h weigh about {1e3 * energy / USUAL_WH_KG:.0f} g"
        yield ("battery", "mass_g"), given, allowed, "Is it in kg, or the capacity of another pack?"
    product = pack.cell_resistance_mohm * pack.capacity_mAh / 1e3
    low, high = (bound * 1e3 / pack.capacity_mAh for bound in CELL_MOHM_AH)
    if not CELL_MOHM_AH[0] <= product <= CELL_MOHM_AH[1]:
        given, allowed = (
            f"is {pack.cell_resistance_mohm:g}",
            f"a cell of this capacity has {_rough(low)} to {_rough(high)} mohm",
        )
        yield ("battery", "cell_resistance_mohm"), given, allowed, "Is it in ohm, or of the whole pack?"


def _motor(craft: Craft) -> Iterator[Finding]:
    motor = craft.motor
    torque_constant = 60.0 / (2.0 * math.pi * motor.kv_rpm_per_V)
    high, low = (1e6 * torque_constant**2 / (quality * motor.mass_g) for quality in MOTOR_QUALITY)
    if not low <= motor.resistance_mohm <= high:
        given = f"is {motor.resistance_mohm:g}"
        allowed = f"a motor of {motor.mass_g:g} g and {motor.kv_rpm_per_V:g} rpm/V has {_rough(low)} to {_rough(high)} mohm"
        yield ("motor", "resistance_mohm"), given, allowed, "Is it in ohm, or the mass in kg?"


def _rough(number: float) -> str:
    """Two digits, without a power of ten."""
    return f"{float(f'{number:.2g}'):g}"


def _densities(craft: Craft) -> Iterator[Finding]:
    """Everything that has a size and a mass."""
    sections = ("esc", "battery", "flight_controller", "radio", "gnss", "compass", "rangefinder")
    named: list[tuple[tuple[str | int, ...], Any, str]] = [
        ((name,), getattr(craft, name), "box") for name in sections if name in craft.model_fields_set
    ]
    named += [(("parts", k), part, part.shape) for k, part in enumerate(craft.parts)]
    for path, piece, shape in named:
        volume = _volume_cm3(shape, piece.size_mm) if piece is not None else 0.0
        if volume > 0.0 and piece.mass_g > DENSEST * volume:
            size = " x ".join(f"{edge:g}" for edge in piece.size_mm)
            given = f"is {size} mm for {piece.mass_g:g} g: {piece.mass_g / volume:.0f} g/cm3"
            yield (
                (*path, "size_mm"),
                given,
                "the densest metal has 23 g/cm3",
                "Is the size in cm?",
            )


def _volume_cm3(shape: str, size: tuple[float, ...]) -> float:
    match shape, len(size):
        case "box", 3:
            return math.prod(size) / 1e3
        case "cylinder", 2:
            return math.pi / 4.0 * size[0] ** 2 * size[1] / 1e3
        case "tube", 3:
            return math.pi / 4.0 * (size[0] ** 2 - size[1] ** 2) * size[2] / 1e3
    return 0.0


RULES: tuple[Rule, ...] = (({"battery"}, _battery), ({"motor"}, _motor), ({"name"}, _densities))
