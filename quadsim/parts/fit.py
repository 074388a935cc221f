"""The parts check of a careful friend: all questions about a craft, with why each matters and what to change."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from quadsim.config import Craft, mass_properties
from quadsim.config.craft_solids import rotor_places
from quadsim.environment.atmosphere import Site
from quadsim.parts import build_findings as build
from quadsim.parts import control_findings as control
from quadsim.parts import drive_findings as drive
from quadsim.parts import supply_findings as supply
from quadsim.parts.advice import advised
from quadsim.parts.bench import Bench
from quadsim.parts.control_findings import Crossover, loop_crossover
from quadsim.parts.finding import Finding
from quadsim.units import MM


@dataclass(frozen=True)
class NotAsked:
    """A question that a craft file does not state enough for: its name, and the key that would let it be asked."""

    name: str
    key: str


def fit_findings(
    craft: Craft, site: Site, budget: float | None = None, crossover: Crossover = loop_crossover
) -> list[Finding]:
    """All findings on a craft at a site, in a fixed order; with a budget [EUR] also on the price.

    crossover : asked only of a craft with a flexible mode that can hover; the stock one needs compiled kernels
    """
    bench = Bench.of(craft, site)
    findings = [question(bench) for question in QUESTIONS]
    findings += [question(bench) for _, _, stated, question in IF_STATED if stated(craft)]
    if craft.esc.response:
        findings.append(control.esc_response(bench))
    if craft.frame.flexible is not None and bench.hover is not None:
        findings.append(control.flexible_mode(bench, crossover))
    if craft.mass.weighed_mass_g is not None:
        findings.append(build.mass_list(bench))
    if budget is not None:
        findings.append(build.price(bench, budget))
    return advised(findings, _offset_mm(craft))


def not_asked(craft: Craft) -> list[NotAsked]:
    """What could not be asked of a craft, since its file does not say."""
    return [NotAsked(name, key) for name, key, stated, _ in IF_STATED if not stated(craft)]


def with_intervals(findings: list[Finding], intervals: Mapping[str, tuple[float, float]]) -> list[Finding]:
    """The findings; one whose limit lies within the 80 % interval of its value says so. Intervals by name of a finding."""
    told = []
    for one in findings:
        low, high = intervals.get(one.name, (one.limit, one.limit))
        close = f"; too close to call, {low:.3g} to {high:.3g} with 80 % probability"
        told.append(replace(one, message=one.message + close) if low < one.limit < high else one)
    return told


def _offset_mm(craft: Craft) -> tuple[float, float]:
    offset = (mass_properties(craft).centre_of_mass_m - rotor_places(craft).mean(axis=0)) / MM
    return float(offset[0]), float(offset[1])


QUESTIONS: tuple[Callable[[Bench], Finding], ...] = (
    drive.lifts_itself, build.control_axes, build.between_discs, build.to_the_frame, drive.thrust_to_weight,
    drive.hover_throttle, build.centre_of_mass, drive.motor_current, drive.esc_current, drive.event_current,
    drive.event_winding, drive.motor_case, supply.pack_current, supply.cell_voltage, drive.tip_mach, control.loop_rate,
)  # fmt: skip
"""Asked of every craft, in this order."""
IF_STATED: tuple[tuple[str, str, Callable[[Craft], bool], Callable[[Bench], Finding]], ...] = (
    ("motor_speed", "motor.max_rpm", lambda craft: craft.motor.max_rpm is not None, drive.motor_speed),
    ("propeller_speed", "propeller.max_rpm", lambda c: c.propeller.max_rpm is not None, drive.propeller_speed),
    ("esc_voltage", "esc.max_V", lambda craft: craft.esc.max_V is not None, supply.esc_voltage),
    ("connector", "battery.connector_limit_A", lambda c: c.battery.connector_limit_A is not None, supply.connector),
    ("lead_wire", "battery.lead_awg", lambda craft: craft.battery.lead_awg is not None, supply.lead_wire),
    ("radio_channels", "radio.channels", lambda craft: craft.radio.channels is not None, control.radio_channels),
)  # fmt: skip
"""Name, key, whether the craft states it, question: asked of a craft that states what they need."""
