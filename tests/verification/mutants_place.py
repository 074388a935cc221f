"""Copies of the guide's source in plain Python, each with one thing wrong: the checks of place control must notice every one."""

from __future__ import annotations

import builtins
import types
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import checks_place
from mutants import plain_kernel, source_of

COPIED = tuple(
    f"controllers.{name}"
    for name in (
        "filters", "rotation", "sticks", "allocate", "supervise", "guide", "guide_attitude", "guide_ground", "guide_height",
        "guide_home", "guide_position", "guide_sticks", "link_loss", "low_battery", "navigation", "track",
    )
)  # fmt: skip


def plain_block(*_: Any, **__: Any) -> Callable:
    """In place of `block`: the function itself."""
    return lambda function: function


def plain_guide(module: str = "", old: str = "", new: str = "", guide: str = "navigation") -> Callable:
    """`navigation` or `track` of a plain-Python copy of the guide in which `old` in `module` reads `new`."""
    made: dict[str, types.ModuleType] = {}

    def importer(name: str, *rest: Any) -> Any:
        if name == "controllers.contract":
            from controllers.contract import Gains

            return types.SimpleNamespace(
                kernel=plain_kernel, inner=plain_kernel, block=plain_block, Gains=Gains
            )
        return copy(name) if name in COPIED else builtins.__import__(name, *rest)

    def copy(name: str) -> types.ModuleType:
        if name not in made:
            text = source_of(name)
            if name == module:
                assert text.count(old) == 1, f"{name} has {text.count(old)} times {old!r}; renew this mutant"
                text = text.replace(old, new)
            made[name] = types.ModuleType(name)
            made[name].__dict__["__builtins__"] = {**vars(builtins), "__import__": importer}
            exec(compile(text, name, "exec"), made[name].__dict__)
        return made[name]

    return getattr(copy(f"controllers.{guide}"), guide)


@dataclass(frozen=True)
class PlaceMutant:
    """What is wrong, where, and the check that must notice."""

    wrong: str
    old: str
    new: str
    check: Callable[[Callable], None]
    module: str = "controllers.guide_position"

    def guide(self) -> Callable:
        return plain_guide(self.module, self.old, self.new)


MUTANTS = (
    PlaceMutant("pull to the place too weak", "north += p * off_n", "north += 0.9 * p * off_n", checks_place.pushed_off_its_place),
    PlaceMutant("pull to the east too weak", "east += p * off_e", "east += 0.9 * p * off_e", checks_place.hold_in_steady_wind),
    PlaceMutant("integral left out of the command", " + memory[Memory.EAST_INTEGRAL]\n", "\n", checks_place.hold_in_steady_wind_with_integral),
    PlaceMutant("integral of wrong sign", "memory[Memory.EAST_INTEGRAL] + i * off_e", "memory[Memory.EAST_INTEGRAL] - i * off_e", checks_place.hold_in_steady_wind_with_integral),
    PlaceMutant("damping too weak", "d * (memory[Memory.NORTH_SPEED] - s.velocity[0])", "0.8 * d * (memory[Memory.NORTH_SPEED] - s.velocity[0])", checks_place.pushed_off_its_place),
    PlaceMutant("roll taken for small angles with pitch", "memory[Memory.ROLL] = math.atan2(r, h)", "memory[Memory.ROLL] = math.atan2(r, lift)", checks_place.circle),
    PlaceMutant("turning of the heading axes forgotten", "turning * r, c * east - n * north - turning * f", "0.0, c * east - n * north", checks_place.circle),
    PlaceMutant("heading axes turned the wrong way", "f, r, turning = c * north + n * east, c * east - n * north", "f, r, turning = c * north - n * east, c * east + n * north", checks_place.circle),
    PlaceMutant("acceleration of the trajectory dropped", "return s.target_acceleration[0], s.target_acceleration[1]", "return 0.0, s.target_acceleration[1]", checks_place.circle),
    PlaceMutant("climb left out of the tilt", "limit(G0 - s.target_acceleration[2],", "limit(G0,", checks_place.trajectory_climbs_as_it_leans),
)  # fmt: skip
