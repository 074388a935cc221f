"""Lift over payload on one sheet: hover throttle, command left for attitude, minutes, and the chance of an attempt."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from quadsim.contest.lift_prediction import LiftPrediction
from quadsim.report import palette
from quadsim.report.panel_head import head_panel
from quadsim.report.picture import save_picture

SIZE_IN = (8.3, 8.2)
LEFT, RIGHT, TOP, BOTTOM, GAP = 0.07, 0.97, 0.87, 0.07, 0.055
"""Edges of the panels and the gap between two, shares of the sheet."""


def draw_lift(craft: str, found: LiftPrediction, path: Path) -> Path:
    """Draw a lift prediction into a picture file.

    Raises
    ------
    InputError
        when the suffix names no kind of picture.
    FlightError
        when the file cannot be written.
    """
    return save_picture(lambda: lift_figure(craft, found), path)


def lift_figure(craft: str, found: LiftPrediction) -> Figure:
    """The sheet as a figure."""
    figure = Figure(figsize=SIZE_IN)
    figure.text(LEFT, 0.955, f"{craft}: what it lifts", color=palette.INK, fontsize=13, weight="bold")
    words = f"{1e3 * found.payload:.0f} g with reserve, fails at {1e3 * found.failure:.0f} g in still air; "
    low, high = (1e3 * one for one in found.spread.interval)
    words += f"band: {low:.0f} to {high:.0f} g with reserve, 80 % probability"
    figure.text(LEFT, 0.928, words, color=palette.INK, fontsize=8)
    curve = found.curve
    panels = (
        ("Hover throttle at the end of the hold", "%", 100.0 * curve.throttle),
        ("Command left for attitude", "%", 100.0 * curve.reserve),
        ("Hover until something gives out", "min", curve.minutes),
        ("Chance that an attempt in the gust holds", "%", 100.0 * curve.chance),
    )
    height = (TOP - BOTTOM - GAP * (len(panels) - 1)) / len(panels)
    for k, (title, unit, values) in enumerate(panels):
        bottom = TOP - (k + 1) * height - k * GAP
        ax = figure.add_axes((LEFT, bottom, RIGHT - LEFT, height))
        head_panel(ax, title, unit)
        _draw(ax, found, 1e3 * curve.payload, values)
        if k == len(panels) - 1:
            ax.set_xlabel("payload, g", labelpad=2.0, loc="right")
        else:
            ax.tick_params(labelbottom=False)
    return figure


def _draw(ax: Axes, found: LiftPrediction, grams: NDArray[np.float64], values: NDArray[np.float64]) -> None:
    ax.axvspan(*(1e3 * one for one in found.spread.interval), color=palette.RULE, alpha=0.5, linewidth=0)
    ax.plot(grams, values, color=palette.FLOWN, linewidth=1.4)
    for payload, style in ((found.payload, "-"), (found.failure, "--")):
        ax.axvline(1e3 * payload, color=palette.INK, linewidth=0.8, linestyle=style)
    ax.set_xlim(0.0, float(grams[-1]))
    top = float(np.nanmax(values)) if np.any(np.isfinite(values)) else 1.0
    ax.set_ylim(0.0, 1.08 * max(min(top, 100.0) if top > 50.0 else top, 1e-6))
