"""What a measurement changes on its craft: thrust, throttle, current, minutes of hover before and after, with their intervals."""

from __future__ import annotations

from dataclasses import dataclass

from quadsim.analysis.evidence import ANSWERS, craft_evidence
from quadsim.config import parse_craft
from quadsim.config.craft_schema import Craft
from quadsim.config.toml_edit import merged
from quadsim.environment.atmosphere import Site
from quadsim.measure.result import Result

FELT = 1e-3
"""Relative change of a value or of its interval up to which an answer counts as unchanged. Our choice."""
SECTIONS = ("motor", "propeller", "esc", "battery", "flight_controller", "mass")


@dataclass(frozen=True)
class Change:
    """One answer before and after, each with half its 80 % interval."""

    answer: str
    unit: str
    before: float
    before_half: float
    after: float
    after_half: float


def changes(craft: Craft, result: Result, site: Site) -> list[Change]:
    """The answers of an inspection that the measurement changes, at a site.

    Raises
    ------
    InputError
        when the craft with the measured keys is no craft that can be read.
    """
    if not any(key.split(".")[0] in SECTIONS and key.count(".") == 1 for key in result.entries):
        return []
    text = merged(craft.source_text, result.entries, str(craft.path or craft.name))
    old = craft_evidence(craft, site)
    new = craft_evidence(parse_craft(text, f"{craft.name} with what was measured"), site)
    found = []
    for name, unit in ANSWERS.items():
        one = Change(name, unit, old.answers[name], old.half(name), new.answers[name], new.half(name))
        moved = abs(one.after - one.before) + abs(one.after_half - one.before_half)
        if moved > FELT * abs(one.before):
            found.append(one)
    return found
