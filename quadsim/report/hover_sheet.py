"""A hover on one sheet: voltage and throttle until the battery is down, both ends marked, and what the interval comes from."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from quadsim.contest.hover_flight import FlownHover
from quadsim.contest.hover_prediction import HoverPrediction
from quadsim.report import palette
from quadsim.report.contest_sheet import (
    TOP,
    contest_sheet,
    draw_contributions,
    mark_answer,
    mark_words,
    panel_axes,
)
from quadsim.report.panel_head import head_panel
from quadsim.report.picture import save_picture

SIZE_IN = (8.3, 7.4)
AVERAGED = 25
"""Rows of the log per point: 5 s, for the throttle is restless."""
LAST = 1.01
"""Time that is drawn of a flight, over the predicted time to the cut-off."""


def draw_hover(craft: str, found: HoverPrediction, flights: Sequence[FlownHover], path: Path) -> Path:
    """Draw a hover prediction, and its flight if there is one, into a picture file; raises as `save_picture` does."""
    return save_picture(lambda: hover_figure(craft, found, flights), path)


def hover_figure(craft: str, found: HoverPrediction, flights: Sequence[FlownHover] = ()) -> Figure:
    """The sheet as a figure."""
    low, high = found.spread.interval
    load = f" with {1e3 * found.payload:.0f} g" if found.payload else ""
    ended = f"{found.at_end.minutes:.1f} min, ended by {found.at_end.limited_by}"
    used = (
        f"{100.0 * (1.0 - found.end.reserve):.0f} % of the capacity or {found.end.cell_V:g} V per cell loaded"
    )
    lines = [
        f"{ended}; band: {low:.1f} to {high:.1f} min, 80 % probability",
        f"The rule: {used}, whichever comes first. Still air, far from the ground.",
    ]
    figure = contest_sheet(SIZE_IN, f"{craft}: how long it hovers{load}", lines)
    flown = flights[0].log if flights else None
    down, height = found.run_down, 0.24
    panels = (
        ("Loaded voltage of a cell", "V", down.cell_V, None if flown is None else flown.cell_V),
        ("Throttle", "%", 100.0 * down.throttle, None if flown is None else 100.0 * flown.throttle),
    )
    for k, (title, unit, values, seen) in enumerate(panels):
        ax = panel_axes(figure, TOP - 0.03 - k * (height + 0.06), height)
        head_panel(ax, title, unit)
        _draw(ax, found, values, named=k == 0)
        if flown is not None and seen is not None:
            _draw_flown(ax, found, flown.minutes, seen, named=k == 1)
        ax.tick_params(labelbottom=k == 1)
        if k == 0:
            _voltages(ax, found)
        else:
            ax.set_ylim(0.0, max(1.1 * float(np.max(values)), 50.0))
    ax.set_xlabel("minutes from a full battery", labelpad=2.0, loc="right")
    draw_contributions(figure, found.spread, "min", 1.0, 0.205, 0.165)
    return figure


def _draw(ax: Axes, found: HoverPrediction, values: NDArray[np.float64], named: bool) -> None:
    """The prediction, solid to the stated end and dashed beyond it, with both ends."""
    minutes, end, last = found.run_down.minutes, found.at_end.minutes, found.at_cut_off.minutes
    within = minutes <= end
    mark_answer(ax, found.spread.interval, end, f"stated end {end:.1f} min" if named else "")
    ax.axvline(last, color=palette.ALARM, linewidth=0.9, dashes=(4.0, 2.0), zorder=2.5)
    if named and last - end > 0.12 * last:
        mark_words(ax, last, f"cut-off {last:.1f} min", palette.ALARM)
    ax.plot(minutes[within], values[within], color=palette.FLOWN, linewidth=1.6, zorder=3)
    ax.plot(
        minutes[~within], values[~within], color=palette.FLOWN, linewidth=1.2, dashes=(3.0, 2.0), zorder=3
    )
    ax.set_xlim(0.0, 1.06 * max(last, found.spread.interval[1]))


def _draw_flown(
    ax: Axes, found: HoverPrediction, minutes: NDArray[np.float64], values: NDArray[np.float64], named: bool
) -> None:
    """Means over AVERAGED rows of the log, up to just beyond the cut-off."""
    rows = len(minutes) // AVERAGED * AVERAGED
    means = (one[:rows].reshape(-1, AVERAGED).mean(axis=1) for one in (minutes, values))
    at, mean = means
    shown = at <= LAST * found.at_cut_off.minutes
    ax.plot(at[shown], mean[shown], color=palette.WANTED, linewidth=2.6, alpha=0.7, zorder=2.8)
    if named:
        ax.text(
            1.0,
            1.035,
            "ochre: as flown",
            transform=ax.transAxes,
            fontsize=7.0,
            ha="right",
            va="bottom",
            color=palette.WANTED,
        )


def _voltages(ax: Axes, found: HoverPrediction) -> None:
    """The voltage that ends it, and room around the curve."""
    cell = found.run_down.cell_V
    low, high = min(float(np.min(cell)), found.end.cell_V), float(np.max(cell))
    ax.axhline(found.end.cell_V, color=palette.INK_SOFT, linewidth=0.7, dashes=(4.0, 2.0), zorder=2)
    ax.annotate(
        f"{found.end.voltage} {found.end.cell_V:g} V", (0.006, found.end.cell_V), xycoords=ax.get_yaxis_transform(),
        xytext=(0, 2), textcoords="offset points", fontsize=7.0, va="bottom", color=palette.INK_SOFT,
    )  # fmt: skip
    ax.set_ylim(low - 0.08 * (high - low), high + 0.08 * (high - low))
