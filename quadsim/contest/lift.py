"""Greatest payload: every limit with the payload at which it bites, for one craft or for hundreds at once."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from controllers.guide_gains import GuideGain
from quadsim.config import Craft
from quadsim.config.equilibrium import thrust_curve
from quadsim.config.resolve_drive import NOMINAL_CELL
from quadsim.contest.crossing import HALVINGS, last_kept
from quadsim.contest.crowd import Crowd
from quadsim.contest.feed import Feed, Store, feed, hold
from quadsim.contest.loaded import LoadedCrowd
from quadsim.contest.rules import LABEL_SHARE, LiftRule
from quadsim.contest.steady import trim

Array = NDArray[np.float64]
WORDS = {
    "moment_reserve": "motor command kept for attitude",
    "climb": "climb rate with full command",
    "gust": "hold against the gust, command kept for attitude",
    "guide_cap": "thrust the guide asks for (gain thrust_high)",
    "motor_current": "rating of a motor",
    "esc_current": "rating of an ESC",
    "pack_current": "half the label's C rating",
    "winding_temperature": "winding",
    "magnet_temperature": "magnets",
    "cell_voltage": "loaded voltage of a cell",
    "charge": "charge of the battery",
}
"""Limits of a rated attempt."""
HARD = {
    "thrust": "motors at full command cannot hold the height",
    "current_limit": "ESC holds the current back",
    "winding_temperature": "winding burns",
    "charge": "battery empty",
}
"""What makes a still-air hover fail."""


@dataclass(frozen=True)
class Ratings:
    """Currents that parts may carry (N,) [A]: motor and ESC at the motor, pack; voltage across a motor that is asked for [V]."""

    motor: Array
    esc: Array
    pack: Array
    across: Array

    def repeated(self, count: int) -> Ratings:
        """Those of the first craft, `count` times."""
        return Ratings(*(np.full(count, one[0]) for one in (self.motor, self.esc, self.pack, self.across)))


BITES = 1e-3
"""What may be left of a limit where it bites [-]; more means that something else ended the search."""
Margins = Callable[[LoadedCrowd, Array, LiftRule, Ratings], dict[str, Array]]


def ratings(craft: Craft, plant: Any, count: int = 1) -> Ratings:
    """What the parts of a craft may carry, the pack by its label, and what its guide asks for at most."""
    label = LABEL_SHARE * float(craft.battery.label_C_rating * craft.battery.capacity_mAh) / 1000.0
    numbers = (float(craft.motor.current_limit_A), float(craft.esc.current_limit_A), label)
    return Ratings(*(np.full(count, one) for one in (*numbers, guide_cap(craft, plant))))


def joined_ratings(each: Sequence[Ratings]) -> Ratings:
    """Those of different craft, one after the other."""
    names = ("motor", "esc", "pack", "across")
    return Ratings(*(np.concatenate([getattr(one, name) for one in each]) for name in names))


def guide_cap(craft: Craft, plant: Any) -> float:
    """Greatest voltage across the motors that the guide asks for [V]: its gain thrust_high, through the thrust curve of the
    allocator k u^2 + (1 - k) u = share, u of the nominal voltage."""
    default = float(GuideGain.THRUST_HIGH.default)
    share = float(craft.gains.get("guide", {}).get("thrust_high", default))
    nominal = NOMINAL_CELL * craft.battery.cells
    _, k, _ = thrust_curve(plant, nominal)
    linear = 1.0 - k
    return nominal * 2.0 * share / (linear + math.sqrt(linear * linear + 4.0 * k * share))


@dataclass(frozen=True)
class _State:
    """A payload carried to the end of the required time: hover, climb and gust with what they take."""

    crowd: Crowd
    hover: Feed
    climb: Feed
    gust: Feed
    store: Store


def _carried(loaded: LoadedCrowd, payload: Array, rule: LiftRule, gusty: bool = True) -> _State:
    crowd = loaded.with_payload(payload)
    mass = crowd.mass
    hover = trim(crowd, mass)
    store = Store.full(crowd)
    at = hold(crowd, hover, rule.time_s, store)
    if not gusty:
        return _State(crowd, at, at, at, store)
    climb, gust = trim(crowd, mass, 0.0, rule.climb_m_s), trim(crowd, mass, rule.gust_m_s)
    return _State(crowd, at, feed(crowd, climb, store), feed(crowd, gust, store), store)


def margins(loaded: LoadedCrowd, payload: Array, rule: LiftRule, rated: Ratings) -> dict[str, Array]:
    """What is left of each limit at payloads (N,) [kg], as a share of it; below zero it is passed.

    Currents and voltage count in the hardest of hover, climb and gust, all at the end of the required time.
    """
    s = _carried(loaded, payload, rule)
    current = np.fmax(np.fmax(s.hover.worst_current, s.climb.worst_current), s.gust.worst_current)
    drawn = np.fmax(np.fmax(s.hover.pack_current, s.climb.pack_current), s.gust.pack_current)
    volts = np.fmin(np.fmin(s.hover.volts, s.climb.volts), s.gust.volts) / s.crowd.cells
    across = np.fmax(np.fmax(s.hover.across, s.climb.across), s.gust.across)
    return _sunk(
        s,
        guide_cap=1.0 - across / rated.across,
        moment_reserve=1.0 - rule.moment_reserve - s.hover.command,
        climb=1.0 - s.climb.command,
        gust=1.0 - rule.moment_reserve - s.gust.command,
        motor_current=1.0 - current / rated.motor,
        esc_current=1.0 - current / rated.esc,
        pack_current=1.0 - drawn / rated.pack,
        winding_temperature=_cool(s, s.store.winding, s.crowd.winding_limit),
        magnet_temperature=_cool(s, s.store.case, s.crowd.magnet_limit),
        cell_voltage=volts / rule.cell_V - 1.0,
        charge=s.store.charge,
    )


def hard_margins(
    loaded: LoadedCrowd, payload: Array, rule: LiftRule, rated: Ratings | None = None
) -> dict[str, Array]:
    """What is left of what makes a hover in still air fail within the time."""
    return _hard(_carried(loaded, payload, rule, gusty=False))


def attempt_margins(
    loaded: LoadedCrowd, payload: Array, rule: LiftRule, rated: Ratings | None = None
) -> dict[str, Array]:
    """What is left of what makes an attempt in the contest's gust fail: nothing of ratings, no reserve, the voltage kept."""
    s = _carried(loaded, payload, rule)
    volts = s.gust.volts / s.crowd.cells / rule.cell_V - 1.0
    return _hard(s) | _sunk(s, gust=1.0 - s.gust.command, cell_voltage=volts)


def _hard(s: _State) -> dict[str, Array]:
    return _sunk(
        s,
        thrust=1.0 - s.hover.command,
        current_limit=1.0 - s.hover.worst_current / s.crowd.current_limit,
        winding_temperature=_cool(s, s.store.winding, s.crowd.winding_limit),
        charge=s.store.charge,
    )


def _cool(s: _State, warm: Array, limit: Array) -> Array:
    return np.asarray((limit - warm) / (limit - s.crowd.air_temperature))


def _sunk(s: _State, **values: Array) -> dict[str, Array]:
    """A craft that the pack cannot feed at all has nothing left of anything."""
    fed = np.isfinite(s.hover.command)
    return {name: np.where(fed & np.isfinite(one), one, -1.0) for name, one in values.items()}


def payload_limits(
    loaded: LoadedCrowd, rule: LiftRule, rated: Ratings, names: Sequence[str], of: Margins
) -> dict[str, float]:
    """Payload [kg] of the first craft at which each limit bites, one row a limit; 0 with the rig alone,
    infinite where nothing else is left to find out: the craft is past feeding."""
    rows, which = loaded.repeated(len(names)), np.arange(len(names))
    rating = rated.repeated(len(names))

    def left(payload: Array) -> Array:
        found = of(rows, payload, rule, rating)
        return np.array([found[name] for name in names])[which, which]

    reached = last_kept(left, np.zeros(len(names)), np.full(len(names), loaded.most))
    bites = left(reached) < BITES
    return dict(zip(names, np.where(bites, reached, np.inf).tolist(), strict=True))


def first_limit(
    loaded: LoadedCrowd, rule: LiftRule, rated: Ratings, of: Margins, halvings: int = HALVINGS
) -> Array:
    """Payload (N,) [kg] at which the first limit of each craft bites."""

    def left(payload: Array) -> Array:
        return np.min(np.array(list(of(loaded, payload, rule, rated).values())), axis=0)

    return last_kept(left, np.zeros(len(loaded.crowd)), np.full(len(loaded.crowd), loaded.most), halvings)
