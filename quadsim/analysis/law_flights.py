"""The flights on which control laws are compared: shipped ones, with a load that suits the craft and a fine log."""

from __future__ import annotations

from collections.abc import Sequence

from quadsim.config import Craft, resolve_builder, resolve_plant
from quadsim.config.flight_loader import load_flight
from quadsim.config.flight_schema import ActionSection, FlightFile
from quadsim.constants import G0
from quadsim.units import GRAM

FLIGHTS = ("gust", "stick_doublet", "payload_step", "lost_rotor")
"""Shipped flights that are flown when none is named: held against air, told by sticks, loaded, broken."""
LOG_RATE_HZ = 1000.0
"""Rows per second: as often as the wind changes, and fast enough for most of what a rate loop does to the motors."""
LOAD_SHARE = 0.25
"""Mass of the load over the craft's own; our choice."""
LEAST_LIFT = 1.4
"""Thrust over weight that the load must leave; our choice: with less there is no room to control."""


def law_flights(craft: Craft, names: Sequence[str] = ()) -> list[FlightFile]:
    """The flights to compare laws on.

    Parameters
    ----------
    names : paths or names of flights, flown as they are; none: FLIGHTS, with the load of payload_step made
        LOAD_SHARE of the craft's mass. What the shipped files expect holds for their own crafts and is left out.

    Raises
    ------
    InputError
        when a file is wrong.
    """
    if names:
        return [_finely_logged(load_flight(name)) for name in names]
    flights = [_finely_logged(load_flight(name)).model_copy(update={"expect": ()}) for name in FLIGHTS]
    return [made for flight in flights if (made := _with_load_for(craft, flight)) is not None]


def _finely_logged(flight: FlightFile) -> FlightFile:
    return flight.model_copy(update={"log_rate_Hz": max(flight.log_rate_Hz, LOG_RATE_HZ)})


def load_mass_kg(craft: Craft, flight: FlightFile) -> float:
    """Mass of a load that suits the craft [kg]: LOAD_SHARE of its own, or what LEAST_LIFT leaves room for."""
    builder = resolve_builder(craft, resolve_plant(craft, flight.site.resolved))
    mass = float(builder.mass)
    most = 4.0 * float(builder.max_thrust) / (LEAST_LIFT * G0) - mass
    return min(LOAD_SHARE * mass, most)


def _with_load_for(craft: Craft, flight: FlightFile) -> FlightFile | None:
    """The flight with its loads made to suit the craft; None when the craft could not carry any."""
    loads = [action.attach for action in flight.at if action.attach is not None]
    if not loads:
        return flight
    mass_kg = load_mass_kg(craft, flight)
    if mass_kg <= 0.0:
        return None
    mass_g = mass_kg / GRAM
    actions = tuple(_with_mass(action, mass_g) for action in flight.at)
    return flight.model_copy(
        update={"at": actions, "title": f"{mass_g:.0f} g hooked on, carried, and dropped"}
    )


def _with_mass(action: ActionSection, mass_g: float) -> ActionSection:
    """The action with its load of another mass and the same density: sizes and place go with the cube root."""
    if action.attach is None:
        return action
    scale = (mass_g / action.attach.mass_g) ** (1.0 / 3.0)
    at = action.attach.at_mm
    changed = {
        "mass_g": mass_g,
        "size_mm": tuple(scale * side for side in action.attach.size_mm),
        "at_mm": at and tuple(scale * part for part in at),
    }
    attach = action.attach.model_copy(update=changed)
    return action.model_copy(update={"attach": attach, "text": f"{mass_g:.0f} g hooked on"})
