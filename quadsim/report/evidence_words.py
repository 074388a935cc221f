"""What an inspection says of its certainty, in words: the same in the terminal and on a sheet."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from quadsim.analysis.evidence import MOUNTED_SIGMA, map_sigmas

if TYPE_CHECKING:
    from quadsim.analysis.inspection import Inspection

SHOWN = {
    "max_thrust_N": ("greatest thrust", "N", 1.0),
    "thrust_to_weight": ("thrust to weight", "", 1.0),
    "hover_throttle": ("hover throttle", "%", 100.0),
    "hover_current_A": ("hover current", "A", 1.0),
    "hover_power_W": ("hover power", "W", 1.0),
    "hover_time_min": ("hover time", "min", 1.0),
}
"""Words, unit and scale of each answer."""
INPUTS = {
    "propeller.installed_loss_pct": "installed loss",
    "motor.kv_rpm_per_V": "Kv",
    "motor.resistance_mohm": "motor resistance",
    "motor.no_load_current_A": "no-load current",
    "motor.no_load_iron_pct": "iron loss",
    "battery.cell_resistance_mohm": "cell resistance",
    "battery.lead_resistance_mohm": "lead resistance",
    "battery.capacity_mAh": "capacity",
    "battery.cold_capacity_pct_K": "capacity in cold",
    "battery.cold_resistance_K": "resistance in cold",
    "esc.resistance_mohm": "ESC resistance",
}
"""Words for keys, where there is no room for a key."""
WORTH_SHOWING = 0.01
"""Least share of an answer that an input must move by to be listed."""
CAUTION = "A running propeller injures: clamp everything down, stay out of its plane, no reaching in with the pack plugged."
"""Said with every measurement in which a propeller turns."""


def rests_on(seen: Inspection) -> str:
    """What the rotor map rests on."""
    known = seen.evidence.blades.evidence.partition("; static thrust")[0]
    thrust, torque = seen.craft.propeller.thrust_scale, seen.craft.propeller.torque_scale
    scaled = (
        f"; times your own {thrust:g} on thrust, {torque:g} on torque"
        if (thrust, torque) != (1.0, 1.0)
        else ""
    )
    return f"rests on {known}{scaled}"


def map_errors(seen: Inspection) -> str:
    """Standard deviations of the rotor map."""
    thrust, power = (f"{100.0 * sigma:.2g} %" for sigma in map_sigmas(seen.craft, seen.evidence.blades))
    climb = f"{100.0 * seen.evidence.blades.sweep_sigma:.2g} %"
    return f"static thrust +- {thrust}, power +- {power}, thrust in fast climb +- {climb} of static (1 sigma)"


def installed_sentence(seen: Inspection) -> str:
    """Whether the loss on the craft is measured or stated."""
    loss = seen.craft.propeller.installed_loss_pct
    if seen.evidence.blades.measured_on == "own arm":
        return "measured on the craft's own arm: the installed loss is in it"
    where = "measured on a free stand" if seen.craft.propeller.bench else "a free propeller"
    more = f"its power there is known to {100.0 * MOUNTED_SIGMA:.0f} %"
    return f"{where}: on the craft {loss:g} +- {loss.sigma:g} % of its thrust is lost, and {more}"


def decimals(value: float) -> int:
    """Decimals that show two digits of a number."""
    return max(1 - math.floor(math.log10(value)), 0) if value > 0.0 else 0


def best_sentence(seen: Inspection) -> str:
    """The measurement that would narrow most, with what it would leave."""
    best, evidence = seen.best, seen.evidence
    if best is None:
        return "No single measurement that we know of would narrow this further."
    parts = []
    for name in evidence.judged:
        words, unit, _ = SHOWN[name]
        digits = decimals(best.before[name])
        value, before, after = (
            f"{number:.{digits}f}" for number in (evidence.answers[name], best.before[name], best.after[name])
        )
        parts.append(f"{words} {value} +- {before} would become +- {after} {unit}".rstrip())
    return f"Measure next: {best.measurement.measure}: {', '.join(parts)}."


def caution(seen: Inspection) -> str:
    """What to take care of in the best measurement; empty where nothing turns."""
    return CAUTION if seen.best is not None and seen.best.measurement.spins else ""
