"""The right side of a flight's sheet: verdict, expectations, events, figures."""

from __future__ import annotations

import re
import textwrap
from dataclasses import dataclass

from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from quadsim.report import palette
from quadsim.report.numbers import figure as number
from quadsim.simulation.metrics import METRICS
from quadsim.simulation.run import Run, Verdict

X, WIDTH = 0.742, 0.238
"""Left edge and width, shares of the sheet."""
LINE = 0.0205
"""Height of a line of text, share of the sheet."""
LETTERS = 44
"""Letters of 7.5 points that fit into the width."""
LOWEST = 0.09
SHOWN = (
    "max_tilt_deg",
    "max_speed_m_s",
    "max_rate_deg_s",
    "max_battery_A",
    "min_cell_V",
    "used_mAh",
    "mean_power_W",
)


@dataclass(frozen=True)
class Mark:
    """An event with its number on the sheet; `alarm` for faults and for a flight that ended badly."""

    number: int
    t_s: float
    text: str
    alarm: bool


def numbered(run: Run, first_s: float, last_s: float) -> list[Mark]:
    """The events between two times [s] in their order. The end of a flight as meant is no event on the sheet."""
    step_s = 1.0 / float(run.meta["physics_rate_Hz"])
    kept = [
        event
        for event in sorted(run.events, key=lambda event: event.t_s)
        if first_s - step_s <= event.t_s <= last_s + 1.5 * step_s
        and not (event.kind == "status" and run.status == "done")
    ]
    return [
        Mark(k + 1, min(event.t_s, last_s), event.text, event.kind in ("fault", "status"))
        for k, event in enumerate(kept)
    ]


def kept_together(text: str) -> str:
    """The text with numbers tied to their units, so that no line breaks between them."""
    return re.sub(r"(\d) (?=[a-zA-Z%])", "\\1\u00a0", text)


def draw_sidebar(figure: Figure, run: Run, marks: list[Mark]) -> None:
    """Draw the side of the sheet, from the top down."""
    colour = palette.FLOWN if run.passed else palette.ALARM
    figure.add_artist(
        Rectangle(
            (X - 0.014, 0.0),
            1.0,
            1.0,
            transform=figure.transFigure,
            facecolor=palette.CARD,
            linewidth=0,
            zorder=-1,
        )
    )
    figure.text(
        X, 0.962, "PASS" if run.passed else "FAIL", fontsize=15, fontweight="bold", color=colour, va="center"
    )
    y = 0.930
    for line in textwrap.wrap(kept_together(run.status_text), LETTERS - 4)[:3]:
        y = _line(figure, y, line, size=8.5)
    y = _expected(figure, _heading(figure, y, "Expected"), run)
    y = _figures(figure, _heading(figure, y, "Over the whole flight"), run)
    if marks:
        _events(figure, _heading(figure, y, "What happened"), marks)
    foot = f"quadsim {run.meta['version']}, {run.meta['flown'][:16].replace('T', ' ')} UTC"
    flown = f"{run.flight} with {run.craft}, seed {run.meta['seed']}, {run.meta['stepper']} at {run.meta['physics_rate_Hz']:g} Hz"
    figure.text(X, 0.058, flown, fontsize=6.5, color=palette.INK_SOFT, va="center", parse_math=False)
    figure.text(X, 0.040, foot, fontsize=6.5, color=palette.INK_SOFT, va="center")
    figure.text(
        X,
        0.022,
        "A simulated pass is not a clearance to fly.",
        fontsize=6.5,
        color=palette.INK_SOFT,
        va="center",
    )


def _line(
    figure: Figure,
    y: float,
    text: str,
    size: float = 7.5,
    colour: str = palette.INK,
    x: float = X,
    **looks: str,
) -> float:
    figure.text(x, y, text, fontsize=size, color=colour, va="center", parse_math=False, **looks)  # type: ignore[arg-type]
    return y - LINE


def _right(figure: Figure, y: float, text: str, colour: str = palette.INK) -> None:
    figure.text(X + WIDTH, y, text, fontsize=7.5, color=colour, va="center", ha="right", parse_math=False)


def _heading(figure: Figure, y: float, text: str) -> float:
    y -= 0.012
    figure.add_artist(
        Rectangle(
            (X, y + 0.012), WIDTH, 0.0008, transform=figure.transFigure, facecolor=palette.RULE, linewidth=0
        )
    )
    return _line(figure, y - 0.006, text, fontweight="bold") - 0.003


def _expected(figure: Figure, y: float, run: Run) -> float:
    for verdict in run.expectations:
        colour = palette.INK if verdict.ok else palette.ALARM
        _line(
            figure,
            y,
            "pass" if verdict.ok else "FAIL",
            colour=palette.FLOWN if verdict.ok else colour,
            fontweight="bold",
        )
        name, value = _said(verdict)
        if len(name) + len(value) <= LETTERS - 4:
            _right(figure, y, value, colour)
        y = _line(figure, y, name, colour=colour, x=X + 0.030)
        if len(name) + len(value) > LETTERS - 4:
            for part in textwrap.wrap(kept_together(value), LETTERS - 4):
                _right(figure, y, part, colour)
                y -= LINE
    return y


def _said(verdict: Verdict) -> tuple[str, str]:
    if verdict.metric == "status":
        ended, _, allowed = verdict.bound.partition("; ")
        return f"status {ended}", allowed
    value = "no value" if verdict.value is None else number(verdict.value)
    return verdict.metric, f"{value}, {verdict.bound}"


def _figures(figure: Figure, y: float, run: Run) -> float:
    for name in SHOWN:
        if name in run.metrics:
            _right(figure, y, f"{number(run.metrics[name])} {METRICS[name].unit}")
            y = _line(figure, y, METRICS[name].meaning)
    return y


def _events(figure: Figure, y: float, marks: list[Mark]) -> None:
    for k, mark in enumerate(marks):
        lines = textwrap.wrap(kept_together(mark.text), LETTERS - 12) or [""]
        if y - LINE * len(lines) < LOWEST and k < len(marks):
            _line(figure, y, f"and {len(marks) - k} more", colour=palette.INK_SOFT)
            return
        colour = palette.ALARM if mark.alarm else palette.INK
        _line(figure, y, str(mark.number), colour=colour, fontweight="bold")
        _line(figure, y, f"{mark.t_s:.2f} s", colour=palette.INK_SOFT, x=X + 0.016)
        for line in lines:
            y = _line(figure, y, line, colour=colour, x=X + 0.062)
