"""What is hooked on and let go during a flight: rigid boxes, a load on a line, a load that falls."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.config import Craft, Load, mass_properties, resolve_plant
from quadsim.config.airframe_estimate import feet_estimate
from quadsim.config.flight_schema import ActionSection, AttachSection
from quadsim.config.loose_load import (
    REST_DEPTH,
    LooseLoad,
    fill_loose_load,
    fixed_load,
    loose_load,
    upper_end,
)
from quadsim.dynamics.ground import REACH
from quadsim.dynamics.state import X
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError, Problem
from quadsim.kinematics.quaternion import rotation_matrix
from quadsim.simulation.watch import BOUNCE_LOOKS
from quadsim.units import MM

Array = NDArray[np.float64]
POSITION, VELOCITY = slice(X.POSITION, X.POSITION + 3), slice(X.VELOCITY, X.VELOCITY + 3)
LOAD_POSITION = slice(X.LOAD_POSITION, X.LOAD_POSITION + 3)
LOAD_VELOCITY = slice(X.LOAD_VELOCITY, X.LOAD_VELOCITY + 3)
MARGIN = 0.1
"""By how much the centre of mass may lie away from the frame's origin, for the check of boxes [m]; assumed."""
LIFTED = 2e-3
"""A new box that is so much deeper in the ground than the craft was before lifts it [m]; the rest the contact takes up."""


class Payloads:
    """The payloads of a flight. `attach` and `release` change the state `x` and return the PLANT record to fly on with.

    What is fixed to the craft is part of its body. One load moves on its own: the one on a line, or the one that was let
    go last, which falls and is followed until another takes its place.
    """

    def __init__(self, craft: Craft, site: Site, x: Array, carried: Any) -> None:
        self.craft, self.site, self.x, self.carried = craft, site, x, carried
        self.fixed: dict[str, Load] = {}
        """By name: boxes, and the upper end of a line."""
        self.loose: LooseLoad | None = None
        self.hung: dict[str, AttachSection] = {}
        """What hangs on the craft at this time, by name."""
        self.shown: list[dict[str, Any]] = []
        """Every payload of the flight: name, size_m, at_m, from_s, to_s (None while it hangs); on a line also line_m and
        hook_m; loose_s is the time from which it moves on its own."""

    def check(self, actions: Iterable[ActionSection]) -> None:
        """Refuse, before the flight, boxes that the ground's contact would not reach.

        Raises
        ------
        InputError
            when a corner of a fixed box lies farther from the frame's origin than contact is looked for.
        """
        problems = []
        for action in actions:
            if action.attach and action.attach.line_m is None:
                box = fixed_load(action.attach)
                corner = np.abs(np.asarray(box.at_m)) + np.asarray(box.size_m) / 2.0
                if np.linalg.norm(corner) >= REACH - MARGIN:
                    given = f"a corner of its box lies {np.linalg.norm(corner):.2f} m from the frame's origin"
                    allowed = f"must be under {REACH - MARGIN:g} m"
                    problems.append(
                        Problem(f"attach {action.attach.name!r}", given, allowed, "Move or shrink it")
                    )
        if problems:
            raise InputError(problems)

    def attach(self, attach: AttachSection, plant: Any, t_s: float) -> Any:
        """Hook a payload on, at rest relative to the craft or standing on the ground."""
        on_line = attach.line_m is not None
        self.fixed[attach.name] = upper_end(attach) if on_line else fixed_load(attach)
        self.hung[attach.name] = attach
        if on_line:
            self._hang(attach, plant)
        self._show(attach, t_s)
        return self._reloaded(plant)

    def release(self, name: str, plant: Any, t_s: float) -> Any:
        """Let a payload go. It falls with the velocity that it has; its line goes with it."""
        if name not in self.hung:
            known = ", ".join(self.hung) or "nothing"
            raise InputError(f"release = {name!r}: no such payload is attached; attached: {known}")
        attach, box = self.hung.pop(name), self.fixed.pop(name)
        shown = next(one for one in self.shown if one["name"] == name and one["to_s"] is None)
        shown["to_s"] = t_s
        if attach.line_m is not None:
            assert self.loose is not None
            self.loose = replace(self.loose, line=None)
        elif not any(other.line_m is not None for other in self.hung.values()):
            shown["loose_s"] = t_s
            place, velocity = self._point(np.asarray(box.at_m, float), plant)
            self._let_move(loose_load(attach), place, velocity)
        return self._reloaded(plant)

    def misfit(self, attach: AttachSection) -> str:
        """What is wrong with a box that reaches below the feet; empty when nothing is."""
        if attach.line_m is not None:
            return ""
        box = self.fixed[attach.name]
        feet = feet_estimate(self.craft, mass_properties(self.craft).items)
        below = float(np.asarray(box.at_m)[2] + np.asarray(box.size_m)[2] / 2.0 - np.max(feet[:, 2]))
        if below <= 0.0:
            return ""
        return f"misfit: {attach.name} reaches {below / MM:.0f} mm below the feet: the craft would land on it"

    def _point(self, at: Array, plant: Any) -> tuple[Array, Array]:
        """Place and velocity in the world of a point of the craft (from the frame's origin)."""
        arm = at - np.asarray(plant.centre_of_mass)
        rotation = self._rotation()
        turning = np.cross(self.x[X.RATES : X.RATES + 3], arm)
        return self.x[POSITION] + rotation @ arm, self.x[VELOCITY] + rotation @ turning

    def _rotation(self) -> Array:
        return np.array(rotation_matrix(*self.x[X.QUATERNION : X.QUATERNION + 4])).reshape(3, 3)

    def _hang(self, attach: AttachSection, plant: Any) -> None:
        """Put a load at the lower end of its line: where the file says, else straight below the hook."""
        load = loose_load(attach)
        assert load.line is not None
        hook, velocity = self._point(load.line.hook_m, plant)
        stretch = load.mass_kg * plant.gravity / load.line.stiffness_N_m
        place = hook + np.array([0.0, 0.0, load.line.length_m + stretch])
        if attach.at_mm is not None:
            place, velocity = self._point(np.array(attach.at_mm) * MM, plant)
        self._let_move(load, place, velocity)
        away = float(np.linalg.norm(self.x[LOAD_POSITION] - hook))
        if away > load.line.length_m + 2.0 * stretch:
            given = f"lies on the ground {away:.2f} m from the hook when it is hooked on"
            allowed = f"the line is {load.line.length_m:g} m long"
            raise InputError(
                [Problem(f"attach {attach.name!r}", given, allowed, "Move it closer or fly lower")]
            )
        self.carried.line_taut = int(away > load.line.length_m)

    def _let_move(self, load: LooseLoad, place: Array, velocity: Array) -> None:
        """The load that moves on its own from here on. Below the ground it is put on it, at rest; so is one on a line while
        the craft stands."""
        grounded = place[2] + load.half_height_m >= 0.0 or (
            load.line is not None and self.carried.touching == 1
        )
        if grounded:
            place, velocity = np.array([place[0], place[1], REST_DEPTH - load.half_height_m]), np.zeros(3)
        self.loose = load
        self.x[LOAD_POSITION], self.x[LOAD_VELOCITY] = place, velocity
        self.carried.load_touching = int(grounded)
        self.carried.load_clear_looks = 0 if grounded else BOUNCE_LOOKS + 1
        self.carried.line_slack_looks = BOUNCE_LOOKS + 1
        self.carried.load_sink, self.carried.line_taut = 0.0, 0

    def _show(self, attach: AttachSection, t_s: float) -> None:
        shown = {
            "name": attach.name,
            "size_m": [edge * MM for edge in attach.size_mm],
            "from_s": t_s,
            "to_s": None,
        }
        if attach.line_m is None:
            shown["at_m"] = np.asarray(self.fixed[attach.name].at_m).tolist()
        else:
            hook = [edge * MM for edge in attach.hook_mm]
            shown.update(at_m=hook, hook_m=hook, line_m=attach.line_m, loose_s=t_s)
        self.shown.append(shown)

    def _reloaded(self, old: Any) -> Any:
        """New mass properties; the frame's origin keeps its place and velocity, the centre of mass moves."""
        plant = resolve_plant(self.craft, self.site, tuple(self.fixed.values()))
        fill_loose_load(plant, self.loose)
        shift = np.asarray(plant.centre_of_mass) - np.asarray(old.centre_of_mass)
        rotation, before = self._rotation(), self._deepest(old)
        self.x[POSITION] += rotation @ shift
        self.x[VELOCITY] += rotation @ np.cross(self.x[X.RATES : X.RATES + 3], shift)
        sunk = self._deepest(plant) - max(before, 0.0)
        if sunk > LIFTED:
            self.x[X.POSITION + 2] -= sunk  # whoever puts a box below a standing craft lifts it
        return plant

    def _deepest(self, plant: Any) -> float:
        """Depth of the lowest point of contact below the ground [m]."""
        return float(np.max((np.asarray(plant.feet) @ self._rotation().T)[:, 2] + self.x[X.POSITION + 2]))
