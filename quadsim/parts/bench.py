"""A craft on the bench and in the air, solved once for all questions: full throttle, hover at half charge, its event."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from quadsim.config import Craft, resolve_plant
from quadsim.config.equilibrium import Balance, balance, hover_balance
from quadsim.environment.atmosphere import Site

NO_LIMIT_A = 1e6
"""A current that never limits [A]."""
HALF_CHARGE = 0.5
HOVER_MOST, HOVER_STOP, HOVER_LEAST = 0.65, 0.75, 0.15
"""Hover throttle at half charge, warned of above, stopped above, warned of below; common practice, no source."""
BANK = 2.0
"""Thrust over weight of a slalom's turns: a level turn banked by 60 deg, n = 1/cos(bank)."""
DASH = 3.0
"""Thrust over weight of a level dash tilted by 70 deg, 1/cos(tilt); assumed."""
LOADED = 0.5
"""Part of the full thrust that carries a lifter with its load: thrust over weight 2; common practice, no source."""


@dataclass(frozen=True)
class Bench:
    """A craft at a site with its PLANT record."""

    craft: Craft
    site: Site
    plant: Any

    @classmethod
    def of(cls, craft: Craft, site: Site) -> Bench:
        """The bench of a craft at a site."""
        return cls(craft, site, resolve_plant(craft, site))

    @property
    def weight(self) -> float:
        """[N]."""
        return float(self.plant.mass * self.plant.gravity)

    @cached_property
    def full(self) -> Balance:
        """Full throttle, full pack, as flown."""
        return balance(self.plant, 1.0)

    @cached_property
    def free(self) -> Balance:
        """Full throttle, full pack, as if nothing held the current."""
        return balance(self._unlimited(), 1.0)

    @cached_property
    def hover(self) -> Balance | None:
        """Hover with a full pack; None when it cannot."""
        return hover_balance(self.plant)

    @cached_property
    def late_hover(self) -> Balance | None:
        """Hover at half charge on a pack that has worked for minutes; None when it cannot."""
        return hover_balance(self.plant, HALF_CHARGE, settled=True)

    @cached_property
    def event_thrust(self) -> float:
        """Thrust of all rotors that its event asks for, for most of its time [N]; at most what it has."""
        full = 4.0 * self.free.thrust
        wanted = {"slalom": BANK * self.weight, "speed": DASH * self.weight, "lift": LOADED * full}
        return min(max(wanted[self.craft.event], self.weight), full)

    @cached_property
    def event(self) -> Balance:
        """Its event with a full pack, as if nothing held the current."""
        loaded = self._unlimited()
        loaded.mass = self.event_thrust / float(loaded.gravity)
        return hover_balance(loaded) or self.free

    def lift_at(self, duty: float) -> float:
        """Thrust of all rotors [N] at a duty, at half charge on a pack that has worked for minutes."""
        return 4.0 * balance(self.plant, duty, HALF_CHARGE, settled=True).thrust

    @cached_property
    def thrust_to_weight(self) -> float:
        """Full throttle, full pack [-]."""
        return 4.0 * self.full.thrust / self.weight

    def ratio_for_hover(self, duty: float) -> float:
        """Thrust over weight (full pack) of a craft with this drive that hovers at this duty at half charge [-].

        The two rules of thumb about the same reserve, thrust to weight and hover throttle, meet here.
        """
        lift = self.lift_at(duty)
        return 4.0 * self.full.thrust / lift if lift > 0.0 else math.inf

    def _unlimited(self) -> Any:
        plant = self.plant.copy()
        plant.current_limit = NO_LIMIT_A
        return plant
