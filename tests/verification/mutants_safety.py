"""Copies of the supervisor's source, each with one thing wrong: the checks of link loss and low battery must notice every one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import checks_safety as checks
from mutants_place import plain_guide


@dataclass(frozen=True)
class SafetyMutant:
    """What is wrong, where, and the check that must notice."""

    wrong: str
    module: str
    old: str
    new: str
    check: Callable[[Callable], None]

    def guide(self) -> Callable:
        """The guide with that wrong."""
        return plain_guide(f"controllers.{self.module}", self.old, self.new)


LINK, BATTERY, ABOVE = "link_loss", "low_battery", "supervise"
MUTANTS = (
    SafetyMutant("acts at once", LINK, "> craft.failsafe_delay - 0.5 * s.dt", "> -1.0", checks.acts_when_the_delay_is_over),
    SafetyMutant("gaps add up", LINK, "memory[Memory.LINK_SILENT] = 0.0 if s.link > 0.5 else memory[Memory.LINK_SILENT] + s.dt", "memory[Memory.LINK_SILENT] += 0.0 if s.link > 0.5 else s.dt", checks.short_gaps_do_not_add_up),
    SafetyMutant("starts again in the air", LINK, "_lands(s) if s.airborne == 0.0 else action != LinkLoss.CUT", "_lands(s)", checks.cut_motors_wait_for_ground_and_stick),
    SafetyMutant("starts again with the stick at its centre", LINK, "_lands(s) if s.airborne == 0.0 else", "True if s.airborne == 0.0 else", checks.cut_motors_wait_for_ground_and_stick),
    SafetyMutant("a cut never finds the ground", LINK, "s.airborne = 0.0\n", "s.airborne = 1.0\n", checks.cut_motors_wait_for_ground_and_stick),
    SafetyMutant("flies home without a place", LINK, "carried and s.position_known > 0.5 and s.heading_known", "carried and s.heading_known", checks.homing_needs_a_place),
    SafetyMutant("never gives control back", LINK, "LinkLoss.NONE.value if free", "LinkLoss.CUT.value if free", checks.control_comes_back_after_a_second),
    SafetyMutant("gives control back at once", LINK, "> gains[GuideGain.LINK_BACK_TIME]", "> 0.0", checks.control_comes_back_after_a_second),
    SafetyMutant("a cut leaves the motors on", ABOVE, "s.armed = 0.0", "s.armed = 1.0", checks.acts_when_the_delay_is_over),
    SafetyMutant("sag taken for an empty pack", BATTERY, "s.battery_voltage + craft.pack_resistance * s.battery_current", "s.battery_voltage", checks.sag_is_added_back),
    SafetyMutant("sag taken away twice", BATTERY, "s.battery_voltage + craft.pack_resistance", "s.battery_voltage - craft.pack_resistance", checks.sag_is_added_back),
    SafetyMutant("chart read a row too high", BATTERY, "REST_CHARGE[k - 1] + share", "REST_CHARGE[k] + share", checks.sag_is_added_back),
    SafetyMutant("the more of two charges counts", BATTERY, "left = at_most(", "left = at_least(", checks.the_less_of_two_charges_counts),
    SafetyMutant("the reserve is forgotten", BATTERY, "spare = left - craft.reserve", "spare = left", checks.warns_a_tenth_before_it_acts),
    SafetyMutant("warns at once", BATTERY, "span = gains[GuideGain.BATTERY_TIME]", "span = 0.0", checks.warns_a_tenth_before_it_acts),
    SafetyMutant("the way home is forgotten", BATTERY, " - _charge_home(s, craft, gains, memory)", "", checks.the_way_home_is_kept),
    SafetyMutant("the descent is forgotten", BATTERY, "seconds += top /", "seconds += 0.0 /", checks.the_way_home_is_kept),
    SafetyMutant("takes the craft from a pilot", BATTERY, "(acts > 0.5 and not sticks)", "acts > 0.5", checks.a_pilot_keeps_the_craft),
    SafetyMutant("position hold counts as no pilot", BATTERY, " or mode == Mode.POSITION_HOLD", "", checks.a_pilot_keeps_the_craft),
    SafetyMutant("no smoothing", BATTERY, "if memory[Memory.REST_VOLTAGE] > 0.0:", "if memory[Memory.REST_VOLTAGE] > 1e9:", checks.a_dip_is_smoothed),
)  # fmt: skip
CHECKS = tuple(dict.fromkeys(mutant.check for mutant in MUTANTS))
