"""A lap on one sheet: the line over the course, its height, what it asks of the craft, and how it was flown gate by gate.

Ochre is planned, blue flown, as on all our sheets.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MultipleLocator
from numpy.typing import NDArray

from quadsim.contest.lap import Lap
from quadsim.contest.lap_flight import flown_places
from quadsim.contest.lap_passages import Passage
from quadsim.report import palette
from quadsim.report.lap_plan import draw_course, speed_scale
from quadsim.report.panel_head import head_panel
from quadsim.report.picture import save_picture

Array = NDArray[np.float64]
SIZE_IN = (11.0, 7.4)
SAMPLES = 900
SMALL = 6.2
WIDE = 0.485
"""Width of the left column, share of the sheet."""


def draw_lap(found: Lap, path: Path) -> Path:
    """Draw a lap into a picture file; raises as `save_picture` does."""
    return save_picture(lambda: lap_figure(found), path)


def lap_figure(found: Lap) -> Figure:
    """The sheet as a figure."""
    figure = Figure(figsize=SIZE_IN)
    plan = found.plan
    title = f"{found.craft} on {plan.course.name}"
    figure.text(0.04, 0.955, title, fontsize=15, fontweight="bold", va="center", parse_math=False)
    figure.text(0.965, 0.955, _words(found), fontsize=8.5, va="center", ha="right", color=palette.INK_SOFT)
    line, flown = plan.line, flown_places(found.flown.run, found.flown_plan)
    times = np.linspace(0.0, line.total, SAMPLES)
    places, speeds = line.spline.at(times), np.linalg.norm(line.spline.at(times, 1), axis=1)
    inside = flown[0] <= found.flown_plan.line.total
    size = (plan.course.field.high - plan.course.field.low)[:2]
    tall = min(WIDE * SIZE_IN[0] / SIZE_IN[1] * float(size[1] / size[0]), 0.525)
    ax = figure.add_axes((0.04, 0.89 - tall, WIDE, tall))
    course = draw_course(ax, plan.course, places, speeds, flown[1][inside])
    speed_scale(figure, (0.345, 0.905, 0.18, 0.011), course)
    _height(figure.add_axes((0.04, 0.075, WIDE, 0.725 - tall)), found, places, flown[1][inside])
    _asked(figure, found, times, speeds)
    _legs(figure.add_axes((0.575, 0.265, 0.39, 0.105)), found)
    _rooms(figure.add_axes((0.575, 0.075, 0.39, 0.105)), found)
    return figure


def _words(found: Lap) -> str:
    planned = f"planned {float(np.min(found.plan.lap_times)):.2f} s a lap"
    if not found.holds:
        return f"{planned}; not held by the control laws"
    low, high = found.interval
    return f"{planned}, flown {found.best_flown:.2f} s; 80 % in wind and scatter: {low:.2f} to {high:.2f} s"


def _along(places: Array) -> Array:
    """Distance flown since the start [m]."""
    return np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(places, axis=0), axis=1))])


def _height(ax: Axes, found: Lap, places: Array, flown: Array) -> None:
    """Planned and flown, each over its own distance, with the openings of the gates."""
    head_panel(ax, "Height over distance", "m")
    line = found.plan.line
    along = _along(places)
    ax.plot(along, -places[:, 2], color=palette.WANTED, linewidth=1.5, zorder=3)
    if len(flown) > 1:
        other = _along(flown)  # drawn over the planned distance, so that the gates stand at one place
        ax.plot(other * along[-1] / other[-1], -flown[:, 2], color=palette.FLOWN, linewidth=0.8, zorder=4)
    at = np.interp(line.times, np.linspace(0.0, line.total, len(along)), along)
    for place, gate in zip(at.tolist(), line.gates, strict=True):
        low = -float(gate.centre[2]) - 0.5 * gate.height
        ax.plot(
            [place, place],
            [low, low + gate.height],
            color=palette.INK,
            linewidth=2.0,
            zorder=2,
            clip_on=False,
        )
    ax.set_xlim(0.0, float(along[-1]))
    ax.set_ylim(0.0, None)
    ax.set_xlabel("m along the planned line; bars: openings of the gates", labelpad=2.0, loc="right")


def _asked(figure: Figure, found: Lap, times: Array, speeds: Array) -> None:
    """Speed, thrust and bank over time, with marks at the gates."""
    line, limits = found.plan.line, found.plan.limits
    v, a = line.spline.at(times, 1), line.spline.at(times, 2)
    f = limits.force(v, a)
    size = np.linalg.norm(f, axis=1)
    climb = np.maximum(np.sum(v * f, axis=1) / size, 0.0)
    share = 100.0 * size / limits.greatest(speeds, climb)
    bank = np.degrees(np.arccos(np.clip(-f[:, 2] / size, -1.0, 1.0)))
    panels = (
        ("Speed", "m/s", speeds, None, None),
        ("Thrust, of what may be used", "%", share, 100.0, 50.0),
        ("Bank of the thrust", "deg", bank, float(np.degrees(limits.tilt)), 30.0),
    )
    for k, (title, unit, values, limit, step) in enumerate(panels):
        ax = figure.add_axes((0.575, 0.785 - 0.16 * k, 0.39, 0.105))
        head_panel(ax, title, unit)
        ax.plot(times, values, color=palette.WANTED, linewidth=1.3, zorder=3)
        if limit is not None:
            _bound(ax, limit, "the limit")
        if step is not None:
            ax.yaxis.set_major_locator(MultipleLocator(step))
        ax.set_xlim(0.0, line.total)
        ax.set_ylim(0.0, (1.12 if k else 1.3) * max(float(np.max(values)), limit or 0.0))
        for at in line.times.tolist():
            ax.axvline(at, color=palette.INK_SOFT, linewidth=0.5, zorder=1, clip_on=False)
        if k == 0:
            _numbers(ax, line.times)
        if k == len(panels) - 1:
            ax.set_xlabel("s since the start signal; upright lines: gates", labelpad=2.0, loc="right")
        else:
            ax.tick_params(labelbottom=False)


def _numbers(ax: Axes, times: Array) -> None:
    """The gates' numbers in the order of flight at their lines, under the upper edge."""
    for n, at in enumerate(times.tolist()):
        ax.annotate(
            str(n + 1), (at, 1.0), (-1.5, -1.0), xycoords=("data", "axes fraction"), textcoords="offset points", ha="right",
            va="top", fontsize=SMALL, color=palette.INK_SOFT,
        )  # fmt: skip


def _bound(ax: Axes, at: float, words: str) -> None:
    """A dashed line that should not be passed, and what it is, over the panel's right end."""
    ax.axhline(at, color=palette.ALARM, linewidth=0.8, linestyle=(0, (4, 2)), zorder=4)
    ax.text(
        1.0, 1.035, f"dashed: {words}", transform=ax.transAxes, fontsize=SMALL, color=palette.ALARM, ha="right", va="bottom"
    )  # fmt: skip


def _legs(ax: Axes, found: Lap) -> None:
    """Time to each gate from the one before, planned and flown."""
    head_panel(ax, "From gate to gate: planned (ochre) and flown (blue)", "s")
    passages = found.flown.passages
    planned = np.diff(found.plan.line.times, prepend=0.0)
    flown = np.diff([one.flown_s for one in passages], prepend=0.0)
    at = np.arange(len(passages))
    ax.bar(at - 0.19, planned, width=0.34, color=palette.WANTED, zorder=2)
    ax.bar(at + 0.19, np.nan_to_num(flown), width=0.34, color=palette.FLOWN, zorder=2)
    _gate_axis(ax, passages)
    ax.tick_params(labelbottom=False)


def _rooms(ax: Axes, found: Lap) -> None:
    """Least distance from the outline to each frame."""
    head_panel(ax, "Smallest room to each frame, as flown", "m")
    passages = found.flown.passages
    rooms = np.array([one.room_m for one in passages])
    least = float(found.plan.course.clearance)
    tones = [palette.ALARM if room < least else palette.FLOWN for room in rooms]
    ax.bar(np.arange(len(rooms)), np.maximum(np.nan_to_num(rooms), 0.0), width=0.55, color=tones, zorder=2)
    _bound(ax, least, "declared clearance")
    _missed(ax, passages)
    _gate_axis(ax, passages)
    ax.set_xlabel("gate, in the order of flight", labelpad=2.0, loc="right")


def _missed(ax: Axes, passages: list[Passage]) -> None:
    for k, one in enumerate(passages):
        if not one.passed:
            words = "missed" if np.isnan(one.flown_s) else "struck"
            ax.annotate(
                words, (k, 0.0), (0, 3.0), textcoords="offset points", ha="center", va="bottom", fontsize=SMALL,
                color=palette.ALARM, zorder=4, rotation=90,
            )  # fmt: skip


def _gate_axis(ax: Axes, passages: list[Passage]) -> None:
    ax.set_xlim(-0.6, len(passages) - 0.4)
    ax.set_ylim(0.0, 1.12 * ax.get_ylim()[1])
    ax.set_xticks(np.arange(len(passages)), [one.gate for one in passages])
    ax.grid(False, axis="x")
