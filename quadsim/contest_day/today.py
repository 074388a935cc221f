"""What is known on the morning of a contest: weather, packs as measured, craft as weighed, and the craft file corrected by it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from quadsim.config import Craft, mass_properties
from quadsim.config.quantity import Uncertain
from quadsim.dynamics.battery import COLDEST, HOTTEST, ROOM
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError, Problem
from quadsim.units import CELSIUS

SCALE_SIGMA_G = 1.0
"""Standard uncertainty of kitchen scales [g]; assumed."""
METER_SIGMA = 0.05
"""Relative standard uncertainty of a cell's resistance measured by a charger; assumed."""
WORN = 2.0
"""A pack with so many times the resistance of the file is worn out; common practice, no source."""
OFF = 0.25
"""Share by which a weighed mass may differ from the file's before it counts as another craft; our choice."""


@dataclass(frozen=True)
class Pack:
    """A pack and the resistance of its cells, mean of them, as measured [mohm]."""

    name: str
    cell_mohm: float


@dataclass(frozen=True)
class Today:
    """site : air and temperature of the packs in flight; wind_m_s, gust_m_s : mean wind and greatest gust
    packs : measured at `measured_at_C` [deg C]; weighed_g : craft ready to fly with its pack, without load, None when not weighed
    """

    site: Site
    wind_m_s: float
    gust_m_s: float
    packs: tuple[Pack, ...] = ()
    measured_at_C: float = 20.0
    weighed_g: float | None = None

    @property
    def ranked(self) -> list[Pack]:
        """Packs, the least resistance first."""
        return sorted(self.packs, key=lambda one: one.cell_mohm)


def at_room(craft: Craft, cell_mohm: float, measured_at_C: float) -> float:
    """Resistance of a cell at 20 deg C [mohm] from one measured at another temperature: R20 = R exp(-B (1/T - 1/293 K)),
    the law of the battery model (`quadsim.dynamics.battery`)."""
    kelvin = min(max(measured_at_C + CELSIUS, COLDEST), HOTTEST)
    return cell_mohm * math.exp(-float(craft.battery.cold_resistance_K) * (1.0 / kelvin - 1.0 / ROOM))


def file_mohm(craft: Craft) -> float:
    """Resistance of a cell at 20 deg C by the craft file, age included [mohm]."""
    return float(craft.battery.cell_resistance_mohm) * (
        1.0 + float(craft.battery.resistance_growth_pct) / 100.0
    )


def with_pack(craft: Craft, pack: Pack, measured_at_C: float) -> Craft:
    """The craft with a measured pack in it; its age is in the measurement."""
    room = at_room(craft, pack.cell_mohm, measured_at_C)
    measured = {
        "cell_resistance_mohm": Uncertain(room, METER_SIGMA * room),
        "resistance_growth_pct": Uncertain(0.0),
    }
    return craft.model_copy(update={"battery": craft.battery.model_copy(update=measured)})


def weighed(craft: Craft, grams: float) -> Craft:
    """The craft with what the scales say.

    Raises
    ------
    InputError
        when that is another craft.
    """
    own = 1000.0 * mass_properties(craft).mass_kg
    if abs(grams - own) > OFF * own:
        given = f"is {grams:g} g; the file of {craft.name} comes to {own:.0f} g"
        allowed = f"must be within {100 * OFF:.0f} % of that"
        raise InputError(
            [
                Problem(
                    "--weighed-g", given, allowed, "Weigh it with its pack and without load, or mend the file"
                )
            ]
        )
    update = {"weighed_mass_g": Uncertain(grams, SCALE_SIGMA_G)}
    return craft.model_copy(update={"mass": craft.mass.model_copy(update=update)})


def craft_of_today(craft: Craft, today: Today, pack: Pack | None = None) -> Craft:
    """The craft as weighed, with a pack as measured: the one given, else the best of today."""
    one = craft if today.weighed_g is None else weighed(craft, today.weighed_g)
    chosen = pack or (today.ranked[0] if today.packs else None)
    return one if chosen is None else with_pack(one, chosen, today.measured_at_C)


def at_temperature(site: Site, air_C: float | None = None, pack_C: float | None = None) -> Site:
    """The same place with another temperature of the air or of the packs; the other one stays."""
    return replace(
        site,
        temperature_C=site.temperature_C if air_C is None else air_C,
        pack_temperature_C=site.pack_temperature_C if pack_C is None else pack_C,
    )
