"""What a measurement gives: numbers with their uncertainty, the keys of the craft file they belong to, what they rest on."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.config.craft_schema import Craft
from quadsim.config.quantity import Uncertain
from quadsim.environment.atmosphere import Site
from quadsim.measure.columns import Bench

Array = NDArray[np.float64]

APART = 2.0
"""Standard uncertainties of a difference from which two values are called different; common practice, no source."""

PROPELLER_CAUTION = (
    "A propeller on a stand is more dangerous than in flight: nothing gives way. Bolt the stand down, put a guard between you "
    "and the disc, keep out of its plane, everybody away, glasses on; never hold a motor in the hand. Cut the power before you "
    "reach in."
)
PACK_CAUTION = (
    "Lithium packs burn: discharge outdoors or on a fireproof ground, never unattended, stop at 3.3 V per cell loaded or at "
    "60 deg C, and let the pack cool before you charge it. Use a load and wires made for the current."
)
BENCH_CAUTION = "Pack unplugged, or propellers off, while you handle the craft."


@dataclass(frozen=True)
class Setup:
    """How it was measured, as far as the table does not say.

    craft : file that the results are compared with and written into, or None
    air_stated, pack_stated : false when the air is the standard one, the pack at 20 deg C, for want of a better
    measured_on : where a propeller ran, "free stand" or "own arm"
    current_at : where the current was measured, "esc input" or "motor"
    cells : cells in series, or None
    winding_C : temperature of a motor's winding on the bench [deg C]
    meter_pct : standard uncertainty of voltmeter and ammeter [% of the reading]
    timing_s, length_mm, scale_g : the same of one stopwatch timing, of a length, of one reading of the scales
    """

    craft: Craft | None = None
    site: Site = field(default_factory=Site)
    air_stated: bool = True
    pack_stated: bool = True
    measured_on: str = "free stand"
    current_at: str = "esc input"
    cells: int | None = None
    winding_C: float = 50.0
    meter_pct: float = 1.0
    timing_s: float = 0.2
    length_mm: float = 1.0
    scale_g: float = 1.0

    @property
    def cell_count(self) -> int | None:
        """Cells in series as stated, else the craft's."""
        if self.cells is not None or self.craft is None:
            return self.cells
        return self.craft.battery.cells


@dataclass(frozen=True)
class Found:
    """One number.

    sigma : standard uncertainty in `unit`; 0 when none is stated
    key : where it goes in a craft file; empty when it has no place there
    """

    name: str
    value: float
    sigma: float
    unit: str
    key: str = ""

    def texts(self) -> tuple[str, str]:
        """The value with as many decimals as its uncertainty deserves, and that with two digits; empty when there is none."""
        if not (self.sigma > 0.0 and math.isfinite(self.sigma)):
            return f"{self.value:.4g}" if abs(self.value) < 1e4 else f"{self.value:.0f}", ""
        decimals = min(max(1 - math.floor(math.log10(self.sigma)), 0), 8)
        return f"{self.value:.{decimals}f}", f"{self.sigma:.{decimals}f}"


@dataclass(frozen=True)
class LeftOut:
    """A row that was not used, and why."""

    row: str
    why: str


@dataclass(frozen=True)
class Panel:
    """One picture: points (used or not), the fitted line, residuals below it; and perhaps what the craft file would give."""

    title: str
    x_label: str
    y_label: str
    x: Array
    y: Array
    used: NDArray[np.bool_]
    line_x: Array
    line_y: Array
    residual: Array | None = None
    residual_label: str = ""
    logarithmic: bool = False
    plan: bool = False
    """Both axes are places, to one scale."""
    before_x: Array | None = None
    before_y: Array | None = None


@dataclass(frozen=True)
class Result:
    """A measurement, worked out.

    entries : dotted key of a craft file -> its value (number, `Uncertain`, text, true or false, list of tables)
    rests_on, warnings, cautions : sentences
    before : what the craft had, by key (by name where a number has no key); None where it states nothing and has no default
    """

    kind: str
    source: str
    found: tuple[Found, ...]
    entries: Mapping[str, Any]
    used: int
    rows: int
    left_out: tuple[LeftOut, ...]
    rests_on: tuple[str, ...]
    warnings: tuple[str, ...]
    cautions: tuple[str, ...]
    panels: tuple[Panel, ...]
    before: Mapping[str, Uncertain | None] = field(default_factory=dict)

    def differs(self, one: Found) -> bool | None:
        """Whether a number is apart from the craft file's by more than both uncertainties allow; None without one to compare."""
        had = self.before.get(one.key or one.name)
        if had is None or not math.isfinite(one.sigma):
            return None
        allowed = APART * math.hypot(one.sigma, had.sigma)
        return abs(one.value - had) > max(allowed, 1e-9 * abs(had))


class Notebook:
    """Collects a result while it is worked out."""

    def __init__(self, kind: str, bench: Bench) -> None:
        self.kind, self.bench = kind, bench
        self.found: list[Found] = []
        self.entries: dict[str, Any] = {}
        self.left: dict[int, str] = {}
        self.rests: list[str] = []
        self.warnings: list[str] = []
        self.panels: list[Panel] = []
        self.before: dict[str, Uncertain | None] = {}

    def add(
        self, name: str, value: float, sigma: float, unit: str, key: str = "", write: bool = True
    ) -> None:
        """Note a number; with a key it is written into the craft file unless `write` is false."""
        self.found.append(Found(name, float(value), float(sigma), unit, key))
        if key and write:
            self.entries[key] = Uncertain(float(value), float(sigma))

    def leave_out(self, k: int, why: str) -> None:
        """Leave a row out; the first reason stands."""
        self.left.setdefault(int(k), why)

    def result(self, craft: Craft | None, cautions: tuple[str, ...]) -> Result:
        """All of it, beside what the craft had."""
        before: dict[str, Uncertain | None] = dict(self.before)
        if craft is not None:
            for one in self.found:
                if one.key and one.key not in before:
                    before[one.key] = stated(craft, one.key)
        left = tuple(LeftOut(self.bench.row(k), why) for k, why in sorted(self.left.items()))
        return Result(
            self.kind, self.bench.source, tuple(self.found), dict(self.entries), len(self.bench) - len(left), len(self.bench),
            left, tuple(self.rests), tuple(self.warnings), cautions, tuple(self.panels), before,
        )  # fmt: skip


def stated(craft: Craft, key: str) -> Uncertain | None:
    """The number that a craft has at a dotted key, default included; None when there is none."""
    value: Any = craft
    for step in key.split("."):
        value = getattr(value, step, None)
        if value is None:
            return None
    return value if isinstance(value, Uncertain) else None
