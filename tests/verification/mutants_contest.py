"""Copies of the quick solver behind `lift`, `dash` and `hover`, each with one thing wrong; as mutants.py."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import checks_contest as checks
from mutants import plain_modules

COPIED = tuple(
    f"quadsim.contest.{name}" for name in ("crowd", "steady", "feed", "loaded", "lift", "dash", "rules")
)


@dataclass(frozen=True)
class ContestMutant:
    """What is wrong, in which module of quadsim.contest, and the check that must notice."""

    wrong: str
    module: str
    old: str
    new: str
    check: Callable[[checks.Of], None]

    def modules(self) -> checks.Of:
        return copies(self.module, self.old, self.new)


def copies(module: str = "", old: str = "", new: str = "") -> checks.Of:
    """Modules of quadsim.contest by name, copied, with `old` in `module` reading `new`."""
    found = plain_modules(f"quadsim.contest.{module}", old, new, COPIED)
    return lambda name: found(f"quadsim.contest.{name}")


MUTANTS = (
    ContestMutant("drag along the shafts forgotten", "steady", "[:, 2] * w)", "[:, 2] * 0.0)", checks.thrust_in_a_climb),
    ContestMutant("climbing air comes from below", "steady", "v * np.sin(tilt) + c * np.cos(tilt)\n    thrust", "v * np.sin(tilt) - c * np.cos(tilt)\n    thrust", checks.thrust_in_a_climb),
    ContestMutant("drag without its half", "steady", "0.5 * crowd.air_density * np.hypot", "crowd.air_density * np.hypot", checks.top_speed_by_drag_balance),
    ContestMutant("all the weight on the tilted thrust", "steady", "thrust = (weight * np.cos(tilt)", "thrust = (weight", checks.top_speed_by_drag_balance),
    ContestMutant("drag of the body's side in forward flight", "steady", "(crowd, u, w) * crowd.drag_area[:, 0] * u\n\n\ndef _uneven", "(crowd, u, w) * crowd.drag_area[:, 0] * w\n\n\ndef _uneven", checks.tilt_against_drag),
    ContestMutant("slipstreams blow on one arm alone", "steady", "return 4.0 * _in_plane", "return 1.0 * _in_plane", checks.top_speed_with_rotor_drag),
    ContestMutant("slipstreams drag with the thrust, not its root", "steady", "np.sqrt(np.maximum(moving * found[:, 0], 0.0))", "np.maximum(moving * found[:, 0], 0.0)", checks.top_speed_with_rotor_drag),
    ContestMutant("air past a motor forgets the induced", "steady", "thrust * crowd.per_disc_mass + u * u", "u * u", checks.hover_power_of_an_ideal_rotor),
    ContestMutant("torque from the power over turns", "steady", "crowd.rotor_radius / math.pi * cp", "crowd.rotor_radius * cp", checks.hover_power_of_an_ideal_rotor),
    ContestMutant("lever of the roll offset in the pitch", "steady", "hubs[:, :, 1].mean(axis=1)\n", "hubs[:, :, 0].mean(axis=1)\n", checks.load_off_the_middle),
    ContestMutant("uneven load spread over all rotors", "steady", "share = 1.0 + uneven", "share = 1.0 + 0.5 * uneven", checks.load_off_the_middle),
    ContestMutant("a payload moves the centre away from itself", "loaded", "hubs - moved", "hubs + moved", checks.payload_off_the_middle),
    ContestMutant("payload over the bare mass", "loaded", "(payload / mass)", "(payload / bare)", checks.payload_off_the_middle),
    ContestMutant("thrust with D^3", "steady", "crowd.rotor_radius**4", "crowd.rotor_radius**3", checks.payload_without_losses),
    ContestMutant("one motor draws for four", "feed", "16.0 * ohms", "4.0 * ohms", checks.payload_with_motor_losses),
    ContestMutant("the ESCs' resistance forgotten", "feed", "warm + crowd.esc_resistance", "warm", checks.payload_with_motor_losses),
    ContestMutant("the leads' resistance forgotten", "feed", " + crowd.lead_resistance\n", "\n", checks.payload_with_motor_losses),
    ContestMutant("the pack's other solution", "feed", "(open_side + np.sqrt", "(open_side - np.sqrt", checks.sag_at_constant_power),
    ContestMutant("motors' current for the pack's", "feed", "4.0 * across * current / volts\n", "4.0 * current\n", checks.sag_at_constant_power),
    ContestMutant("charge counted against the heat of the pack", "feed", "drawn * h / (crowd.capacity", "drawn * h / (2.0 * crowd.capacity", checks.charge_drawn),
    ContestMutant("slow drop without end", "feed", "(1.0 + rate)\n    store.charge", "1.0\n    store.charge", checks.slow_drop_of_the_pack),
    ContestMutant("ESCs heat the winding", "feed", "winding) - crowd.esc_resistance)", "winding))", checks.winding_and_case),
    ContestMutant("heat lost in one direction alone", "feed", "a * b - through * through", "a * b", checks.winding_and_case),
    ContestMutant("motors cooled as if still", "feed", "crowd.case_to_still_air) * flow", "crowd.case_to_still_air) * 0.0", checks.winding_and_case),
    ContestMutant("a pack's voltage that does not fall", "feed", "open_circuit(store.charge,", "open_circuit(1.0 + 0.0 * store.charge,", checks.endurance_by_energy_balance),
)  # fmt: skip
