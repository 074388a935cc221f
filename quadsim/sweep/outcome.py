"""What came of a sweep: how many passed, what the figures are, what matters most, where it stops passing, the worst flight."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.sweep.cases import Case, Cell
from quadsim.sweep.influence import Influences, Input, influences
from quadsim.sweep.pilot import Flown
from quadsim.sweep.statistics import quantiles, wilson
from quadsim.sweep.sweep import Sweep
from quadsim.sweep.verdicts import Judged, judge

Array = NDArray[np.float64]
PASSES = "passes"
"""Name of the verdict where it is treated as a figure, 1 or 0."""


@dataclass(frozen=True)
class Share:
    """How many of how many passed, and the interval of the share that would."""

    passed: int
    flown: int

    @property
    def interval(self) -> tuple[float, float]:
        """95 %, Wilson's."""
        return wilson(self.passed, self.flown)

    @property
    def share(self) -> float:
        """Share that passed; NaN without a flight."""
        return self.passed / self.flown if self.flown else float("nan")


@dataclass(frozen=True)
class Figure:
    """One figure over all flights: 5 %, median, 95 %, and the flights with its least and greatest value."""

    label: str
    low: float
    middle: float
    high: float
    least: tuple[int, float] | None
    greatest: tuple[int, float] | None


@dataclass(frozen=True)
class InCell:
    """One combination of the grid: how many passed, and each shown figure's quantiles (5 %, median, 95 %)."""

    cell: Cell
    share: Share
    refused: int
    figures: dict[str, tuple[float, float, float]]


@dataclass(frozen=True)
class Outcome:
    """A sweep with what has been flown of it; `judged` by number of the case, in order."""

    sweep: Sweep
    judged: dict[int, Judged]
    refused: tuple[Flown, ...]

    @property
    def left(self) -> int:
        """Flights that have not been flown."""
        return len(self.sweep.cases) - len(self.judged) - len(self.refused)

    @property
    def share(self) -> Share:
        """Of all flights."""
        return _share(self.judged.values())

    @property
    def missed(self) -> list[tuple[str, int]]:
        """What was missed and by how many flights, the most frequent first."""
        counts: dict[str, int] = {}
        for one in self.judged.values():
            for what in (*(() if one.ended else (f"ended {one.flown.status}",)), *one.failed):
                counts[what] = counts.get(what, 0) + 1
        return sorted(counts.items(), key=lambda item: -item[1])

    @property
    def worst(self) -> Judged | None:
        """The worst flight by the expectations; None where every flight is as good, or the file expects nothing."""
        found = list(self.judged.values())
        if not found or (not self.sweep.flight.expect and all(one.passed for one in found)):
            return None
        return max(found, key=lambda one: one.badness)

    def values(self, label: str, cases: Sequence[Case] | None = None) -> Array:
        """A figure of each flown case, in order; `passes` is 1 or 0."""
        flown = [self.judged[case.number] for case in cases or self.flown_cases]
        if label == PASSES:
            return np.array([float(one.passed) for one in flown])
        return np.array([one.flown.figures[label] for one in flown], dtype=float)

    @cached_property
    def flown_cases(self) -> list[Case]:
        """The cases that were flown, in order."""
        return [case for case in self.sweep.cases if case.number in self.judged]

    @cached_property
    def figures(self) -> list[Figure]:
        """The shown figures over all flights."""
        return [self._figure(label) for label in self.sweep.shown]

    def _figure(self, label: str) -> Figure:
        values, cases = self.values(label), self.flown_cases
        known = np.isfinite(values)
        ends = None, None
        if known.any():
            ends = tuple(  # type: ignore[assignment]
                (cases[k].number, float(values[k]))
                for k in (int(np.nanargmin(values)), int(np.nanargmax(values)))
            )
        return Figure(label, *quantiles(values), *ends)

    @cached_property
    def cells(self) -> list[InCell]:
        """Every combination of the grid, in order."""
        by_cell: dict[int, list[Case]] = {cell.number: [] for cell in self.sweep.cells}
        refused = dict.fromkeys(by_cell, 0)
        cell_of = {case.number: case.cell.number for case in self.sweep.cases}
        for case in self.flown_cases:
            by_cell[case.cell.number].append(case)
        for flown in self.refused:
            refused[cell_of[flown.number]] += 1
        return [self._in_cell(cell, by_cell[cell.number], refused[cell.number]) for cell in self.sweep.cells]

    def _in_cell(self, cell: Cell, cases: list[Case], refused: int) -> InCell:
        share = _share(self.judged[case.number] for case in cases)
        nothing = (float("nan"),) * 3
        figures = {
            label: quantiles(self.values(label, cases)) if cases else nothing for label in self.sweep.shown
        }
        return InCell(cell, share, refused, figures)

    def influences(self, label: str) -> Influences | None:
        """What matters for a figure; None where it cannot be told."""
        if not self.judged:
            return None
        return influences(label, self.inputs, self.values(label), 1.0 if label == PASSES else math.inf)

    @cached_property
    def inputs(self) -> list[Input]:
        """Everything that was varied in numbers, case by case."""
        cases = self.flown_cases
        found = []
        for k, axis in enumerate(self.sweep.axes):
            if axis.numeric and len(axis.values) > 1:
                values = np.array([float(case.cell.values[k]) for case in cases])
                found.append(
                    Input(axis.key.name, axis.key.unit, float(max(axis.values) - min(axis.values)), values)
                )
        set_ = sum(len(axis.keys) for axis in self.sweep.axes)
        for k, one in enumerate(self.sweep.drawn, start=set_):
            values = np.array([float(case.changes[k][1]) for case in cases])
            found.append(Input(one.key.name, one.key.unit, one.sigma, values))
        return found

    def case(self, number: int) -> Case:
        """The case with this number."""
        return self.sweep.cases[number - 1]


def outcome(sweep: Sweep, flown: Iterable[Flown]) -> Outcome:
    """Judge what was flown, in the order of the cases."""
    in_order = sorted(flown, key=lambda one: one.number)
    judged = {
        one.number: judge(one, sweep.flight.expect, sweep.flight.ends) for one in in_order if not one.refused
    }
    return Outcome(sweep, judged, tuple(one for one in in_order if one.refused))


def _share(judged: Iterable[Judged]) -> Share:
    found = [one.passed for one in judged]
    return Share(sum(found), len(found))


def edges(values: Sequence[Any], shares: Sequence[Share]) -> list[tuple[Any, Any]]:
    """Neighbouring values of an axis between which flights stop, or begin, to pass: half or more of them on one side, fewer on
    the other. Values without a flight are passed over."""
    known = [(value, one.share >= 0.5) for value, one in zip(values, shares, strict=True) if one.flown]
    return [(a, b) for (a, good), (b, next_good) in pairwise(known) if good != next_good]
