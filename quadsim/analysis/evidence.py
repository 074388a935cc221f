"""How sure the answers of an inspection are: what is uncertain in a craft file, carried through the static balance.

Method: every uncertain input is moved by one standard deviation either way, the balance is solved again, and half the
difference of an answer's logarithm is that input's share; shares add as squares (JCGM 100:2008, Guide to the Expression of
Uncertainty in Measurement, 5.1.2 with the note of 5.1.3). Inputs count as independent. The logarithm, because every answer is
positive and mostly a product of powers of its inputs: an 80 % interval is value exp(-+ 1.28 s).

The propeller's map is held: diameter and pitch count as exact, and the error of the map is moved as one factor on its thrust
and one on its power. Flapping does not count for a standing rotor.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from quadsim.analysis.hover import landing, plant_endurance
from quadsim.config import Craft, mass_properties, resolve_plant
from quadsim.config.equilibrium import balance, hover_balance
from quadsim.config.listing import quantity_of
from quadsim.config.propeller_evidence import propeller_map
from quadsim.config.quantity import Uncertain, uncertain_inputs
from quadsim.config.resolve_drive import fill_drive, fill_heat
from quadsim.dynamics.map_uncertainty import BENCH_FLOOR, half_width
from quadsim.dynamics.rotor_map import RotorMap
from quadsim.environment.atmosphere import Site

ANSWERS = {
    "max_thrust_N": "N",
    "thrust_to_weight": "",
    "hover_throttle": "",
    "hover_current_A": "A",
    "hover_power_W": "W",
    "hover_time_min": "min",
}
"""What is asked, with its unit."""
EVENT_ANSWER = {"lift": "thrust_to_weight", "slalom": "thrust_to_weight", "speed": "max_thrust_N"}
"""What decides an event, beside minutes of hover."""
LEVEL = 0.8
"""Probability that an interval holds the true value."""
POINTS = 12
"""Steps of the hover's minutes for differences; 400 give 0.1 % more, which cancels."""
THRUST, TORQUE, MASS, LOSS = "rotor map, thrust", "rotor map, power", "mass", "propeller.installed_loss_pct"
MOUNTED = "power on the craft"
"""Names of inputs; the others are called by their key."""
MOUNTED_SIGMA = 0.08
"""Relative standard deviation of the rotors' power on the craft at equal speed, where one unit on a stand is all there is; our
choice, from one measured vehicle: its four motors differ by 7 %, together they took 5 to 24 % more than one of them alone
(Russell, Jung, Willink & Glasner, NASA/TM-2018-219758, runs 22 and 27; tests/verification/test_measured_drive.py)."""
SECTIONS = ("motor", "esc", "battery", "flight_controller")
"""Sections whose uncertain keys count as they are: those that fill_drive reads."""
FELT = 1e-5
"""Inputs that change no answer by more than this share are left out."""
LEAST_LEFT = 0.05
"""An input is lowered to this share of itself at the least, since none may become negative. Our choice."""


@dataclass(frozen=True)
class Input:
    """One uncertain input: its standard deviation in `unit`, and the plant with it moved by so many of them."""

    name: str
    value: float
    sigma: float
    unit: str
    moved: Callable[[float], Any]


@dataclass(frozen=True)
class Contribution:
    """What an input does: change of the logarithm of each answer per standard deviation of it."""

    input: str
    value: float
    sigma: float
    unit: str
    shares: dict[str, float]


@dataclass(frozen=True)
class CraftEvidence:
    """The rotor map of a craft, its answers without rounding, and what makes them uncertain.

    answers : by name of ANSWERS; NaN where the craft cannot hover
    contributions : the largest first, by the event's answer and minutes of hover together
    """

    blades: RotorMap
    event: str
    answers: dict[str, float]
    contributions: list[Contribution]

    def sigma(self, answer: str, left: dict[str, float] | None = None) -> float:
        """Standard deviation of the logarithm of an answer; `left`: share of some inputs' deviation still left."""
        shares = [one.shares[answer] * (left or {}).get(one.input, 1.0) for one in self.contributions]
        return math.sqrt(sum(share * share for share in shares))

    def interval(self, answer: str, left: dict[str, float] | None = None) -> tuple[float, float]:
        """Bounds that hold the true answer with probability LEVEL."""
        wide = math.exp(half_width(LEVEL) * self.sigma(answer, left))
        return self.answers[answer] / wide, self.answers[answer] * wide

    def half(self, answer: str, left: dict[str, float] | None = None) -> float:
        """Half the width of that interval, in the answer's unit."""
        low, high = self.interval(answer, left)
        return 0.5 * (high - low)

    def effect(self, one: Contribution, answer: str) -> float:
        """Change of an answer, in its unit, per standard deviation of an input."""
        return self.answers[answer] * math.sinh(one.shares[answer])

    @property
    def judged(self) -> tuple[str, ...]:
        """The answers by which a measurement is judged: that of the event, and minutes if it hovers."""
        wanted = (EVENT_ANSWER[self.event], "hover_time_min")
        return tuple(name for name in wanted if math.isfinite(self.answers[name]))


def craft_evidence(craft: Craft, site: Site) -> CraftEvidence:
    """Answers of a craft at a site and where their uncertainty comes from."""
    plant, blades = resolve_plant(craft, site), propeller_map(craft)
    nominal = answers(plant, craft)
    found = [_contribution(one, nominal, craft) for one in uncertain(craft, site, plant, blades)]
    found = [one for one in found if max(map(abs, one.shares.values())) > FELT]
    seen = CraftEvidence(blades, craft.event, nominal, [])
    found.sort(key=lambda one: -sum(one.shares[name] ** 2 for name in seen.judged))
    return CraftEvidence(blades, craft.event, nominal, found)


def answers(plant: Any, craft: Craft) -> dict[str, float]:
    """The answers of a PLANT record by name; NaN where it cannot hover."""
    thrust, hover = 4.0 * balance(plant, 1.0).thrust, hover_balance(plant)
    minutes = plant_endurance(plant, landing(craft.battery), POINTS).minutes if hover else math.nan
    return {
        "max_thrust_N": thrust,
        "thrust_to_weight": thrust / float(plant.mass * plant.gravity),
        "hover_throttle": hover.duty if hover else math.nan,
        "hover_current_A": hover.pack_current if hover else math.nan,
        "hover_power_W": hover.pack_power if hover else math.nan,
        "hover_time_min": minutes,
    }


def _contribution(one: Input, nominal: dict[str, float], craft: Craft) -> Contribution:
    low, high = (answers(one.moved(steps), craft) for steps in (-1.0, 1.0))
    shares = {name: _share(low[name], nominal[name], high[name]) for name in nominal}
    return Contribution(one.name, one.value, one.sigma, one.unit, shares)


def _share(low: float, value: float, high: float) -> float:
    """Half the difference of logarithms; where one side cannot hover, the whole difference on the other."""
    if not value > 0.0:
        return 0.0
    sides = [math.log(value / low) if low > 0.0 else None, math.log(high / value) if high > 0.0 else None]
    known = [side for side in sides if side is not None]
    return sum(known) / len(known) if known else 0.0


def uncertain(craft: Craft, site: Site, plant: Any, blades: RotorMap) -> Iterator[Input]:
    """Every uncertain input that a standing craft feels."""
    sigma = map_sigmas(craft, blades)
    yield Input(THRUST, 1.0, 100.0 * sigma[0], "%", lambda steps: _map_scaled(plant, 0, steps * sigma[0]))
    yield Input(TORQUE, 1.0, 100.0 * sigma[1], "%", lambda steps: _map_scaled(plant, 1, steps * sigma[1]))
    loss = craft.propeller.installed_loss_pct
    if blades.measured_on != "own arm":
        more = 100.0 * MOUNTED_SIGMA
        yield Input(MOUNTED, 1.0, more, "%", lambda steps: _map_scaled(plant, 1, steps * MOUNTED_SIGMA))
        if loss.sigma > 0.0:
            yield Input(
                LOSS, loss, loss.sigma, "%", lambda steps: _with_loss(plant, loss + steps * loss.sigma)
            )
    mass = mass_properties(craft)
    if mass.mass_sigma_kg > 0.0:
        sigma_g = 1e3 * mass.mass_sigma_kg
        yield Input(
            MASS, 1e3 * mass.mass_kg, sigma_g, "g", lambda steps: _heavier(plant, steps * mass.mass_sigma_kg)
        )
    for where, number in uncertain_inputs(craft):
        section, _, key = where.partition(".")
        if section in SECTIONS and "." not in key and "#" not in key:
            yield _keyed(craft, site, plant, section, key, number)


def map_sigmas(craft: Craft, blades: RotorMap) -> tuple[float, float]:
    """Relative standard deviations of static thrust and power: the map's, or those of a scale taken from a bench.

    A scale without an uncertainty counts as good as a bench is at best.
    """
    scales = (craft.propeller.thrust_scale, craft.propeller.torque_scale)
    own = (blades.ct_sigma, blades.cp_sigma)
    thrust, torque = (
        scale.sigma / scale if scale.sigma else floor if scale != 1.0 else sigma
        for scale, sigma, floor in zip(scales, own, BENCH_FLOOR, strict=True)
    )
    return thrust, torque


def _map_scaled(plant: Any, channel: int, by: float) -> Any:
    moved, factor = plant.copy(), max(1.0 + by, LEAST_LEFT)
    moved.rotor_map[..., channel] *= factor
    moved.rotor_trend[..., channel] *= factor
    return moved


def _with_loss(plant: Any, percent: float) -> Any:
    moved = plant.copy()
    moved.installed_loss = min(max(percent, 0.0), 99.0) / 100.0
    return moved


def _heavier(plant: Any, by: float) -> Any:
    moved = plant.copy()
    moved.mass = max(moved.mass + by, LEAST_LEFT * moved.mass)
    return moved


def _keyed(craft: Craft, site: Site, plant: Any, section: str, key: str, number: Uncertain) -> Input:
    part = getattr(craft, section)
    quantity = quantity_of(type(part).model_fields[key])
    unit = quantity.unit if quantity is not None and quantity.unit != "-" else ""

    def moved(steps: float) -> Any:
        value = max(number + steps * number.sigma, LEAST_LEFT * number)
        other = craft.model_copy(update={section: part.model_copy(update={key: Uncertain(value)})})
        changed = plant.copy()
        fill_drive(changed, other, site)
        fill_heat(changed, other)
        return changed

    return Input(f"{section}.{key}", float(number), number.sigma, unit, moved)
