"""Gain map as a sheet: the safe region clear, what is stable but thin shaded, what is unstable hatched; the present gains, how
far each may go, and the figures beside it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

from quadsim.analysis.gain_axes import GainAxis
from quadsim.analysis.gain_edges import Best, Edge, best_point, edges
from quadsim.analysis.gain_map import GainMap
from quadsim.report import palette
from quadsim.report.gain_map_sidebar import THIN, draw_sidebar
from quadsim.report.numbers import figure as number
from quadsim.report.picture import save_picture

SIZE_IN = (11.7, 7.4)
MAP = (0.062, 0.085, 0.575, 0.775)
SIDE = (0.672, 0.085, 0.298, 0.775)
EQUAL_RATIO = 1.5
"""Between neighbouring lines of equal rejection."""
MOST_LINES = 8
TICKS = (1.0, 2.0, 5.0)


def draw_gain_map(found: GainMap, path: Path) -> Path:
    """Draw a map into a picture file.

    Raises
    ------
    InputError
        when the suffix names no kind of picture.
    FlightError
        when the file cannot be written.
    """
    return save_picture(lambda: gain_map_figure(found), path)


def gain_map_figure(found: GainMap) -> Figure:
    """The sheet as a figure."""
    figure, lines, best = Figure(figsize=SIZE_IN), edges(found), best_point(found)
    first, second = found.axes
    figure.text(
        MAP[0], 0.955, f"{found.craft}: {first.name} and {second.name}", fontsize=15, fontweight="bold", va="center",
        parse_math=False,
    )  # fmt: skip
    figure.text(
        MAP[0], 0.912, "The worst of all conditions named at the right, at each point. All other gains stay as they are.",
        fontsize=8.0, color=palette.INK_SOFT, va="center",
    )  # fmt: skip
    ax = figure.add_axes(MAP)
    _scales(ax, found.axes)
    _regions(ax, found)
    _equal_rejection(ax, found)
    _points(ax, found, lines, best)
    side = figure.add_axes(SIDE)
    draw_sidebar(side, found, lines, best)
    return figure


def _regions(ax: Axes, found: GainMap) -> None:
    """Unstable, thin and safe; each carries its word in the sidebar's key, and the unstable one hatching."""
    first, second = (axis.values for axis in found.axes)
    reserve = found.grid.reserve.T
    low, high = min(float(reserve.min()), 0.0) - 1.0, max(float(reserve.max()), 1.0) + 1.0
    colours = (palette.ALARM_PALE, THIN, palette.PAPER)
    ax.contourf(first, second, reserve, levels=(low, 0.0, 1.0, high), colors=colours, zorder=1)
    with matplotlib.rc_context({"hatch.color": "#dd8f80", "hatch.linewidth": 0.5}):
        ax.contourf(
            first, second, reserve, levels=(low, 0.0, high), colors="none", hatches=("////", None), zorder=1.2
        )
    if reserve.min() < 0.0 < reserve.max():
        ax.contour(first, second, reserve, levels=(0.0,), colors=palette.ALARM, linewidths=1.2, zorder=2)
    if reserve.min() < 1.0 < reserve.max():
        ax.contour(first, second, reserve, levels=(1.0,), colors=palette.INK, linewidths=1.4, zorder=2)


def _equal_rejection(ax: Axes, found: GainMap) -> None:
    """Lines of equal sway where it is stable; of equal crossover where no axis is moved."""
    first, second = (axis.values for axis in found.axes)
    sway = bool(np.any(np.isfinite(found.grid.sway_deg)))
    field = found.grid.sway_deg if sway else found.grid.crossover_Hz
    good = found.grid.stable & (field > 0.0)
    log = np.log(np.where(good, field, 1.0))
    if not np.any(good) or np.ptp(log[good]) < np.log(EQUAL_RATIO):
        return
    # what is near instability sways without bound: as many lines as tell something
    least = float(log[good].min())
    count = min(int((log[good].max() - least) / np.log(EQUAL_RATIO)), MOST_LINES)
    levels = least + np.log(EQUAL_RATIO) * (np.arange(count) + 0.5)
    shown = np.ma.masked_array(log, ~good)
    drawn = ax.contour(
        first, second, shown.T, levels=levels, colors=palette.FLOWN, linewidths=0.8, alpha=0.75, zorder=2, linestyles="solid"
    )  # fmt: skip
    unit = "deg" if sway else "Hz"
    texts = ax.clabel(
        drawn, fmt=lambda value: f"{number(float(np.exp(value)), 2)} {unit}", fontsize=7.0, inline_spacing=3,
        manual=_label_places(found, shown, levels),
    )  # fmt: skip
    for text in texts:
        text.set_color(palette.FLOWN)


def _label_places(found: GainMap, field: Any, levels: Any) -> list[tuple[float, float]]:
    """Where each line crosses a row near the bottom of the map, or a column near its left or right: away from the arrows."""
    first, second = (axis.values for axis in found.axes)
    row, column = len(second) // 8, len(first) // 8
    ways = [
        (first, field[:, row], lambda x: (x, float(second[row]))),
        (second, field[column, :], lambda y: (float(first[column]), y)),
        (second, field[-1 - column, :], lambda y: (float(first[-1 - column]), y)),
    ]
    places = []
    for level in levels:
        for values, line, place in ways:
            over = np.ma.filled(line > level, False)
            known = ~np.ma.getmaskarray(line)
            k = np.flatnonzero((over[1:] != over[:-1]) & known[1:] & known[:-1])
            if k.size:
                share = float((level - line[k[0]]) / (line[k[0] + 1] - line[k[0]]))
                places.append(place(float(values[k[0]] + share * (values[k[0] + 1] - values[k[0]]))))
                break
    return places


def _points(ax: Axes, found: GainMap, lines: list[Edge], best: Best | None) -> None:
    """The present gains, arrows to the edge of the safe region along each gain, and the best point."""
    here = found.axes[0].present, found.axes[1].present
    for line in lines:
        if line.kind == "safe" and line.value is not None:
            _arrow(ax, found.axes, line, here)
    ax.plot(
        *here,
        "o",
        color=palette.INK,
        markersize=7.5,
        markeredgecolor=palette.PAPER,
        markeredgewidth=1.2,
        zorder=8,
        clip_on=False,
    )
    _word(ax, here, "now", (8, 8))
    if best is not None:
        ax.plot(
            *best.values, "D", markerfacecolor="none", markeredgecolor=palette.FLOWN, markersize=8, markeredgewidth=1.6,
            zorder=8, clip_on=False,
        )  # fmt: skip
        left = _share(found.axes[0], best.values[0]) > 0.5
        high = _share(found.axes[1], best.values[1]) > 0.93
        low = _share(found.axes[1], best.values[1]) < 0.07
        shift = (-10 if left else 10, -16 if high else 24 if low else 0)
        _word(ax, best.values, "best rejection\nthat is safe", shift, left)


def _share(axis: GainAxis, value: float) -> float:
    """How far along an axis a value lies, 0 to 1."""
    scale = np.log if axis.logarithmic else float
    return float((scale(value) - scale(axis.low)) / (scale(axis.high) - scale(axis.low)))


def _arrow(ax: Axes, axes: tuple[GainAxis, GainAxis], line: Edge, here: tuple[float, float]) -> None:
    """From the present gains to the edge, as far as the map goes, with the distance at its end."""
    which = 0 if line.gain == axes[0].name else 1
    reached = float(np.clip(line.value or 0.0, axes[which].low, axes[which].high))
    end = (reached, here[1]) if which == 0 else (here[0], reached)
    ax.annotate(
        "", end, here,
        arrowprops={"arrowstyle": "-|>", "color": palette.INK, "linewidth": 1.1, "shrinkA": 4, "shrinkB": 0,
                    "mutation_scale": 9}, zorder=5,
    )  # fmt: skip
    text = f"{line.ratio_dB:+.1f} dB" if line.ratio_dB is not None else f"{number(line.value)} {line.unit}"
    if which == 0:
        left = line.way == "down" if 0.12 < _share(axes[0], end[0]) < 0.88 else line.way == "up"
        _word(ax, end, text, (-5 if left else 5, 7), left)
    else:
        low = line.way == "down" if 0.06 < _share(axes[1], end[1]) < 0.94 else line.way == "up"
        _word(ax, end, text, (7, -12 if low else 6))


def _word(
    ax: Axes, at: tuple[float, float], text: str, shift: tuple[int, int], to_left: bool = False
) -> None:
    ax.annotate(
        text, at, xytext=shift, textcoords="offset points", ha="right" if to_left else "left",
        va="center" if shift[1] == 0 else "baseline", fontsize=7.6, fontweight="bold", color=palette.INK, zorder=5.5,
        bbox={"boxstyle": "round,pad=0.15", "facecolor": palette.PAPER, "edgecolor": "none", "alpha": 0.8},
    )  # fmt: skip


def _scales(ax: Axes, axes: tuple[GainAxis, GainAxis]) -> None:
    """Axes with plain numbers, logarithmic where steps are ratios; guides through the present gains."""
    for axis, scale, side in zip(axes, (ax.set_xscale, ax.set_yscale), (ax.xaxis, ax.yaxis), strict=True):
        if axis.logarithmic:
            scale("log")
            side.set_major_locator(LogLocator(subs=TICKS))
            side.set_minor_formatter(NullFormatter())
        side.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    ax.axvline(axes[0].present, color=palette.INK_SOFT, linewidth=0.5, linestyle=(0, (1, 3)), zorder=2)
    ax.axhline(axes[1].present, color=palette.INK_SOFT, linewidth=0.5, linestyle=(0, (1, 3)), zorder=2)
    ax.grid(False)
    ax.tick_params(which="minor", length=1.5, color=palette.RULE)
    ax.tick_params(which="major", length=3.0, color=palette.INK_SOFT)
    ax.set_xlim(axes[0].low, axes[0].high)
    ax.set_ylim(axes[1].low, axes[1].high)
    ax.set_xlabel(_labelled(axes[0]), color=palette.INK, fontsize=8.5)
    ax.set_ylabel(_labelled(axes[1]), color=palette.INK, fontsize=8.5)


def _labelled(axis: GainAxis) -> str:
    return axis.name if axis.unit == "-" else f"{axis.name}, {axis.unit}"
