"""One sheet on control laws: a row for each flight, its errors over time on the left, the figures of each law on the right."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from quadsim.analysis.law_comparison import LawCost, LawFlight
from quadsim.report import palette
from quadsim.report.numbers import figure as number
from quadsim.report.panel_head import head_panel
from quadsim.report.picture import save_picture

WIDTH_IN = 11.7
HEAD_IN, ROW_IN, FOOT_IN = 0.72, 1.62, 0.35
LEFT, RIGHT, BARS, END = 0.035, 0.475, 0.555, 0.985
"""Edges of the errors over time, and of the bars beside them, shares of the width."""
BAR_GAP = 0.016
COLOURS = (palette.FLOWN, palette.WANTED, palette.WIND, "#8a4f8a", palette.REAR, palette.INK)
"""Of the laws in their order; each also has its name beside its bar."""
BARRED = (
    ("tilt_rms_deg", "Tilt error", "deg rms"),
    ("overshoot_deg", "Overshoot", "deg"),
    ("effort_rad_s2", "Effort", "rad/s2 rms"),
    ("motor_noise_A", "Motor noise", "A rms"),
)
"""Metrics drawn as bars."""


def draw_laws(craft: str, costs: Sequence[LawCost], flown: Sequence[LawFlight], path: Path) -> Path:
    """Draw compared laws into a picture file.

    Raises
    ------
    InputError
        when the suffix names no kind of picture.
    FlightError
        when the file cannot be written.
    """
    return save_picture(lambda: law_figure(craft, costs, flown), path)


def law_figure(craft: str, costs: Sequence[LawCost], flown: Sequence[LawFlight]) -> Figure:
    """The sheet as a figure; as high as it has flights."""
    flights = {one.flight: one.title for one in flown}
    names = list(dict.fromkeys(one.law for one in flown))
    colours = {name: COLOURS[k % len(COLOURS)] for k, name in enumerate(names)}
    height = HEAD_IN + ROW_IN * len(flights) + FOOT_IN
    figure = Figure(figsize=(WIDTH_IN, height))
    _head(figure, craft, costs, height)
    for k, (flight, title) in enumerate(flights.items()):
        rows = [one for one in flown if one.flight == flight]
        bottom = (FOOT_IN + ROW_IN * (len(flights) - 1 - k) + 0.30) / height
        share = (ROW_IN - 0.62) / height
        over_time = figure.add_axes((LEFT, bottom, RIGHT - LEFT, share))
        head_panel(over_time, title, "tilt error, deg")
        _draw_errors(over_time, rows, colours)
        if k == len(flights) - 1:
            over_time.set_xlabel("time, s", labelpad=2.0, loc="right")
        width = (END - BARS - BAR_GAP * (len(BARRED) - 1)) / len(BARRED)
        for column, (metric, words, unit) in enumerate(BARRED):
            ax = figure.add_axes((BARS + column * (width + BAR_GAP), bottom, width, share))
            head_panel(ax, words, unit)
            _draw_bars(ax, [(one.law, one.figures.get(metric)) for one in rows], colours, named=column == 0)
    return figure


def _head(figure: Figure, craft: str, costs: Sequence[LawCost], height: float) -> None:
    figure.text(
        LEFT, 1.0 - 0.28 / height, f"{craft}: control laws on the same flights", fontsize=15, fontweight="bold",
        va="center", parse_math=False,
    )  # fmt: skip
    spent = ", ".join(f"{cost.law} {cost.total_ns:.0f} ns" for cost in costs)
    figure.text(
        LEFT, 1.0 - 0.55 / height, f"Angle between the thrust axis wanted and flown; a cross ends a flight early. Control "
        f"per step of the physics: {spent}.", fontsize=8.0, color=palette.INK_SOFT, va="center", parse_math=False,
    )  # fmt: skip


def _draw_errors(ax: Axes, rows: Sequence[LawFlight], colours: dict[str, str]) -> None:
    for one in rows:
        ax.plot(one.t_s, one.tilt_error_deg, color=colours[one.law], linewidth=0.9, alpha=0.9, zorder=3)
        if one.status != "done" and len(one.t_s):
            ax.plot(
                one.t_s[-1:], one.tilt_error_deg[-1:], "x", color=colours[one.law], markersize=6, zorder=4
            )
    ends = [float(one.t_s[-1]) for one in rows if len(one.t_s)]
    ax.set_xlim(0.0, max(ends, default=1.0) * 1.01 or 1.0)
    ax.set_ylim(bottom=0.0)


def _draw_bars(
    ax: Axes, values: Sequence[tuple[str, float | None]], colours: dict[str, str], named: bool
) -> None:
    """A bar for each law from zero, the first on top, its number at its end, its name before it where `named`."""
    most = max((value for _, value in values if value is not None), default=0.0) or 1.0
    for k, (law, value) in enumerate(values):
        ax.barh(k, value or 0.0, height=0.62, color=colours[law], zorder=3)
        ax.text((value or 0.0) + 0.03 * most, k, number(value), fontsize=6.8, va="center", color=palette.INK)
        if named:
            ax.annotate(
                law, (0.0, k), xycoords=("axes fraction", "data"), xytext=(-4, 0), textcoords="offset points",
                ha="right", va="center", fontsize=7.0, color=colours[law], parse_math=False,
            )  # fmt: skip
    ax.set_xlim(0.0, 1.35 * most)
    ax.set_ylim(len(values) - 0.4, -0.6)
    ax.set_yticks([])
    ax.set_xticks([])
    ax.grid(False)
    ax.spines["bottom"].set_visible(False)
    ax.axvline(0.0, color=palette.RULE, linewidth=0.8)
