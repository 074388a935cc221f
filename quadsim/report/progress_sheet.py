"""One sheet on practice: lap times over all laps and sessions, and where on the course time is lost."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from quadsim.config.course import Course
from quadsim.practice.lap_book import LapLine
from quadsim.report import palette
from quadsim.report.panel_head import head_panel
from quadsim.report.picture import save_picture

SIZE_IN = (11.0, 6.4)
LEAST_SPAN_S = 1.0
"""The axis of lap times spans at least this [s]: hundredths must not look like much."""
TELLING_S = 0.03
"""A loss below this is not called one [s]; taste, no source."""


def draw_progress(course: Course, craft: str, laps: Sequence[LapLine], path: Path) -> Path:
    """Draw the sheet into a picture file; raises as `save_picture` does."""
    return save_picture(lambda: progress_figure(course, craft, laps), path)


def progress_figure(course: Course, craft: str, laps: Sequence[LapLine]) -> Figure:
    """The sheet as a figure."""
    figure = Figure(figsize=SIZE_IN)
    title = f"{course.name}: practice with {craft}"
    figure.text(0.05, 0.945, title, fontsize=15, fontweight="bold", va="center", parse_math=False)
    own = [lap for lap in laps if not lap.aids]
    best = min(own, key=lambda lap: lap.time_s, default=None)
    sessions = len({lap.session for lap in laps})
    words = f"{len(laps)} laps in {sessions} session{'s' if sessions != 1 else ''}"
    words += f", best {best.time_s:.2f} s" if best else ""
    figure.text(0.95, 0.945, words, fontsize=9, va="center", ha="right", color=palette.INK_SOFT)
    _times(figure.add_axes((0.05, 0.53, 0.90, 0.32)), laps)
    _losses(figure.add_axes((0.05, 0.09, 0.90, 0.31)), course, own)
    return figure


def _times(ax: Axes, laps: Sequence[LapLine]) -> None:
    """A dot per lap; the best one so far as a line; open where an aid helped, crossed where a gate was missed at first."""
    head_panel(ax, "Lap times", "s")
    numbers, times = np.arange(1, len(laps) + 1), np.array([lap.time_s for lap in laps])
    own = np.array([not lap.aids for lap in laps])
    best = np.minimum.accumulate(np.where(own, times, np.inf))
    shown = np.isfinite(best)
    ax.step(numbers[shown], best[shown], where="post", color=palette.WANTED, linewidth=1.2, zorder=2)
    missed = np.array([lap.misses > 0 for lap in laps])
    for chosen, look in (
        (own & ~missed, {"marker": "o", "color": palette.FLOWN}),
        (own & missed, {"marker": "x", "color": palette.ALARM}),
        (~own, {"marker": "o", "markerfacecolor": palette.PAPER, "color": palette.REAR}),
    ):
        ax.plot(numbers[chosen], times[chosen], linestyle="none", markersize=5, zorder=3, **look)  # type: ignore[arg-type]
    low, high = float(times.min()), float(times.max())
    room = max(0.08 * (high - low), 0.5 * (LEAST_SPAN_S - (high - low)))
    ax.set_ylim(low - room, high + room)
    begun = [k for k in range(1, len(laps)) if laps[k].session != laps[k - 1].session]
    for k in begun:
        ax.axvline(k + 0.5, color=palette.RULE, linewidth=1.0, zorder=1)
    ax.set_xlim(0.5, len(laps) + 0.5)
    ax.set_xlabel("lap; a line parts sessions", labelpad=2.0, loc="right")
    ax.xaxis.set_major_locator(MaxNLocator(integer=True))
    legend = "dot: clean lap    cross: a gate missed at first    ring: with aids    ochre: best so far"
    ax.text(
        1.0,
        1.035,
        legend,
        transform=ax.transAxes,
        fontsize=7.0,
        color=palette.INK_SOFT,
        ha="right",
        va="bottom",
    )


def _losses(ax: Axes, course: Course, laps: Sequence[LapLine]) -> None:
    """Median of the newest laps against the best time ever flown from gate to gate."""
    head_panel(ax, "Lost from gate to gate, median of the last ten laps over the best ever", "s")
    count = max((len(lap.splits_s) for lap in laps), default=0)
    legs = np.array([np.diff((0.0, *lap.splits_s)) for lap in laps if len(lap.splits_s) == count])
    if len(legs) < 2:
        ax.text(0.5, 0.5, "from two laps on", transform=ax.transAxes, ha="center", color=palette.INK_SOFT)
        return
    lost = np.median(legs[-10:], axis=0) - legs.min(axis=0)
    first = 1 if course.closed else 0  # the clock of a closed course starts at its first gate
    names = [_leg(course, k, count) for k in range(first, count)]
    places = np.arange(len(names))
    most = int(np.argmax(lost[first:]))
    tones = [
        palette.ALARM if k == most and lost[first:][most] >= TELLING_S else palette.FLOWN for k in places
    ]
    ax.bar(places, lost[first:], color=tones, width=0.55, zorder=2)
    ax.set_xticks(places, names)
    if lost[first:][most] < TELLING_S:
        ax.set_ylim(0.0, 5.0 * TELLING_S)
        return
    ax.annotate(
        f"most is lost here: {lost[first:][most]:.2f} s", (most, lost[first:][most]), xytext=(0, 4),
        textcoords="offset points", ha="center", fontsize=7.0, color=palette.ALARM,
    )  # fmt: skip
    ax.set_ylim(0.0, 1.25 * float(lost[first:].max()))


def _leg(course: Course, k: int, count: int) -> str:
    if not course.closed:
        return f"start-{k + 1}" if k == 0 else f"{k}-{k + 1}"
    return f"{k}-{1 if k == count - 1 else k + 1}"
