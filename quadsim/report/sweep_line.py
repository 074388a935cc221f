"""A figure over one key: every flight a dot, medians joined, 5 to 95 % pale, the bounds expected dashed."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes

from quadsim.report import palette
from quadsim.report.sweep_words import key_words, with_unit
from quadsim.sweep.base import Asked
from quadsim.sweep.cases import Cell
from quadsim.sweep.outcome import Outcome

COLOURS = (palette.FLOWN, palette.WANTED, palette.WIND, "#8a4f8a", palette.REAR, palette.INK)
MOST_TICKS = 9
"""Values of the key up to which each has its tick."""
FAR = 1.0
"""A bound farther from the flights than so many times their spread is said, not drawn: they would be a flat line."""


def draw_line(ax: Axes, outcome: Outcome, label: str) -> None:
    """A line for each craft, law and value of further keys."""
    place = next(k for k, axis in enumerate(outcome.sweep.axes) if axis.numeric)
    axis = outcome.sweep.axes[place]
    groups: dict[str, list[int]] = {}
    for one in outcome.cells:
        groups.setdefault(_group(outcome, one.cell, place), []).append(one.cell.number)
    for k, (name, cells) in enumerate(groups.items()):
        _draw_group(ax, outcome, label, (place, cells), COLOURS[k % len(COLOURS)], name)
    _bounds(ax, outcome, label)
    if len(groups) > 1:
        ax.legend(frameon=False, fontsize=6.5, loc="best")
    if len(axis.values) <= MOST_TICKS:
        ax.set_xticks(axis.values, [f"{value:.5g}" for value in axis.values])
    ax.set_xlabel(with_unit(axis.key), labelpad=2.0, loc="right", parse_math=False)


def _draw_group(
    ax: Axes, outcome: Outcome, label: str, of: tuple[int, list[int]], colour: str, name: str
) -> None:
    """One line with its band and its flights. of : which key runs along, and the numbers of the combinations"""
    place, numbers = of
    own = sorted(
        (one for one in outcome.cells if one.cell.number in numbers and one.share.flown),
        key=lambda one: one.cell.values[place],
    )
    x = [one.cell.values[place] for one in own]
    low, middle, high = np.array([one.figures[label] for one in own], dtype=float).reshape(-1, 3).T
    ax.fill_between(x, low, high, color=colour, alpha=0.15, linewidth=0.0, zorder=1)
    ax.plot(x, middle, color=colour, linewidth=1.4, zorder=3, label=name)
    cases = [case for case in outcome.flown_cases if case.cell.number in numbers]
    if not cases:
        return
    along = np.array([case.cell.values[place] for case in cases], dtype=float)
    good = np.array([outcome.judged[case.number].passed for case in cases], dtype=bool)
    values = outcome.values(label, cases)
    ax.plot(along[good], values[good], ".", color=colour, markersize=3.5, alpha=0.6, zorder=2)
    ax.plot(along[~good], values[~good], "x", color=palette.ALARM, markersize=4.5, zorder=4)


def _group(outcome: Outcome, cell: Cell, place: int) -> str:
    """What a line stands for, beside the key along the axis."""
    sweep = outcome.sweep
    words = [cell.craft] if len(sweep.base.crafts) > 1 else []
    words += [cell.law] if len(sweep.base.laws) > 1 else []
    pairs = enumerate(zip(sweep.axes, cell.values, strict=True))
    words += [
        f"{key_words(axis.key.name, axis.key.unit)} {value} {axis.key.unit}".rstrip()
        for k, (axis, value) in pairs
        if k != place
    ]
    return ", ".join(words)  # fmt: skip


def _bounds(ax: Axes, outcome: Outcome, label: str) -> None:
    """What the flight expects of this figure."""
    values = outcome.values(label)
    if not np.isfinite(values).any():
        return
    least, greatest = float(np.nanmin(values)), float(np.nanmax(values))
    reach = FAR * (greatest - least)
    for line in outcome.sweep.flight.expect:
        if Asked.by(line).label != label:
            continue
        for bound, word in ((line.below, "below"), (line.above, "above")):
            if bound is None:
                continue
            far = not least - reach <= bound <= greatest + reach
            if not far:
                ax.axhline(bound, color=palette.ALARM, linewidth=0.8, linestyle=(0, (4, 3)), zorder=2)
            at = float(bound > least) if far else bound
            ax.annotate(
                f"expected {word} {bound:g}" + (", beyond this scale" if far else ""), (1.0, at),
                xycoords="axes fraction" if far else ("axes fraction", "data"), xytext=(0, 2), textcoords="offset points",
                ha="right", va="bottom", fontsize=6.2, color=palette.ALARM,
            )  # fmt: skip
