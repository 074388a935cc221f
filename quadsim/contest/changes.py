"""Sensitivities: what a small change of the craft does to an answer, as the same change of its file would."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from quadsim.config import Craft, mass_properties
from quadsim.config.quantity import Uncertain


@dataclass(frozen=True)
class Change:
    """A change of one input: what it is called, by how much, and the craft with it, `sign` -1 or +1."""

    input: str
    change: str
    made: Callable[[Craft, float], Craft]


@dataclass(frozen=True)
class Sensitivity:
    """Half the difference of an answer between the change up and down."""

    input: str
    change: str
    effect: float


def _heavier(craft: Craft, grams: float) -> Craft:
    whole = 1000.0 * mass_properties(craft).mass_kg + grams
    return _with(craft, "mass", weighed_mass_g=whole)


def _with(craft: Craft, section: str, **values: float) -> Craft:
    part = getattr(craft, section)
    update = {key: Uncertain(value) for key, value in values.items()}
    return craft.model_copy(update={section: part.model_copy(update=update)})


def _stronger(craft: Craft, share: float) -> Craft:
    return _with(craft, "propeller", thrust_scale=craft.propeller.thrust_scale * (1.0 + share))


def _wider(craft: Craft, inches: float) -> Craft:
    """A propeller of the same blade. A bench belongs to the propeller it was made with: its thrust grows as D^4, its torque
    as D^5 at the same speed."""
    propeller = craft.propeller
    wide = float(propeller.diameter_in) + inches
    if propeller.bench is None:
        return _with(craft, "propeller", diameter_in=wide)
    ratio = wide / float(propeller.diameter_in)
    return _with(
        craft,
        "propeller",
        diameter_in=wide,
        thrust_scale=propeller.thrust_scale * ratio**4,
        torque_scale=propeller.torque_scale * ratio**5,
    )


def _volts(craft: Craft, volts: float) -> Craft:
    return _with(craft, "battery", full_cell_V=float(craft.battery.full_cell_V) + volts / craft.battery.cells)


def _larger(craft: Craft, milliampere_hours: float) -> Craft:
    return _with(craft, "battery", capacity_mAh=float(craft.battery.capacity_mAh) + milliampere_hours)


CHANGES = (
    Change("mass of the frame", "+1 g", lambda craft, sign: _heavier(craft, sign)),
    Change("voltage of the battery", "+0.1 V", lambda craft, sign: _volts(craft, 0.1 * sign)),
    Change("thrust of the propellers", "+1 %", lambda craft, sign: _stronger(craft, 0.01 * sign)),
    Change("diameter of the propellers", "+0.1 in", lambda craft, sign: _wider(craft, 0.1 * sign)),
    Change("capacity at the same mass", "+100 mAh", lambda craft, sign: _larger(craft, 100.0 * sign)),
)
"""What is changed."""


def sensitivities(craft: Craft, answers: Callable[[list[Craft]], Iterable[float]]) -> list[Sensitivity]:
    """Effect of every change on an answer, in the answer's unit, by central differences; `answers` of many craft at once."""
    crafts = [one.made(craft, sign) for sign in (1.0, -1.0) for one in CHANGES]
    found, half = list(answers(crafts)), len(CHANGES)
    return [
        Sensitivity(one.input, one.change, 0.5 * float(found[k] - found[half + k]))
        for k, one in enumerate(CHANGES)
    ]
