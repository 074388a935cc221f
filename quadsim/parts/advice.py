"""What to change, said for all findings of a craft together, so that no two pieces of advice work against each other."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from quadsim.parts.finding import Finding
from quadsim.parts.remedies import ANEW, DEMANDS, REMEDIES, WHY, Moves, Remedy, case_of
from quadsim.parts.supply_findings import LEAD_A_MM2

NOTHING = "nothing"
"""What to change about a finding that is kept."""
BALANCE_MM = 1.0
"""An offset below this is not worth a word [mm]; assumed."""


def advised(findings: Sequence[Finding], offset_mm: tuple[float, float] = (0.0, 0.0)) -> list[Finding]:
    """The findings with `why` and `change`. Misfits choose first; each takes its best remedy that fits all that came before
    and makes no finding worse that is not kept.

    offset_mm : of the centre of mass from the rotors' middle, forward and right
    """
    open_ones = [one for one in findings if not one.ok]
    demands = [DEMANDS.get(case_of(one), {}) for one in open_ones]
    given: list[Moves] = []
    chosen: dict[str, str] = {}
    for one in sorted(open_ones, key=lambda f: f.severity != "misfit"):
        remedy = pick(one, [*demands, *given])
        given.append(remedy.moves)
        chosen[one.name] = in_words(remedy, one, offset_mm)
    return [replace(one, why=WHY[one.name], change=chosen.get(one.name, NOTHING)) for one in findings]


def pick(finding: Finding, others: Sequence[Moves]) -> Remedy:
    """The best remedy of a finding that moves nothing the other way than these do."""
    for remedy in REMEDIES[case_of(finding)]:
        if 100.0 * finding.over <= remedy.up_to and not opposed(remedy.moves, others):
            return remedy
    return ANEW


def opposed(moves: Moves, others: Iterable[Moves]) -> bool:
    """Whether any of the others moves one of the same quantities the other way."""
    return any(sign * other.get(name, 0) < 0 for other in others for name, sign in moves.items())


def in_words(remedy: Remedy, finding: Finding, offset_mm: tuple[float, float]) -> str:
    """The remedy's sentence with the figures of a finding."""
    value, limit = finding.value, finding.limit
    larger = max(value, limit)
    return remedy.words.format(
        value=value,
        limit=limit,
        percent=100.0 * abs(value - limit) / larger if larger else 0.0,
        short=max(limit - value, 0.0),
        over=max(value - limit, 0.0),
        times=limit / value if value > 0.0 else 0.0,
        area=value / LEAD_A_MM2,
        shift=_shift(offset_mm),
    )


def _shift(offset_mm: tuple[float, float]) -> str:
    """Which way a weight has to go to bring an offset back."""
    forward, right = offset_mm
    ways = ["back" if forward > 0.0 else "forward"] if abs(forward) >= BALANCE_MM else []
    ways += ["left" if right > 0.0 else "right"] if abs(right) >= BALANCE_MM else []
    return " and ".join(ways) or "little by little"
