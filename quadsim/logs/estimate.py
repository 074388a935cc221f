"""One thing that a log says about the craft: a number with its standard error, beside what the craft file says."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

AGREE = 2.0
"""Combined standard uncertainties within which log and craft file agree; common practice (JCGM 100:2008, 6.3.3)."""
TELLS = 1.0
"""The log tells when its standard error is under so much of what the craft file leaves open; our choice."""


@dataclass(frozen=True)
class Key:
    """A key of the craft file with the value that would make the model agree; a vector is written as one."""

    name: str
    value: float | tuple[float, ...]
    sigma: float = 0.0


@dataclass(frozen=True)
class Estimate:
    """What a log says about one property.

    name : short, for JSON; words : for people
    value, sigma : from the log; expected, expected_sigma : of the craft file; all in `unit`
    why : where the standard error comes from, part by part
    key : the craft file's key that would make the model agree; None where there is none
    caution : what it rests on, or what it cannot keep apart
    """

    name: str
    words: str
    value: float
    sigma: float
    expected: float
    expected_sigma: float
    unit: str = ""
    why: dict[str, float] = field(default_factory=dict)
    key: Key | None = None
    caution: str = ""

    @property
    def apart(self) -> float:
        """Difference in combined standard uncertainties."""
        return (self.value - self.expected) / math.hypot(self.sigma, self.expected_sigma, 1e-300)

    @property
    def differs(self) -> float:
        """Difference from the craft file in standard errors of the log alone."""
        return (self.value - self.expected) / max(self.sigma, 1e-300)

    @property
    def tells(self) -> bool:
        """Whether the log says more than the craft file already does."""
        return self.sigma < TELLS * self.expected_sigma

    @property
    def verdict(self) -> str:
        """`agrees`; `corrects`: off the file's number, within what it leaves open; `contradicts`: beyond that; `cannot tell`."""
        if abs(self.apart) > AGREE:
            return "contradicts"
        if not self.tells:
            return "cannot tell"
        return "agrees" if abs(self.differs) <= AGREE else "corrects"


@dataclass(frozen=True)
class Untold:
    """What the log does not say, why, and the flight that would."""

    name: str
    words: str
    why: str
    flight: str


def combined(parts: dict[str, float]) -> float:
    """Standard uncertainty of independent parts."""
    return math.sqrt(sum(part * part for part in parts.values()))
