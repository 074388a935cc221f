"""The flights of a sweep: every combination of the grid, each with every draw and every seed, in a fixed order."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any

import numpy as np

from quadsim.errors import InputError, Problem
from quadsim.sweep.axes import Axis, Drawn
from quadsim.sweep.keys import Key

MOST_FLIGHTS = 100_000


@dataclass(frozen=True)
class Cell:
    """One combination of the grid: craft, law, and values of the varied keys by their order."""

    number: int
    craft: str
    law: str
    values: tuple[Any, ...]


@dataclass(frozen=True)
class Case:
    """One flight. number : from 1, as printed; draw : from 0, in a scatter; changes : what is set in the files"""

    number: int
    cell: Cell
    draw: int
    seed: int
    changes: tuple[tuple[Key, Any], ...]


def grid(crafts: Sequence[str], laws: Sequence[str], axes: Sequence[Axis]) -> list[Cell]:
    """All combinations, the last axis running fastest."""
    combined = product(crafts, laws, *(axis.values for axis in axes))
    return [
        Cell(k, craft, law, values)
        for k, (craft, law, *values_) in enumerate(combined)
        for values in [tuple(values_)]
    ]


def all_cases(
    cells: Sequence[Cell], axes: Sequence[Axis], drawn: Sequence[Drawn], draws: np.ndarray, seeds: Sequence[int]
) -> list[Case]:  # fmt: skip
    """Every flight, cell by cell. Each cell has the same draws and the same seeds, so cells compare like with like.

    draws : (draws, keys) of a scatter, where the seed goes on with the draw; (1, 0) without one, where every cell has all seeds
    """
    check_count(len(cells), len(draws) if drawn or len(draws) > 1 else len(seeds))
    cases: list[Case] = []
    for cell in cells:
        set_ = tuple(
            one for axis, value in zip(axes, cell.values, strict=True) for one in axis.changes(value)
        )
        for draw, seed in _flown(len(draws), seeds):
            moved = tuple((one.key, value) for one, value in zip(drawn, draws[draw].tolist(), strict=True))
            cases.append(Case(len(cases) + 1, cell, draw, seed, set_ + moved))
    return cases


def _flown(draws: int, seeds: Sequence[int]) -> list[tuple[int, int]]:
    """(draw, seed) of each flight of a cell."""
    if draws > 1:
        return [(k, seeds[0] + k) for k in range(draws)]
    return [(0, seed) for seed in seeds]


def check_count(cells: int, each: int) -> None:
    """Refuse what would never end.

    Raises
    ------
    InputError
        above MOST_FLIGHTS.
    """
    if cells * each > MOST_FLIGHTS:
        given = f"{cells} combinations with {each} flights each are {cells * each} flights"
        raise InputError(
            [Problem("", given, f"at most {MOST_FLIGHTS}", "Vary fewer values, or scatter instead of a grid")]
        )


def combinations(axes: Sequence[Axis], crafts: int, laws: int) -> int:
    """How many cells a grid has."""
    return crafts * laws * math.prod(len(axis.values) for axis in axes)
