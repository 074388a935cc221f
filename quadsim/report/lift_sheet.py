"""Lift over payload on one sheet: hover throttle, command left for attitude, minutes, the chance of an attempt, and what the
interval comes from."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from quadsim.contest.lift import HARD, WORDS
from quadsim.contest.lift_flight import FlownLift
from quadsim.contest.lift_prediction import LiftPrediction
from quadsim.report import palette
from quadsim.report.contest_sheet import (
    TOP,
    contest_sheet,
    draw_contributions,
    flown_point,
    mark_answer,
    mark_words,
    panel_axes,
)
from quadsim.report.panel_head import head_panel
from quadsim.report.picture import save_picture

SIZE_IN = (8.3, 9.6)
HEIGHT, GAP = 0.119, 0.046
"""Of a panel and between two, shares of the sheet."""


def draw_lift(craft: str, found: LiftPrediction, flights: Sequence[FlownLift], path: Path) -> Path:
    """Draw a lift prediction, and its attempts if any were flown, into a picture file; raises as `save_picture` does."""
    return save_picture(lambda: lift_figure(craft, found, flights), path)


def lift_figure(craft: str, found: LiftPrediction, flights: Sequence[FlownLift] = ()) -> Figure:
    """The sheet as a figure."""
    low, high = (1e3 * one for one in found.spread.interval)
    lines = [
        f"{1e3 * found.payload:.0f} g with reserve, limited by: {WORDS[found.limited_by]}; band: {low:.0f} to {high:.0f} g, "
        "80 % probability",
        f"Fails at {1e3 * found.failure:.0f} g in still air: {HARD[found.failure_mode]}",
    ]
    figure = contest_sheet(SIZE_IN, f"{craft}: what it lifts", lines)
    curve = found.curve
    panels = (
        ("Hover throttle at the end of the hold", "%", 100.0 * curve.throttle),
        ("Command left for attitude", "%", 100.0 * curve.reserve),
        ("Hover until something gives out", "min", curve.minutes),
        ("Chance that an attempt in the gust holds", "%", 100.0 * curve.chance),
    )
    for k, (title, unit, values) in enumerate(panels):
        ax = panel_axes(figure, TOP - k * (HEIGHT + GAP), HEIGHT)
        head_panel(ax, title, unit)
        _draw(ax, found, 1e3 * curve.payload, values, named=k == 0)
        ax.tick_params(labelbottom=k == len(panels) - 1)
    ax.set_xlabel("payload, g", labelpad=2.0, loc="right")
    _draw_flown(ax, flights)
    draw_contributions(figure, found.spread, "g", 1e3, 0.165, 0.125)
    return figure


def _draw(
    ax: Axes, found: LiftPrediction, grams: NDArray[np.float64], values: NDArray[np.float64], named: bool
) -> None:
    rated, fails = 1e3 * found.payload, 1e3 * found.failure
    near = fails - rated < 0.14 * float(grams[-1])
    mark_answer(
        ax,
        [1e3 * one for one in found.spread.interval],
        rated,
        f"{rated:.0f} g" if named and not near else "",
    )
    ax.axvline(fails, color=palette.ALARM, linewidth=0.9, dashes=(4.0, 2.0), zorder=2.5)
    if named:
        mark_words(ax, fails, f"fails {fails:.0f} g", palette.ALARM)
    ax.plot(grams, values, color=palette.FLOWN, linewidth=1.5, zorder=3)
    ax.set_xlim(0.0, float(grams[-1]))
    top = float(np.nanmax(values)) if np.any(np.isfinite(values)) else 1.0
    ax.set_ylim(0.0, 1.08 * max(min(top, 100.0) if top > 50.0 else top, 1e-6))


def _draw_flown(ax: Axes, flights: Sequence[FlownLift]) -> None:
    """Attempts as flown: a ring where it held, a cross where it did not."""
    for one in flights:
        flown_point(ax, one.payload_g, 100.0 if one.held else 0.0, one.held)
    if flights:
        ax.text(
            1.0, 1.035, "flown: a ring held, a cross did not", transform=ax.transAxes, fontsize=7.0, ha="right",
            va="bottom", color=palette.WANTED,
        )  # fmt: skip
