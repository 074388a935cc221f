"""A figure over two keys as a map: shades of the median in each combination, crosses where not all flights pass."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap

from quadsim.report import palette
from quadsim.report.numbers import figure as number
from quadsim.report.sweep_words import with_unit
from quadsim.sweep.cases import Case
from quadsim.sweep.outcome import PASSES, Outcome
from quadsim.sweep.statistics import quantiles

SHADES = LinearSegmentedColormap.from_list("sweep", ["#f4f7fb", "#7fa6d0", palette.FLOWN])
"""One hue from pale to dark: it reads the same for every kind of colour vision."""
MOST_TICKS = 10
MOST_WRITTEN = 80
"""Combinations up to which each has its number written in."""


def draw_map(ax: Axes, outcome: Outcome, label: str) -> None:
    """The first varied key upward, the second along; a line between combinations that pass and those that do not.

    Flights of all crafts, laws and further keys that fall on the same place count together.
    """
    places = [k for k, axis in enumerate(outcome.sweep.axes) if axis.numeric][:2]
    up, along = (outcome.sweep.axes[k] for k in places)
    rows, columns = sorted(up.values), sorted(along.values)
    there: dict[tuple[int, int], list[Case]] = {}
    for case in outcome.flown_cases:
        k, j = rows.index(case.cell.values[places[0]]), columns.index(case.cell.values[places[1]])
        there.setdefault((k, j), []).append(case)
    values = np.full((len(rows), len(columns)), np.nan)
    passing = np.full(values.shape, np.nan)
    for at, cases in there.items():
        values[at] = quantiles(outcome.values(label, cases))[1]
        passing[at] = np.mean(outcome.values(PASSES, cases))
    ax.imshow(values, origin="lower", aspect="auto", cmap=SHADES, zorder=1)
    _write(ax, values, passing)
    _edge(ax, passing)
    ax.grid(False)
    ax.set_xticks(*_ticks(columns))
    ax.set_yticks(*_ticks(rows))
    ax.set_xlabel(with_unit(along.key), labelpad=2.0, loc="right", parse_math=False)
    ax.set_ylabel(with_unit(up.key), labelpad=2.0, loc="top", fontsize=6.5, parse_math=False)


def _ticks(values: Sequence[float]) -> tuple[list[int], list[str]]:
    """Places and words of the ticks: all values, or every so many of them where they would run into one another."""
    places = range(0, len(values), -(-len(values) // MOST_TICKS))
    return list(places), [f"{values[k]:.4g}" for k in places]


def _write(ax: Axes, values: np.ndarray, passing: np.ndarray) -> None:
    """Each number in its place, dark on pale or pale on dark, with a cross where not all flights pass."""
    known = values[np.isfinite(values)]
    if values.size > MOST_WRITTEN:
        bad = np.argwhere(passing < 1.0)
        ax.plot(bad[:, 1], bad[:, 0], "x", color=palette.ALARM, markersize=3.5, zorder=3)
        if known.size:
            words = f"pale {number(known.min())} to dark {number(known.max())}"
            ax.set_title(words, loc="right", fontsize=6.5, color=palette.INK_SOFT, pad=3.0)
        return
    middle = 0.5 * (known.min() + known.max()) if known.size else 0.0
    for (k, j), value in np.ndenumerate(values):
        colour = palette.PAPER if np.isfinite(value) and value > middle else palette.INK
        mark = " ×" if passing[k, j] < 1.0 else ""
        ax.text(j, k, number(value) + mark, ha="center", va="center", fontsize=6.5, color=colour, zorder=4)


def _edge(ax: Axes, passing: np.ndarray) -> None:
    """A line around the combinations in which half of the flights or more pass; none beside one without a flight."""
    good, known = passing >= 0.5, np.isfinite(passing)
    for k, j in np.ndindex(good.shape):
        for further, ends in (
            ((k, j + 1), ((j + 0.5, j + 0.5), (k - 0.5, k + 0.5))),
            ((k + 1, j), ((j - 0.5, j + 0.5), (k + 0.5, k + 0.5))),
        ):
            inside = further[0] < good.shape[0] and further[1] < good.shape[1]
            if inside and known[k, j] and known[further] and good[k, j] != good[further]:
                ax.plot(*ends, color=palette.ALARM, linewidth=1.6, zorder=5)
