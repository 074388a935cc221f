"""Fit of the parts: do the propellers turn free, and does everything stay within its limits at full throttle.

A `misfit` would break something or keep the craft on the ground; a `caution` is a rule of the trade that this craft
does not keep, which its builder may have reasons for.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Literal

import numpy as np

from quadsim.config import Craft, mass_properties, resolve_plant
from quadsim.config.craft_solids import rotor_places
from quadsim.config.equilibrium import Balance, balance, hover_balance
from quadsim.config.esc_response import lag_points
from quadsim.config.resolve_builder import allocation_of, effectiveness
from quadsim.config.resolve_drive import TIP_MACH
from quadsim.config.warmth import settled_temperatures
from quadsim.environment.atmosphere import Site, speed_of_sound
from quadsim.parts.clearance import disc_gap, frame_gap
from quadsim.units import CELSIUS, GRAM, INCH, MM, RPM

DISC_GAP_SHARE = 0.03
"""Gap between two discs over their diameter; common practice, no source."""
FRAME_GAP_MM = 3.0
"""Gap between a disc and the frame [mm]: blades bend under load; common practice, no source."""
CENTRE_SHARE = 0.05
"""Offset of the centre of mass from the rotors' centre over the arm: it costs about that share of thrust on the loaded
rotors; common practice, no source."""
THRUST_TO_WEIGHT = {"slalom": 4.0, "lift": 2.0, "speed": 3.0}
"""Least thrust over weight by event, a lifter without its load; common practice, no source."""
CASE_WARM_C = 65.0
"""Case temperature of a motor to keep an eye on [deg C]; common practice, no source."""
NO_LIMIT_A = 1e6
"""A current that never limits [A]."""


@dataclass(frozen=True)
class Finding:
    """One question about the fit. `limit` and `value` in `unit`; `bound` says on which side of the limit is good."""

    name: str
    ok: bool
    value: float
    limit: float
    unit: str
    message: str
    severity: Literal["misfit", "caution"] = "caution"
    bound: Literal["at least", "at most"] = field(default="at most")


@dataclass(frozen=True)
class _Bench:
    """A craft on the bench at full throttle with a full pack: `full` as flown, `free` as if nothing held the current."""

    craft: Craft
    site: Site
    plant: Any
    full: Balance
    free: Balance


def fit_findings(craft: Craft, site: Site, budget: float | None = None) -> list[Finding]:
    """All findings on a craft at a site, in a fixed order; with a budget [EUR] also on the price."""
    plant = resolve_plant(craft, site)
    unlimited = plant.copy()
    unlimited.current_limit = NO_LIMIT_A
    bench = _Bench(craft, site, plant, balance(plant, 1.0), balance(unlimited, 1.0))
    findings = [question(bench) for question in QUESTIONS]
    findings += [question(bench) for stated, question in IF_STATED if stated(craft)]
    if craft.mass.weighed_mass_g is not None:
        findings.append(_mass_list(bench))
    if budget is not None:
        findings.append(_price(craft, budget))
    return findings


def with_intervals(findings: list[Finding], intervals: Mapping[str, tuple[float, float]]) -> list[Finding]:
    """The findings; one whose limit lies within the 80 % interval of its value says so. Intervals by name of a finding."""
    told = []
    for one in findings:
        low, high = intervals.get(one.name, (one.limit, one.limit))
        close = f"; too close to call, {low:.3g} to {high:.3g} with 80 % probability"
        told.append(replace(one, message=one.message + close) if low < one.limit < high else one)
    return told


def _at_most(
    name: str,
    value: float,
    limit: float,
    unit: str,
    message: str,
    severity: Literal["misfit", "caution"] = "caution",
) -> Finding:
    return Finding(name, bool(value <= limit), float(value), float(limit), unit, message, severity, "at most")


def _at_least(
    name: str,
    value: float,
    limit: float,
    unit: str,
    message: str,
    severity: Literal["misfit", "caution"] = "caution",
) -> Finding:
    return Finding(
        name, bool(value >= limit), float(value), float(limit), unit, message, severity, "at least"
    )


def _disc_gap(bench: _Bench) -> Finding:
    gap, which = disc_gap(bench.craft)
    limit = DISC_GAP_SHARE * float(bench.craft.propeller.diameter_in) * INCH
    message = f"{which} propellers; {100 * DISC_GAP_SHARE:g} % of a diameter is usual"
    return _at_least("disc_gap", gap / MM, limit / MM, "mm", message)


def _frame_gap(bench: _Bench) -> Finding:
    gap, which = frame_gap(bench.craft)
    message = f"{which}; blades bend under load"
    return _at_least("frame_gap", gap / MM, FRAME_GAP_MM, "mm", message, "caution" if gap > 0.0 else "misfit")


def _motor_current(bench: _Bench) -> Finding:
    message = "of one motor at full throttle, full pack"
    limit = float(bench.craft.motor.current_limit_A)
    return _at_most(
        "motor_current", bench.free.motor_current, limit, "A", message + _held(bench, limit), "misfit"
    )


def _esc_current(bench: _Bench) -> Finding:
    message = "of one channel at full throttle, full pack"
    limit = float(bench.craft.esc.current_limit_A)
    return _at_most(
        "esc_current", bench.free.motor_current, limit, "A", message + _held(bench, limit), "misfit"
    )


def _held(bench: _Bench, limit: float) -> str:
    if bench.free.motor_current <= limit:
        return ""
    return f"; flights hold it at {float(bench.plant.current_limit):g} A"


def _pack_current(bench: _Bench) -> Finding:
    battery = bench.craft.battery
    claim = float(battery.label_C_rating) * float(battery.capacity_mAh) / 1e3
    message = "at full throttle, full pack, against the label's claim"
    return _at_most("pack_current", bench.full.pack_current, claim, "A", message)


def _cell_voltage(bench: _Bench) -> Finding:
    volts = bench.full.pack_voltage / float(bench.plant.cells)
    message = "loaded, at full throttle, full pack, against the cut-off"
    return _at_least("cell_voltage", volts, float(bench.craft.battery.cutoff_cell_V), "V", message)


def _lifts(bench: _Bench) -> Finding:
    ratio = 4.0 * bench.full.thrust / float(bench.plant.mass * bench.plant.gravity)
    return _at_least(
        "lifts_itself", ratio, 1.0, "-", "thrust over weight; below 1 it stays on the ground", "misfit"
    )


def _control_axes(bench: _Bench) -> Finding:
    mass = mass_properties(bench.craft)
    _, lost = allocation_of(effectiveness(bench.plant, mass, rotor_places(bench.craft)))
    message = "of roll, pitch, yaw and thrust that four rotors where they stand, turning as they do, can serve apart"
    if lost:
        message = f"{' and '.join(lost)} cannot be controlled: place the rotors around the middle, two turning each way"
    return _at_least("control_axes", 4.0 - len(lost), 4.0, "-", message, "misfit")


def _thrust_to_weight(bench: _Bench) -> Finding:
    ratio = 4.0 * bench.full.thrust / float(bench.plant.mass * bench.plant.gravity)
    event = bench.craft.event
    message = f"thrust over weight that is usual for {event}"
    return _at_least("thrust_to_weight", ratio, THRUST_TO_WEIGHT[event], "-", message)


def _tip_mach(bench: _Bench) -> Finding:
    sound = float(speed_of_sound(bench.site.temperature_C + CELSIUS))
    mach = bench.full.rotor_speed * float(bench.plant.rotor_radius) / sound
    return _at_most(
        "tip_mach", mach, TIP_MACH, "-", "tip speed over speed of sound; noise and losses grow beyond"
    )


def _centre_of_mass(bench: _Bench) -> Finding:
    hubs = rotor_places(bench.craft)
    offset = (mass_properties(bench.craft).centre_of_mass_m - hubs.mean(axis=0))[:2]
    arm = float(np.mean(np.linalg.norm((hubs - hubs.mean(axis=0))[:, :2], axis=1)))
    where = f"{offset[0] / MM:+.1f} mm forward, {offset[1] / MM:+.1f} mm right of the rotors' middle"
    message = f"{where}; {100 * CENTRE_SHARE:g} % of the arm is usual"
    return _at_most(
        "centre_of_mass", float(np.linalg.norm(offset)) / MM, CENTRE_SHARE * arm / MM, "mm", message
    )


def _mass_list(bench: _Bench) -> Finding:
    properties = mass_properties(bench.craft)
    spread = properties.listed_mass_kg * bench.craft.mass.unlisted_pct.sigma / 100.0
    difference = (properties.weighed_difference_kg or 0.0) / GRAM
    message = f"scales {difference:+.0f} g against list and allowance; beyond twice its uncertainty a part is missing"
    return _at_most("mass_list", abs(difference), 2.0 * spread / GRAM, "g", message)


def _price(craft: Craft, budget: float) -> Finding:
    return _at_most("price", craft.price, budget, "EUR", "all parts, against the budget")


def _esc_voltage(bench: _Bench) -> Finding:
    full = float(bench.plant.cells * bench.plant.full_cell_voltage)
    limit = float(bench.craft.esc.max_V or 0.0)
    return _at_most("esc_voltage", full, limit, "V", "full pack, against what the ESC stands", "misfit")


def _propeller_speed(bench: _Bench) -> Finding:
    rpm, limit = bench.full.rotor_speed / RPM, float(bench.craft.propeller.max_rpm or 0.0)
    message = "at full throttle, full pack; beyond its maker's limit a propeller may burst"
    return _at_most("propeller_speed", rpm, limit, "rpm", message, "misfit")


def _esc_response(bench: _Bench) -> Finding:
    fastest = max(point.own / point.measured for point in lag_points(bench.craft, bench.plant))
    message = (
        "the motor's own time constant over the measured response; above 1 inertia, Kv or resistance is wrong"
    )
    return _at_most("esc_response", fastest, 1.0, "-", message)


def _motor_case(bench: _Bench) -> Finding:
    hover = hover_balance(bench.plant)
    settled = math.inf
    if hover is not None:
        settled = settled_temperatures(bench.plant, hover.motor_current, hover.rotor_speed, hover.thrust)[1]
    limit = min(CASE_WARM_C, float(bench.craft.motor.magnet_limit_C))
    message = (
        "where the cases settle in hover, in this air" if hover else "it cannot hover, so nothing settles"
    )
    return _at_most("motor_case", settled - CELSIUS, limit, "deg C", message)


QUESTIONS: tuple[Callable[[_Bench], Finding], ...] = (
    _lifts, _control_axes, _disc_gap, _frame_gap, _motor_current, _esc_current, _pack_current, _cell_voltage, _thrust_to_weight,
    _tip_mach, _motor_case, _centre_of_mass,
)  # fmt: skip
"""Asked of every craft, in this order."""
IF_STATED: tuple[tuple[Callable[[Craft], bool], Callable[[_Bench], Finding]], ...] = (
    (lambda craft: craft.esc.max_V is not None, _esc_voltage),
    (lambda craft: craft.propeller.max_rpm is not None, _propeller_speed),
    (lambda craft: bool(craft.esc.response), _esc_response),
)
"""Asked of a craft that states what they need."""
