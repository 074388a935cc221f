"""A figure for each of some combinations that have no order (crafts, laws): every flight a dot, a bar from 5 to 95 %."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes

from quadsim.report import palette
from quadsim.report.sweep_words import key_words
from quadsim.sweep.axes import Axis
from quadsim.sweep.cases import Cell
from quadsim.sweep.outcome import Outcome

MOST_ROWS = 14


def draw_cells(ax: Axes, outcome: Outcome, label: str) -> None:
    """A row for each combination, the first on top; crosses are flights that did not pass."""
    cells = outcome.cells[:MOST_ROWS]
    for k, one in enumerate(cells):
        cases = [case for case in outcome.flown_cases if case.cell.number == one.cell.number]
        values = outcome.values(label, cases) if cases else np.empty(0)
        good = np.array([outcome.judged[case.number].passed for case in cases], dtype=bool)
        low, middle, high = one.figures[label]
        ax.plot((low, high), (k, k), color=palette.FLOWN, linewidth=5.0, alpha=0.25, zorder=2)
        ax.plot(middle, k, "|", color=palette.FLOWN, markersize=11, markeredgewidth=1.6, zorder=4)
        ax.plot(
            values[good],
            np.full(int(good.sum()), k),
            ".",
            color=palette.FLOWN,
            markersize=3.0,
            alpha=0.6,
            zorder=3,
        )
        ax.plot(
            values[~good], np.full(int((~good).sum()), k), "x", color=palette.ALARM, markersize=4.5, zorder=5
        )
        ax.annotate(
            _name(outcome, one.cell), (0.0, k), xycoords=("axes fraction", "data"), xytext=(-4, 0),
            textcoords="offset points", ha="right", va="center", fontsize=6.8, parse_math=False,
        )  # fmt: skip
    if len(outcome.cells) > MOST_ROWS:
        ax.set_xlabel(f"and {len(outcome.cells) - MOST_ROWS} more combinations", labelpad=2.0, loc="right")
    ax.set_yticks([])
    ax.set_ylim(len(cells) - 0.4, -0.6)


def _name(outcome: Outcome, cell: Cell) -> str:
    sweep = outcome.sweep
    words = [cell.craft] if len(sweep.base.crafts) > 1 else []
    words += [cell.law] if len(sweep.base.laws) > 1 else []
    return ", ".join(
        [*words, *(_value(axis, value) for axis, value in zip(sweep.axes, cell.values, strict=True))]
    )


def _value(axis: Axis, value: object) -> str:
    return f"{key_words(axis.key.name, axis.key.unit)} {value} {axis.key.unit}".rstrip()
