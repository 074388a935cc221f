"""One sheet on a sweep: a line over one key, a map over two, or what matters most in a scatter."""

from __future__ import annotations

from pathlib import Path

from matplotlib.figure import Figure

from quadsim.report import palette
from quadsim.report.panel_head import head_panel
from quadsim.report.picture import save_picture
from quadsim.report.sweep_cells import draw_cells
from quadsim.report.sweep_line import draw_line
from quadsim.report.sweep_map import draw_map
from quadsim.report.sweep_tornado import draw_tornado
from quadsim.report.sweep_words import lines, metric_words, title
from quadsim.sweep.outcome import Outcome

WIDTH_IN = 11.7
HEAD_IN, LINE_IN, ROW_IN, FOOT_IN = 0.58, 0.16, 2.35, 0.10
TITLE_IN, BELOW_IN = 0.30, 0.45
"""Of a row: above its axes for the titles, below them for ticks and their name."""
LEFT, END, GAP = 0.055, 0.98, 0.07
NAMES = 0.165
"""Room for names at the left of a panel, share of the width."""
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
    labels, still = _drawn_labels(outcome)
    words = lines(outcome, kind, still)
    head = HEAD_IN + LINE_IN * len(words)
    height = head + ROW_IN * -(-len(labels) // ACROSS) + FOOT_IN
    figure = Figure(figsize=(WIDTH_IN, height))
    _head(figure, title(outcome), words, height)
    for k, label in enumerate(labels):
        top = height - head - ROW_IN * (k // ACROSS)
        inset = NAMES if kind in ("scatter", "cells") else 0.0
        ax = figure.add_axes(_box(k, len(labels), top, height, inset))
        head_panel(ax, *metric_words(label))
        ax.texts[0].set_x(-inset / ax.get_position().width)  # titles begin where the names do
        {"map": draw_map, "line": draw_line, "cells": draw_cells, "scatter": draw_tornado}[kind](
            ax, outcome, label
        )
    return figure


def _box(k: int, count: int, top: float, height: float, inset: float) -> tuple[float, float, float, float]:
    """Where a panel stands, in shares of the sheet. top : of its row [in]; inset : room for names at its left

    The last one of an odd number has the whole row.
    """
    width = (END - LEFT - GAP * (ACROSS - 1)) / ACROSS
    left = LEFT + k % ACROSS * (width + GAP)
    if k % ACROSS == 0 and k == count - 1:
        width = END - LEFT
    tall = ROW_IN - TITLE_IN - BELOW_IN
    return left + inset, (top - TITLE_IN - tall) / height, width - inset, tall / height


def _drawn_labels(outcome: Outcome) -> tuple[list[str], list[str]]:
    """The shown figures that differ between flights, and those that do not, which need no picture."""
    moving = [
        one.label for one in outcome.figures if one.least and one.greatest and one.least[1] < one.greatest[1]
    ]
    still = [one.label for one in outcome.figures if one.label not in moving and one.least]
    return (moving[:MOST_PANELS], still) if moving else (list(outcome.sweep.shown)[:MOST_PANELS], [])


def _head(figure: Figure, answer: str, words: list[str], height: float) -> None:
    figure.text(
        LEFT, 1.0 - 0.30 / height, answer, fontsize=15, fontweight="bold", va="center", parse_math=False
    )
    for k, line in enumerate(words):
        figure.text(
            LEFT, 1.0 - (0.58 + LINE_IN * k) / height, line, fontsize=7.6, color=palette.INK_SOFT, va="center",
            parse_math=False,
        )  # fmt: skip
