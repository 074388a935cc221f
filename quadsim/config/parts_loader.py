"""Load a parts catalogue: against its schema, for duplicates, and for parts that physics does not allow."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from quadsim.config.find_data import find_file
from quadsim.config.listing import Finding, checked, place
from quadsim.config.parts_schema import KINDS, Catalogue
from quadsim.config.toml_reader import Document, parse_toml, read_toml
from quadsim.errors import InputError, Problem
from quadsim.units import INCH, MILLI, MM, torque_constant

MOST_WH_KG, LEAST_WH_KG = 260.0, 60.0
"""Energy over mass of a lithium-polymer pack [W h/kg] outside which a figure must be wrong; packs of today have 120 to
200 (common practice, no source)."""
MOTOR_CONSTANT = (0.002, 0.08)
"""kt^2/R over mass [N2 m2/(W kg)] outside which Kv, resistance or mass must be wrong; a small motor has about 0.015,
more when larger; common practice, no source."""
IRON_SHARE = (0.5, 3.0)
"""Motor mass, with bell, magnets and wires, over that of a solid steel cylinder as large as the stator; assumed."""
STEEL = 7850.0
"""Density of steel [kg/m3]."""
PACK_DENSITY = (1000.0, 3000.0)
"""Mass of a pack over the box it fills [kg/m3]; 1800 to 2100 is common (common practice, no source)."""
HEAVIEST_BLADE = 30.0
"""Propeller mass over diameter cubed [kg/m3] outside which a figure must be wrong; plastic has 4 to 12; assumed."""
DISC_GAP = 1.0
"""Distance between neighbouring shafts over the greatest propeller's diameter, at least."""
NOMINAL_CELL = 3.7
"""Labelled voltage of a cell [V]; common practice, no source."""


Sound = dict[str, list[tuple[int, Any]]]
"""Number in the file and piece, of every piece that is sound by itself, by kind."""


def load_catalogue(path_or_name: str | Path) -> Catalogue:
    """A checked catalogue from a file, or from the name of a shipped one.

    Raises
    ------
    InputError
        that lists every problem of the file.
    """
    return _checked(read_toml(find_file(path_or_name, "parts")))


def parse_catalogue(text: str, source: str = "catalogue") -> Catalogue:
    """The same from TOML text."""
    return _checked(parse_toml(text, source))


def _checked(document: Document) -> Catalogue:
    """Schema first, then the rules on every piece that is sound by itself, so that one slip hides no other."""
    problems: list[Problem] = []
    whole: Catalogue | None = None
    try:
        whole = checked(Catalogue, document)
    except InputError as error:
        problems = list(error.problems)
    sound = {kind: list(_sound(kind, document)) for kind in KINDS}
    for rule in RULES:
        problems += [Problem(place(path, document), *words) for path, *words in rule(sound)]
    problems += [Problem(place(path, document), *words) for path, *words in _duplicates(document)]
    if whole is None or problems:
        raise InputError(problems, document.source)
    return whole


def _sound(kind: str, document: Document) -> Iterator[tuple[int, Any]]:
    given = document.data.get(kind)
    for number, one in enumerate(given if isinstance(given, list) else []):
        try:
            yield number, KINDS[kind].model_validate(one)
        except ValidationError:
            continue


def _duplicates(document: Document) -> Iterator[Finding]:
    """Two pieces of one kind under one name, sound or not."""
    for kind in KINDS:
        seen: dict[str, int] = {}
        given = document.data.get(kind)
        for number, one in enumerate(given if isinstance(given, list) else []):
            name = one.get("name") if isinstance(one, dict) else None
            if isinstance(name, str) and seen.setdefault(name.casefold(), number) != number:
                words = f"is {name!r}, the name of {kind}#{seen[name.casefold()] + 1} too"
                yield (kind, number, "name"), words, "each name once", "Take one out, or name what differs"


def _motors(sound: Sound) -> Iterator[Finding]:
    for number, motor in sound["motor"]:
        mass = motor.mass_g * 1e-3
        constant = torque_constant(motor.kv_rpm_per_V) ** 2 / (motor.resistance_mohm * MILLI) / mass
        low, high = MOTOR_CONSTANT
        if not low <= constant <= high:
            given = f"and Kv and mass_g give kt^2/R over mass of {constant:.3g} N2 m2/(W kg)"
            yield (
                ("motor", number, "resistance_mohm"),
                given,
                f"{low:g} to {high:g} is possible",
                "Check all three",
            )
        volume = math.pi / 4.0 * motor.stator_diameter_mm**2 * motor.stator_height_mm * MM**3
        share, (least, most) = mass / (STEEL * volume), IRON_SHARE
        if not least <= share <= most:
            given = f"is {motor.mass_g:g}, {share:.2f} of a steel cylinder of the stator's size"
            yield (
                ("motor", number, "mass_g"),
                given,
                f"{least:g} to {most:g} is possible",
                "Check mass and stator",
            )
        if motor.stator_diameter_mm >= motor.diameter_mm:
            allowed = f"must be under diameter_mm, {motor.diameter_mm:g} mm"
            yield (
                ("motor", number, "stator_diameter_mm"),
                f"is {motor.stator_diameter_mm:g}",
                allowed,
                "Swap the two?",
            )


def _propellers(sound: Sound) -> Iterator[Finding]:
    for number, propeller in sound["propeller"]:
        diameter = propeller.diameter_in
        if not 0.2 <= propeller.pitch_in / diameter <= 1.4:
            allowed = f"must be {0.2 * diameter:g} to {1.4 * diameter:g} in for this diameter"
            yield (
                ("propeller", number, "pitch_in"),
                f"is {propeller.pitch_in:g}",
                allowed,
                "Give the advance per turn",
            )
        density = propeller.mass_g * 1e-3 / (diameter * INCH) ** 3
        if density > HEAVIEST_BLADE:
            given = f"is {propeller.mass_g:g}, {density:.0f} kg per cubic metre of diameter"
            yield (
                ("propeller", number, "mass_g"),
                given,
                f"at most {HEAVIEST_BLADE:g}",
                "Give the mass of one propeller",
            )
        if propeller.pieces % 2:
            yield (
                ("propeller", number, "pieces"),
                f"is {propeller.pieces}",
                "must be even: half of each sense",
                "",
            )


def _packs(sound: Sound) -> Iterator[Finding]:
    for number, pack in sound["battery"]:
        mass = pack.mass_g * 1e-3
        energy = pack.cells * NOMINAL_CELL * pack.capacity_mAh * 1e-3 / mass
        if not LEAST_WH_KG <= energy <= MOST_WH_KG:
            given = f"is {pack.capacity_mAh:g}: with cells and mass_g that makes {energy:.0f} W h/kg"
            allowed = f"{LEAST_WH_KG:g} to {MOST_WH_KG:g} W h/kg is possible"
            yield ("battery", number, "capacity_mAh"), given, allowed, "Check capacity, cells and mass"
        length, width, height = (side * MM for side in pack.size_mm)
        density, (low, high) = mass / (length * width * height), PACK_DENSITY
        if not low <= density <= high:
            given = f"is {list(pack.size_mm)}: the pack would have {density:.0f} kg/m3"
            yield (
                ("battery", number, "size_mm"),
                given,
                f"{low:g} to {high:g} kg/m3 is possible",
                "Check size and mass",
            )


def _frames(sound: Sound) -> Iterator[Finding]:
    for number, frame in sound["frame"]:
        side, diameter = frame.wheelbase_mm / math.sqrt(2.0), frame.greatest_propeller_in * INCH / MM
        if side < DISC_GAP * diameter:
            given = f"is {frame.greatest_propeller_in:g}, but the shafts are {side:.0f} mm apart"
            allowed = f"must be under {side * MM / INCH:.2f} in, or the discs cut each other"
            yield ("frame", number, "greatest_propeller_in"), given, allowed, "Check wheelbase and propeller"


def _controllers(sound: Sound) -> Iterator[Finding]:
    """Boards that no frame has the holes for are a slip of the pen."""
    known = {float(one) for _, frame in sound["frame"] for one in frame.stack_mounts_mm}
    pieces = [("flight_controller", n, one) for n, one in sound["flight_controller"]]
    pieces += [("esc", n, one) for n, one in sound["esc"] if one.arrangement == "one board"]
    for kind, number, piece in pieces:
        if piece.mount_mm is None or float(piece.mount_mm) not in known:
            given = "is missing" if piece.mount_mm is None else f"is {piece.mount_mm:g}"
            allowed = f"frames here have {', '.join(f'{one:g}' for one in sorted(known))} mm"
            yield (kind, number, "mount_mm"), given, allowed, "Give the side of its screw holes"


RULES: tuple[Callable[[Sound], Iterator[Finding]], ...] = (
    _motors,
    _propellers,
    _packs,
    _frames,
    _controllers,
)
"""What pieces must fulfil by themselves and together."""
