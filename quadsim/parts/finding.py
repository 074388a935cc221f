"""One question about a craft and its answer: the form that every check hands on."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

Severity = Literal["misfit", "caution"]


@dataclass(frozen=True)
class Finding:
    """One question about the fit. `limit` and `value` in `unit`; `bound` says on which side of the limit is good.

    A `misfit` would break something or keep the craft on the ground; a `caution` is a rule of the trade that this craft does
    not keep, which its builder may have reasons for.

    why : what happens to a craft that does not keep it
    change : what to do about it, in agreement with all other findings; NOTHING where it is kept
    """

    name: str
    ok: bool
    value: float
    limit: float
    unit: str
    message: str
    severity: Severity = "caution"
    bound: Literal["at least", "at most"] = field(default="at most")
    why: str = ""
    change: str = ""

    @property
    def over(self) -> float:
        """How far it is on the wrong side, as a part of the limit [-]; 0 or less where it is kept."""
        distance = self.value - self.limit if self.bound == "at most" else self.limit - self.value
        return distance / abs(self.limit) if self.limit else distance


def at_most(
    name: str, value: float, limit: float, unit: str, message: str, severity: Severity = "caution"
) -> Finding:
    """A finding that holds up to its limit."""
    return Finding(name, bool(value <= limit), float(value), float(limit), unit, message, severity, "at most")


def at_least(
    name: str, value: float, limit: float, unit: str, message: str, severity: Severity = "caution"
) -> Finding:
    """A finding that holds from its limit on."""
    return Finding(
        name, bool(value >= limit), float(value), float(limit), unit, message, severity, "at least"
    )
