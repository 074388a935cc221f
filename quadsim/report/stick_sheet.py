"""One sheet on the sticks: what they ask for over their travel, before and after, and what a recorded trace makes of it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from quadsim.analysis.stick_response import StickCurves, TraceResponse
from quadsim.report import palette
from quadsim.report.panel_head import head_panel
from quadsim.report.picture import save_picture

SIZE_IN = (11.0, 7.2)
LOOKS = (
    {"color": palette.REAR, "linewidth": 1.2, "dashes": (4.0, 2.0)},
    {"color": palette.FLOWN, "linewidth": 1.7},
)
"""Before: grey and dashed; after: blue and full."""


def draw_sticks(
    craft: str, curves: Sequence[StickCurves], flown: Sequence[TraceResponse], path: Path
) -> Path:
    """Draw two settings of a craft's sticks, and their flights on one trace, into a picture file.

    Raises
    ------
    InputError
        when the suffix names no kind of picture.
    FlightError
        when the file cannot be written.
    """
    return save_picture(lambda: stick_figure(craft, curves, flown), path)


def stick_figure(craft: str, curves: Sequence[StickCurves], flown: Sequence[TraceResponse]) -> Figure:
    """The sheet as a figure."""
    figure = Figure(figsize=SIZE_IN)
    figure.text(
        0.05, 0.955, f"{craft}: what the sticks ask for", fontsize=15, fontweight="bold", va="center", parse_math=False
    )  # fmt: skip
    for k, one in enumerate(curves):
        x = 0.70 + 0.14 * k
        look = LOOKS[k]
        figure.add_artist(matplotlib.lines.Line2D((x, x + 0.03), (0.955, 0.955), **look))  # type: ignore[arg-type]
        figure.text(x + 0.036, 0.955, one.name, fontsize=8.5, va="center", color=look["color"])
    panels = (
        ("Roll and pitch rate", "deg/s", "travel_pct", "rate_deg_s", "stick, %"),
        ("Yaw rate", "deg/s", "travel_pct", "yaw_deg_s", "stick, %"),
        ("Thrust over weight", "", "throttle_pct", "weights", "throttle stick, %"),
    )
    for k, (title, unit, x_name, y_name, label) in enumerate(panels):
        ax = figure.add_axes((0.05 + 0.325 * k, 0.54, 0.28, 0.33))
        head_panel(ax, title, unit)
        _lines(ax, [(getattr(c, x_name), getattr(c, y_name)) for c in curves])
        ax.set_xlabel(label, labelpad=2.0, loc="right")
        if x_name == "travel_pct":
            ax.set_xlim(-100.0, 100.0)
            ax.axhline(0.0, color=palette.RULE, linewidth=0.8, zorder=1)
            ax.axvline(0.0, color=palette.RULE, linewidth=0.8, zorder=1)
        else:
            ax.set_xlim(0.0, 100.0)
            ax.set_ylim(bottom=0.0)
            _mark_hover(ax, curves)
    _draw_trace(figure, flown)
    return figure


def _lines(ax: Axes, pairs: Sequence[tuple[np.ndarray, np.ndarray]]) -> None:
    for look, (x, y) in zip(LOOKS, pairs, strict=False):
        ax.plot(x, y, zorder=3, **look)  # type: ignore[arg-type]


def _mark_hover(ax: Axes, curves: Sequence[StickCurves]) -> None:
    """Where each setting hovers, on the line of one weight."""
    ax.axhline(1.0, color=palette.WANTED, linewidth=0.8, dashes=(1.5, 1.5), zorder=2)
    for look, one in zip(LOOKS, curves, strict=False):
        at = one.figures["hover_stick_pct"]
        ax.plot([at], [1.0], "o", markersize=4.5, color=look["color"], zorder=4)
    shift = curves[-1].figures["hover_stick_pct"]
    ax.annotate(
        f"hovers at {shift:.0f} %", (shift, 1.0), xytext=(6, -4), textcoords="offset points", fontsize=7.0, va="top",
        color=palette.FLOWN,
    )  # fmt: skip


def _draw_trace(figure: Figure, flown: Sequence[TraceResponse]) -> None:
    """What was asked and flown over time, with the stick above."""
    first = flown[0]
    stick = figure.add_axes((0.05, 0.375, 0.93, 0.075))
    head_panel(stick, f"A recorded trace: {first.axis} stick", "%")
    stick.plot(first.t_s, 100.0 * first.stick, color=palette.INK_SOFT, linewidth=1.0, drawstyle="steps-post")
    stick.set_ylim(-110.0, 110.0)
    stick.set_yticks([-100.0, 0.0, 100.0])
    stick.tick_params(labelbottom=False)
    ax = figure.add_axes((0.05, 0.065, 0.93, 0.245))
    noun = "rate" if first.unit == "deg/s" else "angle"
    head_panel(ax, f"{first.axis.capitalize()} {noun} flown", first.unit)
    asked = flown[-1]
    ax.plot(
        asked.t_s, asked.asked, color=palette.WANTED, linewidth=0.9, zorder=2.5, label=f"asked, {asked.name}"
    )
    _lines(ax, [(one.t_s, one.flown) for one in flown])
    ax.annotate(
        f"ochre: asked, {asked.name}", (1.0, 1.035), xycoords="axes fraction", fontsize=7.0, ha="right", va="bottom",
        color=palette.WANTED,
    )  # fmt: skip
    for each in (stick, ax):
        each.set_xlim(first.t_s[0], first.t_s[-1])
    ax.set_xlabel("time, s", labelpad=2.0, loc="right")
