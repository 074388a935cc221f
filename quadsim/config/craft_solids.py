"""The solids that make up a craft: its parts, and the pieces that have sections of their own."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from quadsim.config.craft_schema import Craft, Part
from quadsim.config.solids import Solid
from quadsim.dynamics.state import ROTOR_NAMES
from quadsim.units import DEG, GRAM, INCH, MM

Array = NDArray[np.float64]
Vector = tuple[float, float, float]

SHAFT_GAP_MM = 5.0
"""From the top of a motor to the propeller's disc when nothing is stated [mm]; assumed."""


def rotor_places(craft: Craft) -> Array:
    """Hubs in the order of ROTOR_NAMES, forward-right-down from the frame's origin (4, 3) [m]."""
    frame = craft.frame
    if frame.rotor_at_mm is not None:
        return np.array([getattr(frame.rotor_at_mm, name) for name in ROTOR_NAMES]) * MM
    side = (frame.wheelbase_mm or 0.0) / (2.0 * math.sqrt(2.0)) * MM
    down = -(frame.rotors_above_mm or 0.0) * MM
    signs = ((1, 1), (-1, 1), (-1, -1), (1, -1))
    return np.array([(side * forward, side * right, down) for forward, right in signs])


def craft_solids(craft: Craft) -> list[Solid]:
    """Every listed piece of the craft, once per place."""
    rotors = rotor_places(craft)
    solids = [solid for part in craft.parts for solid in _placed(part, rotors)]
    return [*solids, *_drive_solids(craft, rotors), *_boxes(craft)]


def _drive_solids(craft: Craft, rotors: Array) -> Iterator[Solid]:
    """Motors and propellers, at each rotor."""
    motor, propeller = craft.motor, craft.propeller
    below = motor.below_propeller_mm
    drop = (motor.height_mm / 2.0 + SHAFT_GAP_MM if below is None else below) * MM
    size = (motor.diameter_mm * MM, motor.height_mm * MM)
    gyration = propeller.gyration_pct / 100.0 * propeller.diameter_in / 2.0 * INCH
    disc = (2.0 * math.sqrt(2.0) * gyration,)
    for name, (x, y, z) in zip(ROTOR_NAMES, rotors.tolist(), strict=True):
        yield Solid(f"motor {name}", "cylinder", motor.mass_g * GRAM, size, (x, y, z + drop))
        yield Solid(f"propeller {name}", "disc", propeller.mass_g * GRAM, disc, (x, y, z))


def _boxes(craft: Craft) -> Iterator[Solid]:
    """ESC, battery, flight controller, receiver and sensors of their own."""
    for name, piece in (
        ("battery", craft.battery),
        ("flight controller", craft.flight_controller),
        ("receiver", craft.radio),
        ("satellite receiver", craft.gnss),
        ("compass", craft.compass),
        ("rangefinder", craft.rangefinder),
    ):
        if piece is None or piece.mass_g == 0.0:
            continue
        yield Solid(name, "box", piece.mass_g * GRAM, _metres(piece.size_mm), _vector(piece.at_mm))
    esc = craft.esc
    if esc.arrangement == "one board":
        yield Solid("esc", "box", esc.mass_g * GRAM, _metres(esc.size_mm), _vector(esc.at_mm))
        return
    for name, (x, y, z) in zip(ROTOR_NAMES, rotor_places(craft).tolist(), strict=True):
        heading = math.atan2(y, x)
        ahead, aside = _turned(esc.at_mm, heading)
        at = (x + ahead, y + aside, z + esc.at_mm[2] * MM)
        yield Solid(f"esc {name}", "box", esc.mass_g * GRAM, _metres(esc.size_mm), at, heading)


def _placed(part: Part, rotors: Array) -> Iterator[Solid]:
    """A part of the list, once per place."""
    axis = part.axis or ("forward" if part.shape in ("rod", "tube") else "down")
    mass, size, yaw = part.mass_g * part.count * GRAM, _metres(part.size_mm), part.yaw_deg * DEG
    if part.at == "frame":
        yield Solid(part.name, part.shape, mass, size, _vector(part.at_mm), yaw, axis)
        return
    for name, (x, y, z) in zip(ROTOR_NAMES, rotors.tolist(), strict=True):
        if part.at == "rotors":
            at = tuple(hub + offset * MM for hub, offset in zip((x, y, z), part.at_mm, strict=True))
            yield Solid(f"{part.name} {name}", part.shape, mass, size, (at[0], at[1], at[2]), yaw, axis)
            continue
        heading = math.atan2(y, x)
        middle = (
            math.hypot(x, y) - Solid("", part.shape, mass, size, (0.0, 0.0, 0.0), 0.0, axis).extent_m[0] / 2.0
        )
        ahead, aside = _turned(part.at_mm, heading)
        centre = (middle * math.cos(heading) + ahead, middle * math.sin(heading) + aside, part.at_mm[2] * MM)
        yield Solid(f"{part.name} {name}", part.shape, mass, size, centre, heading + yaw, axis)


def _turned(offset_mm: Vector, heading: float) -> tuple[float, float]:
    """Forward and right [m] of an offset given outward and sideways along an arm."""
    c, s = math.cos(heading), math.sin(heading)
    return (c * offset_mm[0] - s * offset_mm[1]) * MM, (s * offset_mm[0] + c * offset_mm[1]) * MM


def _metres(size_mm: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(float(size) * MM for size in size_mm)


def _vector(at_mm: Vector) -> Vector:
    return at_mm[0] * MM, at_mm[1] * MM, at_mm[2] * MM
