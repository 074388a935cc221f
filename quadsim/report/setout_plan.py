"""The plan of a course seen from above: base line to the right, its right side down; gates, pegs, way, and where people stand."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Circle, Polygon, Rectangle

from quadsim.config.course import Course
from quadsim.planning.setout import Setout, crowd_line, way_through
from quadsim.report import palette
from quadsim.report.setout_words import Sheet

SMALL = 5.6
EDGE = 0.04
"""Share of the field's longer side that is drawn around it."""
HALO: dict[str, Any] = {"facecolor": palette.PAPER, "edgecolor": "none", "pad": 0.6, "alpha": 0.8}


def draw_plan(axes: Axes, one: Setout) -> None:
    """The field with everything that is pegged."""
    course = one.course
    _bare(axes)
    low, high = course.field.low, course.field.high
    edge = EDGE * float(np.max((high - low)[:2]))
    axes.set_xlim(low[0] - edge, max(high[0], one.base) + edge)
    axes.set_ylim(high[1] + edge, low[1] - edge)
    _metres(axes, low, high)
    _field(axes, course)
    _base_line(axes, one)
    way = way_through(course)
    axes.plot(way[:, 0], way[:, 1], color=palette.FLOWN, linewidth=0.7, alpha=0.55)
    _obstacles(axes, course)
    _gates(axes, one, 0.5 * edge)
    start = course.start
    ahead = np.array([math.cos(start.heading), math.sin(start.heading)]) * 0.8 * edge
    _arrow(axes, start.place[:2], ahead, palette.INK)
    axes.plot(*start.place[:2], "s", color=palette.INK, markersize=4.0)
    _note(axes, start.place[0], start.place[1] + 0.5 * edge, "start")


def draw_people(axes: Axes, sheet: Sheet) -> None:
    """The line of people around the course, and where a craft that fails may come down."""
    course = sheet.setout.course
    _bare(axes)
    way = way_through(course, 40)
    line = crowd_line(way, sheet.crowd_m)
    for place in way:
        axes.add_patch(
            Circle(
                (place[0], place[1]), sheet.throw.distance_m, facecolor=palette.ALARM_PALE, edgecolor="none"
            )
        )
    axes.add_patch(Polygon(line, closed=True, fill=False, edgecolor=palette.ALARM, linewidth=1.1))
    low, high = course.field.low, course.field.high
    size = (high - low)[:2]
    axes.add_patch(
        Rectangle((low[0], low[1]), *size, facecolor=palette.PAPER, edgecolor=palette.INK_SOFT, linewidth=0.5)
    )
    axes.plot(way[:, 0], way[:, 1], color=palette.FLOWN, linewidth=0.8)
    room = 0.05 * float(np.ptp(line[:, 0]))
    axes.set_xlim(line[:, 0].min() - room, line[:, 0].max() + room)
    axes.set_ylim(line[:, 1].max() + room, line[:, 1].min() - room)
    top = line[np.argmin(line[:, 1])]
    _note(axes, top[0], top[1], f"people beyond, {sheet.crowd_m:.0f} m from the flight", palette.ALARM)


def _bare(axes: Axes) -> None:
    axes.set_aspect("equal", adjustable="box")
    axes.set_xticks([])
    axes.set_yticks([])
    axes.grid(False)
    for spine in axes.spines.values():
        spine.set_visible(False)


def _metres(axes: Axes, low: np.ndarray, high: np.ndarray) -> None:
    """A grid of 10 m, of 2 m on a small field, with its numbers along two sides."""
    step = 10.0 if float(np.max((high - low)[:2])) > 40.0 else 2.0
    for axis in range(2):
        first = math.ceil(low[axis] / step)
        for k in range(first, math.floor(high[axis] / step) + 1):
            at, other = k * step, 1 - axis
            ends = [[at, at], [low[other], high[other]]]
            axes.plot(*(ends if axis == 0 else ends[::-1]), color=palette.RULE, linewidth=0.35, zorder=0)
            x, y = (at, high[1]) if axis == 0 else (low[0], at)
            axes.annotate(
                f"{at:g}", (x, y), (0, -3) if axis == 0 else (-3, 0), textcoords="offset points", fontsize=SMALL,
                color=palette.INK_SOFT, ha="center" if axis == 0 else "right", va="top" if axis == 0 else "center",
            )  # fmt: skip


def _field(axes: Axes, course: Course) -> None:
    low, high = course.field.low, course.field.high
    size = (high - low)[:2]
    axes.add_patch(Rectangle((low[0], low[1]), *size, fill=False, edgecolor=palette.INK_SOFT, linewidth=0.8))
    for ends in (((low[0], high[0]), (low[1], high[1])), ((low[0], high[0]), (high[1], low[1]))):
        axes.plot(*ends, color=palette.RULE, linewidth=0.7, linestyle=(0, (6, 3)), zorder=1)


def _base_line(axes: Axes, one: Setout) -> None:
    axes.plot([0.0, one.base], [0.0, 0.0], color=palette.WANTED, linewidth=1.0, linestyle=(0, (8, 2, 1.5, 2)))
    corner = one.square
    axes.add_patch(
        Polygon(
            [(0.0, 0.0), (corner.along, 0.0), (0.0, corner.across)], closed=True, fill=False,
            edgecolor=palette.WANTED, linewidth=0.5,
        )
    )  # fmt: skip
    for at, name in ((0.0, "O"), (one.base, "E")):
        axes.plot(at, 0.0, "o", color=palette.WANTED, markersize=3.5)
        axes.annotate(
            name, (at, 0.0), (-6, 6), textcoords="offset points", fontsize=8.0, fontweight="bold", color=palette.WANTED
        )  # fmt: skip


def _obstacles(axes: Axes, course: Course) -> None:
    for box in course.boxes:
        size = (box.high - box.low)[:2]
        axes.add_patch(
            Rectangle(
                (box.low[0], box.low[1]), *size, facecolor=palette.CARD, edgecolor=palette.INK_SOFT, linewidth=0.6, hatch="////"
            )
        )  # fmt: skip
        middle = 0.5 * (box.low + box.high)
        _note(axes, middle[0], middle[1], box.name)
    for post in course.posts:
        axes.plot(*post.place, "o", color=palette.INK, markersize=3.5)
        axes.annotate(
            post.name,
            (float(post.place[0]), float(post.place[1])),
            (4, -6),
            textcoords="offset points",
            fontsize=SMALL,
        )


def _gates(axes: Axes, one: Setout, reach: float) -> None:
    """Each as a bar with its arrow, name, and the numbers of its passages where these differ."""
    for frame in one.frames:
        ends = np.array([[peg.forward, peg.right] for peg in (frame.left, frame.right)])
        turn = math.radians(frame.heading_deg)
        ahead = np.array([math.cos(turn), math.sin(turn)])
        middle = ends.mean(axis=0)
        _arrow(axes, middle, 2.0 * reach * ahead, palette.FLOWN)
        axes.plot(ends[:, 0], ends[:, 1], color=palette.INK, linewidth=2.2, solid_capstyle="butt")
        numbers = ", ".join(map(str, frame.passages))
        words = frame.name if frame.name == numbers else f"{numbers}: {frame.name}"
        side = middle - ahead * 1.1 * reach
        across = 0.5 * frame.width + 1.1 * reach
        side = side + across * np.array([-ahead[1], ahead[0]])
        _note(axes, side[0], side[1], words, bold=True)


def _arrow(axes: Axes, at: np.ndarray, along: np.ndarray, colour: str) -> None:
    style = {"arrowstyle": "-|>", "color": colour, "linewidth": 0.9, "shrinkA": 0, "shrinkB": 0}
    axes.annotate("", tuple(at + along), tuple(at), arrowprops=style)


def _note(axes: Axes, x: float, y: float, words: str, colour: str = palette.INK, bold: bool = False) -> None:
    axes.text(
        x, y, words, fontsize=6.6 if bold else SMALL, color=colour, ha="center", va="center", bbox=HALO, zorder=5,
        fontweight="bold" if bold else "normal", parse_math=False,
    )  # fmt: skip
