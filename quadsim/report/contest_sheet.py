"""What the sheets of lift, dash and hover have in common: head, marks of an answer, and what its interval comes from."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from quadsim.contest.uncertainty import Spread, Unknown
from quadsim.report import palette
from quadsim.report.evidence_words import INPUTS
from quadsim.report.numbers import figure as number
from quadsim.report.panel_head import head_panel

LEFT, RIGHT, TOP, BOTTOM = 0.07, 0.97, 0.87, 0.05
"""Edges of the panels, shares of the sheet."""
NAMES_END = 0.30
"""Where bars begin, shares of the sheet: their names stand to the left."""
SHOWN = 6
"""Contributions that are drawn."""


def contest_sheet(size_in: tuple[float, float], title: str, lines: Sequence[str]) -> Figure:
    """A sheet with its head: a title and what is known in words."""
    figure = Figure(figsize=size_in)
    line = 0.19 / size_in[1]
    figure.text(LEFT, 1.0 - 1.9 * line, title, fontsize=13, weight="bold", va="center", parse_math=False)
    for k, words in enumerate(lines):
        at = 1.0 - (3.2 + k) * line
        figure.text(
            LEFT,
            at,
            words,
            fontsize=8,
            va="center",
            parse_math=False,
            color=palette.INK if k == 0 else palette.INK_SOFT,
        )
    return figure


def panel_axes(figure: Figure, top: float, height: float, left: float = LEFT, right: float = RIGHT) -> Axes:
    """A panel with its upper edge at `top`, shares of the sheet."""
    return figure.add_axes((left, top - height, right - left, height))


def mark_answer(ax: Axes, interval: Sequence[float], answer: float, words: str = "") -> None:
    """The 80 % band and the answer itself, with its words above the panel."""
    ax.axvspan(*interval, color=palette.RULE, alpha=0.45, linewidth=0, zorder=1)
    ax.axvline(answer, color=palette.INK, linewidth=0.9, zorder=2.5)
    if words:
        mark_words(ax, answer, words)


def mark_words(ax: Axes, at: float, words: str, colour: str = palette.INK) -> None:
    """Words above a panel at a place on its axis."""
    ax.annotate(
        words, (at, 1.0), xycoords=ax.get_xaxis_transform(), xytext=(0, 3), textcoords="offset points",
        fontsize=7.0, ha="center", va="bottom", color=colour,
    )  # fmt: skip


def flown_point(ax: Axes, x: float, y: float, good: bool) -> None:
    """What was flown: a ring where it held, a cross where it did not; it may lie on the edge of its panel."""
    ax.plot(
        x, y, marker="o" if good else "x", markerfacecolor=palette.PAPER, color=palette.WANTED, markersize=6.0,
        markeredgewidth=1.2, linestyle="none", zorder=5, clip_on=False,
    )  # fmt: skip


def draw_contributions(
    figure: Figure, spread: Spread, unit: str, scale: float, top: float, height: float
) -> None:
    """What makes the answer uncertain, the greatest first: bars of what one standard uncertainty of an input moves it by."""
    head = panel_axes(figure, top, height)
    head.set_axis_off()
    head_panel(
        head,
        "What the interval comes from",
        f"{unit} by one standard uncertainty of each input; measure the first one first",
    )
    ax = panel_axes(figure, top, height, left=NAMES_END)
    shown = spread.contributions[:SHOWN]
    moved = [abs(scale * effect) for _, effect in shown]
    places = list(range(len(shown)))
    ax.barh(places, moved, height=0.55, color=[palette.FLOWN, *[palette.REAR] * (len(shown) - 1)], zorder=2)
    for k, value in enumerate(moved):
        ax.annotate(
            number(value, 2), (value, k), xytext=(4, 0), textcoords="offset points", va="center", fontsize=7.0
        )
    ax.set_yticks(places, [known_words(one) for one, _ in shown])
    ax.set_xlim(0.0, 1.08 * (max(moved, default=1.0) or 1.0))
    ax.set_ylim(len(shown) - 0.4, -0.6)
    ax.tick_params(labelbottom=False, bottom=False)
    ax.grid(False)
    for side in ax.spines.values():
        side.set_visible(False)


def known_words(one: Unknown) -> str:
    """An input with how well it is known."""
    return f"{INPUTS.get(one.name, one.name)}, {one.sigma:.2g} {one.unit}".rstrip()
