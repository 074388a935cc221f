"""What a craft can fly on a lap, from its own files: thrust by motors and battery, drag by trim, size by its rotors."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from controllers.guide_gains import GuideGain
from quadsim.config import Craft, resolve_builder
from quadsim.contest.crowd import Crowd, crowd_of
from quadsim.contest.feed import Store, feed, hold
from quadsim.contest.steady import spinning, trim
from quadsim.planning.limits import Limits
from quadsim.units import DEG

Array = NDArray[np.float64]

FLIGHT_S = 25.0
"""Time at the thrust limit after which the thrust counts, from a full battery [s]: two or three laps; assumed."""
EMPTIEST = 0.3
"""Least charge at which it counts [-]: who flies longer than that lands before."""
SWING = 20.0 * DEG
"""Angle within which the greatest turning should be reached from none; assumed."""
GYRO_SHARE = 0.5
"""Of the gyroscope's range that a line may use: the laws need the rest to bring a craft back; assumed."""
CLIMBS = np.linspace(0.0, 15.0, 6)
"""Climbs along the shafts at which the thrust is looked up [m/s]."""
SPEEDS = np.arange(4.0, 60.0, 0.5)
"""Level speeds at which drag and thrust are looked up, as far as the craft can hold them [m/s]."""
SLOWEST = 8
"""The first so many of them count always, that there is a drag."""


@dataclass(frozen=True)
class LapRule:
    """How hard a lap is flown.

    reserve : motor command kept for attitude [-]; rate : greatest turning of the thrust, where the craft can reach it [rad/s]
    tilt : greatest tilt [rad]
    margin : kept from a gate's edge beside the course's clearance, for what the flight is off its line [m]
    label_share : of the current on the pack's label that the thrust may take [-]; no bound by itself
    """

    reserve: float = 0.15
    rate: float = 15.0
    tilt: float = 85.0 * DEG
    margin: float = 0.15
    label_share: float = math.inf


def lap_limits(craft: Craft, plant: Any, rule: LapRule) -> Limits:
    """Limits of one craft, as a PLANT record at a site, under a rule.

    Thrust falls with the climb along the shafts as the rotors' does; the push on the tilted body is such that it ends at the
    speed at which level flight of the whole craft ends.
    """
    crowd = crowd_of([plant])
    mass, gravity = float(plant.mass), float(plant.gravity)
    command, most = 1.0 - rule.reserve, pack_current(craft, rule)
    given = 4.0 * greatest_thrust(crowd, command, CLIMBS, charge_left(crowd, command, most), most) / mass
    fall, still = np.polyfit(CLIMBS, given, 1)
    held, tilt = level_flight(crowd, command, most)
    linear, squared = _drag(held, gravity * np.tan(tilt))
    drag = (linear + squared * held[-1]) * held[-1]
    asked = math.hypot(gravity, drag)
    climb = held[-1] * drag / asked
    push = (float(still) + float(fall) * climb - asked) / (held[-1] * climb)
    low = float(craft.gains.get("guide", {}).get("thrust_low", GuideGain.THRUST_LOW.default))
    hubs = np.asarray(plant.rotor_position)
    return Limits(
        gravity=gravity,
        thrust=float(still),
        thrust_fall=max(-float(fall), 0.0),
        least_thrust=low * gravity,
        rate=min(rule.rate, turning(resolve_builder(craft, plant))),
        tilt=rule.tilt,
        drag=linear,
        drag_squared=squared,
        radius=float(np.max(np.linalg.norm(hubs[:, :2], axis=1))) + float(plant.rotor_radius),
        push=max(float(push), 0.0),
    )


def turning(builder: Any) -> float:
    """Greatest turning of a craft [rad/s]: what half its moments reach within SWING, sqrt(2 (alpha/2) SWING), and the gyro sees.

    builder : BUILDER record; alpha : angular acceleration that a rotor at half its thrust can give and take, roll or pitch
    """
    per_rotor = float(np.max(np.abs(builder.allocation[:, :2])))  # thrust of the busiest rotor per rad/s2
    alpha = 0.5 * float(builder.max_thrust) / per_rotor
    return min(math.sqrt(alpha * SWING), GYRO_SHARE * float(builder.gyro_range))


def pack_current(craft: Craft, rule: LapRule) -> float:
    """Greatest current of the pack under a rule [A]."""
    return rule.label_share * float(craft.battery.label_C_rating * craft.battery.capacity_mAh) / 1e3


def charge_left(one: Crowd, command: float, most: float = math.inf) -> float:
    """Charge after FLIGHT_S at a motor command, from full, and no more than a current of the pack [A] [-]."""
    rows = one.rows([0])
    _, current = _at_limit(one, command, np.zeros(1), 1.0, most)
    return max(1.0 - FLIGHT_S * float(current[0]) / float(rows.capacity[0]), EMPTIEST)


def greatest_thrust(
    one: Crowd, command: float, climb: Array, charge: float = 1.0, most: float = math.inf
) -> Array:
    """Thrust of a rotor [N] at a motor command and climbs along the shafts [m/s], at a charge and the current limits; most : of
    the pack [A]."""
    return _at_limit(one, command, climb, charge, most)[0]


def _at_limit(one: Crowd, command: float, climb: Array, charge: float, most: float) -> tuple[Array, Array]:
    """Thrust of a rotor [N] and current of the pack [A] there."""
    rows = one.rows([0] * len(climb))
    store = Store.full(rows, charge)
    hold(rows, trim(rows, rows.mass), 5.0, store, 4)
    free = rows.cells * rows.full_cell_voltage / rows.torque_constant  # no motor turns faster than unloaded
    low, high = np.zeros(len(climb)), np.minimum(free, rows.propeller_limit)
    still = np.zeros(len(climb))
    for _ in range(24):
        speed = 0.5 * (low + high)
        at = feed(rows, spinning(rows, speed, climb, still), store)
        fed = (at.command <= command) & (at.worst_current <= rows.current_limit) & (at.pack_current <= most)
        low, high = np.where(fed, speed, low), np.where(fed, high, speed)
    found = spinning(rows, low, climb, still)
    return found.thrust, feed(rows, found, store).pack_current


def level_flight(one: Crowd, command: float, most: float = math.inf) -> tuple[Array, Array]:
    """Those of SPEEDS [m/s] at which a motor command and the current limits hold the height, and the tilt there [rad];
    most : of the pack [A]."""
    rows = one.rows([0] * len(SPEEDS))
    store = Store.full(rows, charge_left(one, command, most))
    hold(rows, trim(rows, rows.mass), 5.0, store, 4)
    flown = trim(rows, rows.mass, SPEEDS)
    fed = feed(rows, flown, store)
    good = np.isfinite(flown.tilt) & (fed.command <= command) & (fed.worst_current <= rows.current_limit)
    good &= fed.pack_current <= most
    count = max(int(np.argmin(np.append(good, False))), SLOWEST)
    flies = np.isfinite(flown.tilt[:count])
    return SPEEDS[:count][flies], flown.tilt[:count][flies]


def _drag(speed: Array, over_mass: Array) -> tuple[float, float]:
    """d1 [1/s] and d2 [1/m] of the drag over mass (d1 + d2 V) V [m/s2]: what the tilt of level flight holds against."""
    squared, linear = np.polyfit(speed, over_mass / speed, 1)
    if squared < 0.0:
        return float(np.mean(over_mass / speed)), 0.0
    return (float(linear), float(squared)) if linear > 0.0 else (0.0, float(squared + linear / speed.mean()))


def turns_at_most(limits: Limits) -> float:
    """Level acceleration at the thrust limit, a = sqrt(f0^2 - g^2) [m/s2]."""
    return math.sqrt(max(limits.thrust**2 - limits.gravity**2, 0.0))
