"""Load a craft: find the file, check it against the schema, check that its parts can go together."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np

from quadsim.config.craft_schema import Craft
from quadsim.config.craft_solids import craft_solids, rotor_places
from quadsim.config.find_data import find_file
from quadsim.config.impossible import RULES as IMPOSSIBLE
from quadsim.config.listing import Finding, Rule, checked
from quadsim.config.mass_properties import mass_properties
from quadsim.config.rates import rate_problems
from quadsim.config.sticks_schema import stick_key_of
from quadsim.config.toml_reader import Document, parse_toml, read_toml
from quadsim.dynamics.state import ROTOR_NAMES
from quadsim.units import GRAM, INCH

WEIGHED_LOW, WEIGHED_HIGH = 0.8, 1.6
"""Weighed over listed mass outside which the list or the scales must be wrong; assumed."""
IDLE_APART_PCT = 0.5
"""By how much the flight controller's idle offset and the ESC's may differ [% of full command]: rounding; assumed."""


def load_craft(path_or_name: str | Path) -> Craft:
    """A checked craft from a file, or from the name of a shipped one.

    Raises
    ------
    InputError
        that lists every problem of the file.
    """
    path = find_file(path_or_name, "crafts")
    craft = _checked_craft(read_toml(path))
    craft._path = path
    return craft


def parse_craft(text: str, source: str = "craft") -> Craft:
    """A checked craft from TOML text, for example the text kept in a run; errors as for `load_craft`."""
    return _checked_craft(parse_toml(text, source))


def craft_of(data: dict[str, Any], source: str = "craft") -> Craft:
    """A checked craft from the data of a file that was read before; errors as for `load_craft`."""
    return _checked_craft(Document(data, "", source))


def _checked_craft(document: Document) -> Craft:
    craft = checked(Craft, document, RULES)
    craft._source_text = document.text
    return craft


def _rotor_problems(craft: Craft) -> Iterator[Finding]:
    """Pitch out of proportion, discs that overlap."""
    diameter = craft.propeller.diameter_in * INCH
    share = craft.propeller.pitch_in / craft.propeller.diameter_in
    if not 0.2 <= share <= 1.4:
        low, high = 0.2 * craft.propeller.diameter_in, 1.4 * craft.propeller.diameter_in
        allowed = f"must be {low:g} to {high:g} in for this diameter (0.2 to 1.4 diameters)"
        yield (
            ("propeller", "pitch_in"),
            f"is {craft.propeller.pitch_in:g}",
            allowed,
            "Give the advance per turn",
        )
    places = rotor_places(craft)
    for (i, a), (j, b) in combinations(enumerate(places), 2):
        apart = float(np.linalg.norm((a - b)[:2]))
        if apart < diameter and abs(a[2] - b[2]) < 0.02 * diameter:
            given = f"is {craft.propeller.diameter_in:g}, but {ROTOR_NAMES[i]} and {ROTOR_NAMES[j]} are"
            given += f" {apart * 1e3:.0f} mm apart"
            allowed = f"must be under {apart / INCH:.2f} in, or the discs cut each other"
            yield ("propeller", "diameter_in"), given, allowed, "Take a smaller propeller or a larger frame"
            return


def _mass_problems(craft: Craft) -> Iterator[Finding]:
    """Scales that contradict the list of parts."""
    weighed = craft.mass.weighed_mass_g
    if weighed is None:
        return
    listed = sum(solid.mass_kg for solid in craft_solids(craft)) / GRAM
    if not WEIGHED_LOW * listed <= weighed <= WEIGHED_HIGH * listed:
        allowed = f"the listed parts sum to {listed:.0f} g, so {WEIGHED_LOW * listed:.0f} to {WEIGHED_HIGH * listed:.0f} g"
        yield (
            ("mass", "weighed_mass_g"),
            f"is {weighed:g}",
            allowed,
            "Weigh again with the pack, or mend the parts",
        )


def _inertia_problems(craft: Craft) -> Iterator[Finding]:
    """Measured inertias that no body can have: none may exceed the sum of the other two."""
    stated = (craft.mass.roll_inertia_gm2, craft.mass.pitch_inertia_gm2, craft.mass.yaw_inertia_gm2)
    if all(one is None for one in stated):
        return
    roll, pitch, yaw = (float(v) / GRAM for v in np.diag(mass_properties(craft).inertia_kg_m2))
    for name, own, others in (
        ("roll", roll, pitch + yaw),
        ("pitch", pitch, roll + yaw),
        ("yaw", yaw, roll + pitch),
    ):
        if own > others:
            given = f"makes {own:.3g} g m2 about {name}, and {others:.3g} about the other two together"
            allowed = "none may exceed the sum of the other two"
            yield (
                ("mass",),
                given,
                allowed,
                "Swing again; what the file does not state follows from the parts",
            )


def _response_problems(craft: Craft) -> Iterator[Finding]:
    """A measured response beside a lag, and two measurements at one throttle."""
    esc = craft.esc
    if esc.response and esc.lag_ms > 0.0:
        given, remedy = (
            f"is {esc.lag_ms:g} beside a measured response",
            "Leave lag_ms out: the response holds it",
        )
        yield ("esc", "lag_ms"), given, "one of the two", remedy
    stated = [one.throttle_pct for one in esc.response]
    for twice in sorted({value for value in stated if stated.count(value) > 1}):
        yield ("esc", "response"), f"has {twice:g} % twice", "each throttle once", "Take the mean of the two"


def _idle_problems(craft: Craft) -> Iterator[Finding]:
    """An idle offset stated twice, differently: by the flight controller and by the ESC."""
    stated = craft.flight_controller.conventions
    if stated is None or None in (stated.command_low, stated.command_high, stated.command_idle):
        return
    share = 100.0 * stated.idle_share
    if abs(share - craft.esc.idle_pct) > IDLE_APART_PCT:
        given = f"is {stated.command_idle:g}, {share:.1f} % of the range"
        allowed = f"esc.idle_pct is {craft.esc.idle_pct:g} %: the same idle, stated twice"
        yield (
            ("flight_controller", "conventions", "command_idle"),
            given,
            allowed,
            "Mend the one that is wrong",
        )


def _stick_problems(craft: Craft) -> Iterator[Finding]:
    """Stick shaping stated twice: in [sticks] and as a gain of the guide."""
    for name in craft.sticks.as_gains():
        if name in craft.gains.get("guide", {}):
            key = stick_key_of(name)
            yield (
                ("gains", "guide", name),
                f"is stated beside sticks.{key}",
                "one of the two",
                "Leave one out",
            )


def _homing_problems(craft: Craft) -> Iterator[Finding]:
    """A way home needs to know where the craft is and where north is."""
    if craft.radio.link_loss != "homing":
        return
    lacking = [
        words
        for section, words in (
            (craft.gnss, "a satellite receiver, [gnss]"),
            (craft.compass, "a magnetometer, [compass]"),
        )
        if section is None
    ]
    if lacking:
        allowed = f"homing needs {' and '.join(lacking)}; without them 'cut' or 'level descent'"
        yield (
            ("radio", "link_loss"),
            "is 'homing'",
            allowed,
            "Add what it needs with mass and place, or choose another",
        )


def _range_problems(craft: Craft) -> Iterator[Finding]:
    """A rangefinder whose least distance lies above its greatest."""
    finder = craft.rangefinder
    if finder is not None and finder.least_m >= finder.greatest_m:
        allowed = f"must be under greatest_m, {finder.greatest_m:g} m"
        yield ("rangefinder", "least_m"), f"is {finder.least_m:g}", allowed, "Swap the two?"


RULES: tuple[Rule, ...] = (
    ({"frame", "propeller"}, _rotor_problems),
    ({"flight_controller"}, rate_problems),
    ({"esc"}, _response_problems),
    ({"esc", "flight_controller"}, _idle_problems),
    ({"sticks", "gains"}, _stick_problems),
    ({"name", "mass"}, _mass_problems),
    ({"name", "mass"}, _inertia_problems),
    ({"name", "radio"}, _homing_problems),
    ({"rangefinder"}, _range_problems),
    *IMPOSSIBLE,
)
"""Whole-craft rules; `name` is only there when the whole file is sound."""
