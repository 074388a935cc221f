"""What matters most in a scatter: by how much a figure moves with one standard deviation of each input, the greatest on top."""

from __future__ import annotations

from matplotlib.axes import Axes

from quadsim.report import palette
from quadsim.report.numbers import figure as number
from quadsim.report.sweep_words import key_words
from quadsim.sweep.influence import Influence
from quadsim.sweep.outcome import Outcome

MOST_BARS = 8


def draw_tornado(ax: Axes, outcome: Outcome, label: str) -> None:
    """A bar either way for each input with the interval of its effect; what cannot be told from chance is pale."""
    found = outcome.influences(label)
    ax.set_yticks([])
    if found is None:
        ax.text(0.5, 0.5, "too few flights to tell, or the same in all of them", transform=ax.transAxes, ha="center",
                va="center", color=palette.INK_SOFT)  # fmt: skip
        ax.set_xticks([])
        ax.grid(False)
        return
    ranked = found.ranked[:MOST_BARS]
    for k, one in enumerate(ranked):
        _bar(ax, k, one)
    ax.axvline(0.0, color=palette.INK, linewidth=0.6, zorder=4)
    ax.set_ylim(len(ranked) - 0.4, -0.6)
    ax.set_xlabel(
        f"change with one standard deviation of the input{_left_out(len(found.ranked))}",
        labelpad=2.0,
        loc="right",
    )


def _left_out(count: int) -> str:
    return f"; the {MOST_BARS} greatest of {count}" if count > MOST_BARS else ""


def _bar(ax: Axes, k: int, one: Influence) -> None:
    colour = palette.FLOWN if one.effect >= 0.0 else palette.WANTED
    pale = 1.0 if one.certain else 0.3
    ax.barh(k, one.effect, height=0.6, color=colour, alpha=pale, zorder=2)
    ax.plot(one.effect_interval, (k, k), color=palette.INK, linewidth=0.8, zorder=3)
    words = (
        f"{key_words(one.input.name, one.input.unit)}  +{number(one.input.step, 2)} {one.input.unit}".rstrip()
    )
    ax.annotate(
        words, (0.0, k), xycoords=("axes fraction", "data"), xytext=(-4, 0), textcoords="offset points", ha="right",
        va="center", fontsize=6.8, color=palette.INK if one.certain else palette.INK_SOFT, parse_math=False,
    )  # fmt: skip
