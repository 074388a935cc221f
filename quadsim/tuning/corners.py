"""The corners of what a craft will meet: throttle, battery, payload, airspeed, and how wrong the craft file may be."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from quadsim.analysis.craft_loops import Condition, CraftLoops, LoopBench, craft_loops
from quadsim.analysis.margin_survey import LOW_CELL_V
from quadsim.errors import InputError

THRUST, INERTIA, DELAY = 0.15, 0.15, 0.30
"""How far thrust, inertia and delays may be from the craft file, shares; required of the tool, our choice."""
LIVELY = {"thrust": 1.0 + THRUST, "inertia": 1.0 - INERTIA, "delay": 1.0 + DELAY}
"""All loops faster than believed, and later."""
TIRED = {"thrust": 1.0 - THRUST, "inertia": 1.0 + INERTIA, "delay": 1.0 + DELAY}
PROMPT = {"thrust": 1.0 - THRUST, "inertia": 1.0 + INERTIA, "delay": 1.0 - DELAY}
LEAST_DUTY = 0.10
"""Least throttle, of full, where none is stated; required of the tool."""
FAST_M_S = (15.0, 10.0, 5.0)
"""Airspeed of the corner in forward flight: the first that the craft can fly [m/s]."""


@dataclass(frozen=True)
class Corner:
    """name : in words; loops : everything linear there; loaded : with the payload; strained : hardly any thrust to spare;
    idling : next to no thrust, where a rotor answers fast and its own inertia turns the craft about yaw."""

    name: str
    loops: CraftLoops
    loaded: bool
    strained: bool
    idling: bool


def wanted_corners(
    payload: float, least_duty: float = LEAST_DUTY
) -> list[tuple[Condition, dict[str, float], str]]:
    """Conditions with the factors on the plant, and these in words; `payload` [kg], 0 for none; `least_duty` : least throttle."""
    low = LOW_CELL_V
    found: list[tuple[Condition, dict[str, float], str]] = [
        (Condition(), {}, "as the file says"),
        (Condition(), LIVELY, "lively"),
        (Condition(cell_voltage=low), PROMPT, "tired but prompt"),
        (Condition(duty=least_duty), LIVELY, "lively"),
        (Condition(duty=0.30), LIVELY, "lively"),
        (Condition(duty=0.95), LIVELY, "lively"),
        (Condition(duty=0.95, cell_voltage=low), TIRED, "tired"),
    ]
    if payload > 0.0:
        found += [
            (Condition(payload=payload), {}, "as the file says"),
            (Condition(payload=payload, cell_voltage=low), TIRED, "tired"),
            (Condition(payload=payload, duty=0.95, cell_voltage=low), TIRED, "tired"),
        ]
    return found


def _extremes(condition: Condition) -> tuple[bool, bool]:
    """Whether a condition is strained, and whether it is idling."""
    return (condition.duty or 0.5) > 0.9, (condition.duty or 0.5) < 0.15


def make_corners(
    bench: LoopBench, payload: float, progress: Callable[[float, str], None] | None = None, least_duty: float = LEAST_DUTY
) -> list[Corner]:  # fmt: skip
    """Linearise the craft at every corner that it can fly.

    Parameters
    ----------
    payload : full payload [kg]
    progress : called with the share done and what comes next
    least_duty : least throttle that it will be flown with, 0..1
    """
    wanted, corners = wanted_corners(payload, least_duty), []
    for done, (condition, scales, words) in enumerate(wanted):
        name = f"{condition.words}, {words}" if words != "as the file says" else condition.words
        if progress is not None:
            progress(done / (len(wanted) + 1), name)
        try:
            loops = craft_loops(replace(bench, scales=scales), condition)
        except InputError:
            continue  # it cannot hover like that: no gains would help
        corners.append(Corner(name, loops, condition.payload > 0.0, *_extremes(condition)))
    for speed in FAST_M_S:
        try:
            loops = craft_loops(replace(bench, scales=LIVELY), Condition(forward=speed))
        except InputError:
            continue
        corners.append(Corner(f"{speed:g} m/s, lively", loops, False, False, False))
        break
    return corners
