"""The right side of a drive's sheet: answers with their intervals, what makes them wide, what to measure next."""

from __future__ import annotations

import math
import textwrap

from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from quadsim.analysis.evidence import CraftEvidence
from quadsim.analysis.inspection import Inspection
from quadsim.report import palette
from quadsim.report.evidence_words import (
    INPUTS,
    SHOWN,
    WORTH_SHOWING,
    best_sentence,
    caution,
    installed_sentence,
    map_errors,
    rests_on,
)
from quadsim.report.numbers import figure as number
from quadsim.report.sidebar import LETTERS, LINE, WIDTH, X, kept_together

BAR = 0.070
"""Width of the longest bar, share of the sheet."""
MOST_BARS = 7
LOW, HIGH = X + 0.150, X + WIDTH
"""Right edges of the columns of numbers."""


def draw_drive_sidebar(figure: Figure, seen: Inspection) -> None:
    """Draw the side of the sheet, from the top down."""
    figure.add_artist(
        Rectangle(
            (X - 0.014, 0.0), 1.0, 1.0, transform=figure.transFigure, facecolor=palette.CARD, linewidth=0, zorder=-1
        )
    )  # fmt: skip
    y = _heading(figure, 0.985, "How sure", "value", "80 % within")
    y = _answers(figure, y, seen.evidence)
    y = _heading(figure, y, "The rotor map")
    for sentence in (rests_on(seen), map_errors(seen), installed_sentence(seen)):
        y = _prose(figure, y, sentence) - 0.004
    y = _bars(figure, y, seen.evidence)
    y = _heading(figure, y, "Measure next")
    y = _prose(figure, y, best_sentence(seen).removeprefix("Measure next: "))
    _prose(figure, y - 0.004, caution(seen), palette.ALARM)
    foot = ("Computed from the craft file; weigh, measure and test.", "No clearance to fly.")
    for k, line in enumerate(foot):
        figure.text(X, 0.040 - 0.018 * k, line, fontsize=6.5, color=palette.INK_SOFT, va="center")


def _text(
    figure: Figure, x: float, y: float, words: str, colour: str = palette.INK, ha: str = "left", bold: bool = False
) -> None:  # fmt: skip
    figure.text(
        x, y, words, fontsize=7.5, color=colour, va="center", ha=ha, parse_math=False, fontweight="bold" if bold else "normal"
    )  # fmt: skip


def _heading(figure: Figure, y: float, words: str, middle: str = "", right: str = "") -> float:
    y -= 0.014
    if y < 0.96:
        figure.add_artist(
            Rectangle((X, y + 0.014), WIDTH, 0.0008, transform=figure.transFigure, facecolor=palette.RULE, linewidth=0)
        )  # fmt: skip
    _text(figure, X, y - 0.006, words, bold=True)
    _text(figure, LOW, y - 0.006, middle, palette.INK_SOFT, "right")
    _text(figure, HIGH, y - 0.006, right, palette.INK_SOFT, "right")
    return y - 0.006 - LINE - 0.003


def _prose(figure: Figure, y: float, sentence: str, colour: str = palette.INK) -> float:
    told = kept_together(sentence[:1].upper() + sentence[1:]).replace(" +- ", "\u00a0±\u00a0")
    for line in textwrap.wrap(told, LETTERS + 2):
        _text(figure, X, y, line, colour)
        y -= LINE
    return y


def _answers(figure: Figure, y: float, evidence: CraftEvidence) -> float:
    for name, value in evidence.answers.items():
        words, unit, scale = SHOWN[name]
        low, high = evidence.interval(name)
        _text(figure, X, y, words)
        if math.isfinite(value):
            _text(figure, LOW, y, f"{number(scale * value)} {unit}".rstrip(), ha="right", bold=True)
            _text(figure, HIGH, y, f"{number(scale * low)} to {number(scale * high)}", ha="right")
        else:
            _text(figure, HIGH, y, "it cannot hover", palette.ALARM, "right")
        y -= LINE
    return y


def _bars(figure: Figure, y: float, evidence: CraftEvidence) -> float:
    """Inputs with bars of what one standard deviation of each does to each judged answer, in percent of it."""
    judged = evidence.judged
    listed = [
        one
        for one in evidence.contributions
        if max(abs(one.shares[name]) for name in judged) >= WORTH_SHOWING
    ][:MOST_BARS]
    if not listed:
        return y
    most = max(abs(one.shares[name]) for one in listed for name in judged)
    y = _heading(figure, y, "What makes it uncertain, per sigma")
    left = (X + WIDTH - 2.0 * BAR - 0.010, X + WIDTH - BAR)
    for name, x in zip(judged, left, strict=False):
        _text(figure, x, y, SHOWN[name][0], palette.INK_SOFT)
    y -= LINE
    for one in listed:
        _text(figure, X, y, INPUTS.get(one.input, one.input.partition(".")[2] or one.input))
        for name, x, colour in zip(judged, left, (palette.FLOWN, palette.WIND), strict=False):
            share = abs(one.shares[name])
            width = 0.5 * BAR * share / most
            figure.add_artist(
                Rectangle((x, y - 0.005), width, 0.010, transform=figure.transFigure, facecolor=colour, linewidth=0)
            )  # fmt: skip
            _text(figure, x + width + 0.003, y, f"{100.0 * share:.1f} %", palette.INK_SOFT)
        y -= LINE
    return y
