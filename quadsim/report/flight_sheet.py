"""One sheet that tells a flight: panels over time on the left, what was expected and what happened on the right."""

from __future__ import annotations

import textwrap
from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from quadsim.errors import InputError
from quadsim.report import palette
from quadsim.report.panel_head import head_panel
from quadsim.report.picture import checked_suffix, save_picture
from quadsim.report.series import Line, Panel, panels
from quadsim.report.sidebar import draw_sidebar, kept_together, numbered
from quadsim.simulation.run import Run

SIZE_IN = (11.7, 7.5)
"""Width and height: a landscape page."""
LEFT, RIGHT, BOTTOM, TOP = 0.038, 0.655, 0.062, 0.848
"""Edges of the panels, shares of the sheet; names of lines stand to the right of them."""
GAP = 0.030
TITLE_SHARE = 0.09
"""Share of the panels' width that the first one's title takes."""
ABOUT_LETTERS = 118
"""Letters of the flight's story in a line."""


def draw_flight(run: Run, path: Path, *, from_s: float | None = None, to_s: float | None = None) -> Path:
    """Draw a run, or the part of it between two times [s], into a picture file.

    Raises
    ------
    InputError
        when the suffix names no kind of picture, or no two rows of the log lie between the times.
    FlightError
        when the file cannot be written.
    """
    checked_suffix(path)
    first = 0.0 if from_s is None else from_s
    last = float(run.t_s[-1]) if to_s is None and len(run) else to_s or 0.0
    rows = (run.t_s >= first - 1e-9) & (run.t_s <= last + 1e-9)
    if np.count_nonzero(rows) < 2:
        ends = f"{float(run.t_s[-1]):g} s" if len(run) else "before its first row"
        raise InputError(f"there is nothing to draw from {first:g} to {last:g} s; the flight ends at {ends}")
    return save_picture(lambda: flight_figure(run, rows), path)


def flight_figure(run: Run, rows: np.ndarray) -> Figure:
    """The sheet as a figure; `rows` says which rows of the log are drawn."""
    figure = Figure(figsize=SIZE_IN)
    shown = panels(run)
    first, last = float(run.t_s[rows][0]), float(run.t_s[rows][-1])
    marks = numbered(run, first, last)
    figure.text(LEFT, 0.962, run.meta["title"], fontsize=15, fontweight="bold", va="center", parse_math=False)
    about = textwrap.wrap(kept_together(run.meta["about"]), ABOUT_LETTERS)[:2]
    for k, line in enumerate(about):
        figure.text(
            LEFT, 0.932 - 0.02 * k, line, fontsize=8.0, color=palette.INK_SOFT, va="center", parse_math=False
        )
    axes = _stack(figure, shown)
    for ax, panel in zip(axes, shown, strict=True):
        _draw_panel(ax, panel, run.t_s, rows)
        ax.set_xlim(first, last)
        ax.tick_params(labelbottom=ax is axes[-1])
        for mark in marks:
            colour = palette.ALARM if mark.alarm else palette.INK_SOFT
            ax.axvline(mark.t_s, color=colour, linewidth=0.6, dashes=(1.5, 1.5), zorder=1.5)
    axes[-1].set_xlabel("time, s", labelpad=2.0, loc="right")
    _flags(axes[0], [(mark.t_s, str(mark.number), mark.alarm) for mark in marks], last - first)
    draw_sidebar(figure, run, marks)
    return figure


def _stack(figure: Figure, shown: list[Panel]) -> list[Axes]:
    """Axes below each other, heights in the ratio that the panels ask for."""
    room = TOP - BOTTOM - GAP * (len(shown) - 1)
    unit = room / sum(panel.height for panel in shown)
    axes, top = [], TOP
    for panel in shown:
        height = unit * panel.height
        axes.append(figure.add_axes((LEFT, top - height, RIGHT - LEFT, height)))
        top -= height + GAP
    return axes


def _draw_panel(ax: Axes, panel: Panel, t: np.ndarray, rows: np.ndarray) -> None:
    head_panel(ax, panel.title, panel.unit)
    low, high = _limits(panel, rows)
    ax.set_ylim(low, high)
    ax.yaxis.set_major_locator(MaxNLocator(4 if panel.height > 1.0 else 3, steps=[1, 2, 2.5, 5, 10]))
    if panel.alarm is not None and panel.alarm[rows].any():
        _draw_alarm(ax, panel, t, rows)
    for line in panel.lines:
        (drawn,) = ax.plot(t[rows], line.values[rows], color=line.colour, linewidth=line.width, zorder=3)
        if line.dashes:
            drawn.set_dashes(line.dashes)
    _name_lines(ax, panel.lines, rows, low, high)


def _draw_alarm(ax: Axes, panel: Panel, t: np.ndarray, rows: np.ndarray) -> None:
    """A pale band over the times of the alarm, and what it means."""
    ax.fill_between(
        t[rows], 0.0, 1.0, where=panel.alarm[rows].tolist() if panel.alarm is not None else None,
        transform=ax.get_xaxis_transform(), color=palette.ALARM_PALE, linewidth=0.8, edgecolor=palette.ALARM_PALE, zorder=1,
    )  # fmt: skip
    ax.text(
        1.0,
        1.035,
        panel.alarm_text,
        transform=ax.transAxes,
        fontsize=7.0,
        ha="right",
        va="bottom",
        color=palette.ALARM,
    )


def _limits(panel: Panel, rows: np.ndarray) -> tuple[float, float]:
    """Limits of the panel: all its lines with some room, and never less than its least span."""
    values = np.concatenate([line.values[rows] for line in panel.lines])
    values = values[np.isfinite(values)]
    low, high = (float(values.min()), float(values.max())) if values.size else (0.0, 1.0)
    missing = max(panel.least_span - (high - low), 0.0) / 2.0
    room = 0.06 * max(high - low, panel.least_span)
    low, high = low - missing - room, high + missing + room
    if panel.low is not None:
        low, high = panel.low, max(high, panel.low + panel.least_span)
    return low, high if panel.high is None else panel.high


def _name_lines(ax: Axes, lines: tuple[Line, ...], rows: np.ndarray, low: float, high: float) -> None:
    """Names at the ends of the lines, moved apart where they would overlap."""
    named = [(line, line.values[rows][np.isfinite(line.values[rows])]) for line in lines if line.label]
    ends = [((float(values[-1]) - low) / (high - low), line) for line, values in named if values.size]
    height_pt = ax.get_position().height * SIZE_IN[1] * 72.0
    step = 8.5 / height_pt
    ends.sort(key=lambda end: end[0])
    places = _spread([min(max(end[0], 0.0), 1.0) for end in ends], step)
    for place, (_, line) in zip(places, ends, strict=True):
        ax.text(
            1.008,
            place,
            line.label,
            transform=ax.transAxes,
            color=line.colour,
            fontsize=7.0,
            va="center",
            parse_math=False,
        )


def _spread(wanted: list[float], step: float) -> list[float]:
    """Sorted places at least `step` apart, around where they were wanted, within 0 to 1 where they fit."""
    places = list(wanted)
    for _ in range(200):
        moved = False
        for k in range(len(places) - 1):
            short = step - (places[k + 1] - places[k])
            if short > 1e-6:
                places[k] -= short / 2.0
                places[k + 1] += short / 2.0
                moved = True
        if not moved:
            break
    shift = max(0.0, -places[0]) if places else 0.0
    shift -= max(0.0, places[-1] + shift - 1.0) if places else 0.0
    return [place + shift for place in places]


def _flags(ax: Axes, marks: list[tuple[float, str, bool]], span_s: float) -> None:
    """Numbers of the events over the first panel; one that would cover the panel's title or the number before it steps up."""
    level, before = 0, -1e9
    for t_s, number, alarm in marks:
        level = (level + 1) % 3 if t_s - before < 0.02 * span_s else 0
        if t_s - ax.get_xlim()[0] < TITLE_SHARE * span_s:
            level = max(level, 1)
        before = t_s
        ax.annotate(
            number, (t_s, 1.0), xycoords=ax.get_xaxis_transform(), xytext=(0, 5 + 10 * level), textcoords="offset points",
            ha="center", va="bottom", fontsize=6.8, fontweight="bold", color=palette.PAPER,
            bbox={"boxstyle": "circle,pad=0.22", "facecolor": palette.ALARM if alarm else palette.INK_SOFT, "linewidth": 0},
        )  # fmt: skip
