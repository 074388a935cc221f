"""One sheet on a sweep: a line over one key, a map over two, or what matters most in a scatter."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from quadsim.config.metric_names import METRIC_NAMES
from quadsim.report import palette
from quadsim.report.panel_head import head_panel
from quadsim.report.picture import save_picture
from quadsim.report.sweep_cells import draw_cells
from quadsim.report.sweep_map import draw_map
from quadsim.report.sweep_tornado import draw_tornado
from quadsim.sweep.outcome import Outcome

WIDTH_IN = 11.7
HEAD_IN, ROW_IN, FOOT_IN = 0.95, 2.35, 0.25
LEFT, END, GAP = 0.055, 0.985, 0.075
MOST_PANELS = 6
ACROSS = 2
"""Panels beside one another."""


def draw_sweep(outcome: Outcome, path: Path) -> Path:
    """Draw a sweep into a picture file.

    Raises
    ------
    InputError
        when the suffix names no kind of picture.
    FlightError
        when the file cannot be written.
    """
    return save_picture(lambda: sweep_figure(outcome), path)


def sweep_figure(outcome: Outcome) -> Figure:
    """The sheet as a figure: a panel for each figure shown."""
    numeric = [axis for axis in outcome.sweep.axes if axis.numeric]
    several = "cells" if len(outcome.sweep.cells) > 1 else "scatter"
    kind = "map" if len(numeric) >= 2 else "line" if numeric else several
    labels = _drawn_labels(outcome, kind)
    rows = -(-len(labels) // ACROSS)
    height = HEAD_IN + ROW_IN * rows + FOOT_IN
    figure = Figure(figsize=(WIDTH_IN, height))
    _head(figure, outcome, height)
    width = (END - LEFT - GAP * (ACROSS - 1)) / ACROSS
    for k, label in enumerate(labels):
        bottom = (FOOT_IN + ROW_IN * (rows - 1 - k // ACROSS) + 0.42) / height
        box = (LEFT + k % ACROSS * (width + GAP), bottom, width, (ROW_IN - 0.85) / height)
        if kind in ("scatter", "cells"):
            inset = 0.16
            box = (box[0] + inset, box[1], box[2] - inset, box[3])
        ax = figure.add_axes(box)
        head_panel(ax, label, METRIC_NAMES[label.split(" ")[0]][0])
        {"map": draw_map, "line": _draw_line, "cells": draw_cells, "scatter": draw_tornado}[kind](
            ax, outcome, label
        )
    return figure


def _drawn_labels(outcome: Outcome, kind: str) -> list[str]:
    """The shown figures; on a map and in a scatter without those that are the same in every flight."""
    labels = list(outcome.sweep.shown)
    moving = [
        one.label for one in outcome.figures if one.least and one.greatest and one.least[1] < one.greatest[1]
    ]
    return (labels if kind == "line" else moving or labels)[:MOST_PANELS]


def _head(figure: Figure, outcome: Outcome, height: float) -> None:
    sweep, share = outcome.sweep, outcome.share
    low, high = share.interval
    figure.text(
        LEFT, 1.0 - 0.30 / height, f"{', '.join(sweep.base.crafts)}: sweep of {sweep.flight.name}", fontsize=15,
        fontweight="bold", va="center", parse_math=False,
    )  # fmt: skip
    passed = f"{share.passed} of {share.flown} flights passed"
    drawn_alike = len(sweep.cells) == 1
    passed += (
        f": {100 * share.share:.3g} %, 95 % interval {100 * low:.3g} to {100 * high:.3g} %."
        if drawn_alike
        else "."
    )
    others = f" {len(outcome.refused)} could not be flown." if outcome.refused else ""
    left = f" {outcome.left} not flown yet." if outcome.left else ""
    figure.text(
        LEFT, 1.0 - 0.58 / height, f"{sweep.flight.title}. {passed}{others}{left}", fontsize=8.0, color=palette.INK_SOFT,
        va="center", parse_math=False,
    )  # fmt: skip


def _draw_line(ax: Axes, outcome: Outcome, label: str) -> None:
    """Every flight as a dot, the medians joined, 5 to 95 % pale, the bounds expected dashed; a line for each craft and law."""
    axis_number = next(k for k, axis in enumerate(outcome.sweep.axes) if axis.numeric)
    axis = outcome.sweep.axes[axis_number]
    cells = outcome.cells
    groups = list(dict.fromkeys(_group(outcome, one.cell, axis_number) for one in cells))
    colours = (palette.FLOWN, palette.WANTED, palette.WIND, "#8a4f8a", palette.REAR, palette.INK)
    for k, group in enumerate(groups):
        own = sorted(
            (one for one in cells if _group(outcome, one.cell, axis_number) == group and one.share.flown),
            key=lambda one: one.cell.values[axis_number],
        )
        x = [one.cell.values[axis_number] for one in own]
        low, middle, high = np.array([one.figures[label] for one in own], dtype=float).reshape(-1, 3).T
        colour = colours[k % len(colours)]
        ax.fill_between(x, low, high, color=colour, alpha=0.15, linewidth=0.0, zorder=1)
        ax.plot(x, middle, color=colour, linewidth=1.4, zorder=3, label=group)
    _dots(ax, outcome, label, axis_number)
    _bounds(ax, outcome, label)
    if len(groups) > 1:
        ax.legend(frameon=False, fontsize=6.5, loc="best")
    unit = f", {axis.key.unit}" if axis.key.unit else ""
    ax.set_xlabel(f"{axis.key.name}{unit}", labelpad=2.0, loc="right", parse_math=False)


def _group(outcome: Outcome, cell: object, axis_number: int) -> str:
    """What a line stands for, beside the key along the axis."""
    sweep, words = outcome.sweep, []
    words += [cell.craft] if len(sweep.base.crafts) > 1 else []  # type: ignore[attr-defined]
    words += [cell.law] if len(sweep.base.laws) > 1 else []  # type: ignore[attr-defined]
    pairs = zip(sweep.axes, cell.values, strict=True)  # type: ignore[attr-defined]
    words += [f"{axis.key.name} {value}" for k, (axis, value) in enumerate(pairs) if k != axis_number]
    return ", ".join(words)


def _dots(ax: Axes, outcome: Outcome, label: str, axis_number: int) -> None:
    """Flights that passed as dots, the others as crosses."""
    cases, values = outcome.flown_cases, outcome.values(label)
    x = np.array([case.cell.values[axis_number] for case in cases], dtype=float)
    good = np.array([outcome.judged[case.number].passed for case in cases], dtype=bool)
    ax.plot(x[good], values[good], ".", color=palette.FLOWN, markersize=3.5, alpha=0.6, zorder=2)
    ax.plot(x[~good], values[~good], "x", color=palette.ALARM, markersize=4.5, zorder=4)


def _bounds(ax: Axes, outcome: Outcome, label: str) -> None:
    """What the flight expects of this figure."""
    from quadsim.sweep.base import Asked

    for line in outcome.sweep.flight.expect:
        if Asked.by(line).label != label:
            continue
        for bound, word in ((line.below, "below"), (line.above, "above")):
            if bound is not None:
                ax.axhline(bound, color=palette.ALARM, linewidth=0.8, linestyle=(0, (4, 3)), zorder=2)
                ax.annotate(
                    f"expected {word} {bound:g}", (1.0, bound), xycoords=("axes fraction", "data"), xytext=(0, 2),
                    textcoords="offset points", ha="right", va="bottom", fontsize=6.2, color=palette.ALARM,
                )  # fmt: skip
