"""A figure over two keys as a map: shades of the median in each combination, crosses where not all flights pass."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap

from quadsim.report import palette
from quadsim.report.numbers import figure as number
from quadsim.sweep.outcome import InCell, Outcome

SHADES = LinearSegmentedColormap.from_list("sweep", ["#f4f7fb", "#7fa6d0", palette.FLOWN])
"""One hue from pale to dark: it reads the same for every kind of colour vision."""
MOST_WRITTEN = 80
"""Combinations up to which each has its number written in."""


def draw_map(ax: Axes, outcome: Outcome, label: str) -> None:
    """The first varied key upward, the second along; a line between combinations that pass and those that do not."""
    up, along = [axis for axis in outcome.sweep.axes if axis.numeric][:2]
    places = [k for k, axis in enumerate(outcome.sweep.axes) if axis.numeric][:2]
    rows, columns = sorted(up.values), sorted(along.values)
    values = np.full((len(rows), len(columns)), np.nan)
    passing = np.full(values.shape, np.nan)
    for one in outcome.cells:
        k, j = rows.index(one.cell.values[places[0]]), columns.index(one.cell.values[places[1]])
        values[k, j] = _worse(values[k, j], one.figures[label][1])
        passing[k, j] = np.fmin(passing[k, j], _share(one))
    ax.imshow(values, origin="lower", aspect="auto", cmap=SHADES, zorder=1)
    _write(ax, values, passing)
    _edge(ax, passing >= 0.5)
    ax.grid(False)
    ax.set_xticks(range(len(columns)), [f"{one:.5g}" for one in columns])
    ax.set_yticks(range(len(rows)), [f"{one:.5g}" for one in rows])
    ax.set_xlabel(_titled(along.key.name, along.key.unit), labelpad=2.0, loc="right", parse_math=False)
    ax.set_ylabel(_titled(up.key.name, up.key.unit), labelpad=2.0, loc="top", fontsize=6.5, parse_math=False)


def _worse(a: float, b: float) -> float:
    """Of combinations that fall on the same place (crafts, laws, further keys) the greater one is shown."""
    return float(np.fmax(a, b))


def _share(one: InCell) -> float:
    return one.share.share


def _titled(name: str, unit: str) -> str:
    return f"{name}, {unit}" if unit else name


def _write(ax: Axes, values: np.ndarray, passing: np.ndarray) -> None:
    """Each number in its place, dark on pale or pale on dark, with a cross where not all flights pass."""
    if values.size > MOST_WRITTEN:
        bad = np.argwhere(passing < 1.0)
        ax.plot(bad[:, 1], bad[:, 0], "x", color=palette.ALARM, markersize=3.5, zorder=3)
        return
    known = values[np.isfinite(values)]
    middle = 0.5 * (known.min() + known.max()) if known.size else 0.0
    for (k, j), value in np.ndenumerate(values):
        colour = palette.PAPER if np.isfinite(value) and value > middle else palette.INK
        mark = " ×" if passing[k, j] < 1.0 else ""
        ax.text(j, k, number(value) + mark, ha="center", va="center", fontsize=6.5, color=colour, zorder=4)


def _edge(ax: Axes, good: np.ndarray) -> None:
    """A line around the combinations in which half of the flights or more pass."""
    for (k, j), here in np.ndenumerate(good):
        if j + 1 < good.shape[1] and here != good[k, j + 1]:
            ax.plot([j + 0.5, j + 0.5], [k - 0.5, k + 0.5], color=palette.ALARM, linewidth=1.6, zorder=5)
        if k + 1 < good.shape[0] and here != good[k + 1, j]:
            ax.plot([j - 0.5, j + 0.5], [k + 0.5, k + 0.5], color=palette.ALARM, linewidth=1.6, zorder=5)
