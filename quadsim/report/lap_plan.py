"""A line over its course seen from above, coloured by speed: forward to the right, the right side down."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.colors import LinearSegmentedColormap, Normalize
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Rectangle
from numpy.typing import NDArray

from quadsim.config.course import Course, Gate
from quadsim.report import palette

Array = NDArray[np.float64]
SPEEDS = LinearSegmentedColormap.from_list("speeds", ["#efd489", palette.WANTED, "#4a2400"])
"""Slow to fast: light to dark ochre, so that it reads without hues."""
EDGE = 0.03
"""Share of the field's longer side that is drawn around it."""


def draw_course(ax: Axes, course: Course, places: Array, speeds: Array, flown: Array) -> LineCollection:
    """Field, obstacles, gates and the line (n, 3) at speeds (n,) [m/s]; flown : places (m, 3) of a flight."""
    low, high = course.field.low, course.field.high
    edge = EDGE * float(np.max((high - low)[:2]))
    ax.set_aspect("equal", adjustable="box", anchor="N")
    ax.set_xlim(low[0] - edge, high[0] + edge)
    ax.set_ylim(high[1] + edge, low[1] - edge)
    for spine in ax.spines.values():
        spine.set_visible(False)
    ax.tick_params(length=0.0)
    ax.add_patch(
        Rectangle(
            (low[0], low[1]),
            *(high - low)[:2],
            fill=False,
            edgecolor=palette.INK_SOFT,
            linewidth=1.4 if course.field.net else 0.7,
        )
    )
    _obstacles(ax, course)
    ways = np.stack([places[:-1, :2], places[1:, :2]], axis=1)
    line = LineCollection(
        list(ways), cmap=SPEEDS, norm=Normalize(0.0, float(speeds.max())), linewidth=2.4, zorder=3
    )
    line.set_array(0.5 * (speeds[:-1] + speeds[1:]))
    line.set_capstyle("round")
    ax.add_collection(line)
    ax.plot(flown[:, 0], flown[:, 1], color=palette.FLOWN, linewidth=1.3, zorder=2)
    _gates(ax, course, edge)
    ax.plot(*course.start.place[:2], "s", color=palette.INK, markersize=4.5, zorder=6)
    _note(ax, course.start.place[0], course.start.place[1] + 1.1 * edge, "start")
    ax.set_xlabel("m forward; down: m to the right", labelpad=2.0, loc="right")
    return line


def speed_scale(figure: Figure, place: tuple[float, float, float, float], line: LineCollection) -> None:
    """The scale of the line's colours, with words beside it."""
    ax = figure.add_axes(place)
    figure.colorbar(line, cax=ax, orientation="horizontal")
    ax.tick_params(labelsize=6.2, length=0.0, pad=1.5, labeltop=True, labelbottom=False)
    for spine in ax.spines.values():
        spine.set_visible(False)
    middle = place[1] + 0.5 * place[3]
    figure.text(
        place[0] - 0.008, middle, "planned, by speed in m/s", fontsize=7.0, ha="right", va="center", color=palette.INK_SOFT
    )  # fmt: skip
    figure.text(0.04, middle, "flown in still air", fontsize=7.0, va="center", color=palette.FLOWN)


def _obstacles(ax: Axes, course: Course) -> None:
    for box in course.boxes:
        ax.add_patch(
            Rectangle(
                (box.low[0], box.low[1]),
                *(box.high - box.low)[:2],
                facecolor=palette.CARD,
                edgecolor=palette.INK_SOFT,
                linewidth=0.6,
                hatch="////",
            )
        )
        middle = 0.5 * (box.low + box.high)
        _note(ax, middle[0], middle[1], box.name)
    for post in course.posts:
        ax.add_patch(Circle((post.place[0], post.place[1]), post.radius, color=palette.INK, zorder=5))
        ax.plot(*post.place, "o", color=palette.INK, markersize=3.0, zorder=5)  # a thin one is seen too


def _gates(ax: Axes, course: Course, edge: float) -> None:
    """Each as a bar, its direction as an arrow, its number in the order of flight beside its right end."""
    for gate, words in _numbered(course):
        middle, ahead, right = gate.centre[:2], gate.forward[:2], gate.right[:2]
        ends = np.stack([middle - 0.5 * gate.width * right, middle + 0.5 * gate.width * right])
        ax.plot(ends[:, 0], ends[:, 1], color=palette.INK, linewidth=2.4, solid_capstyle="butt", zorder=5)
        style = {"arrowstyle": "-|>", "color": palette.INK, "linewidth": 0.8, "shrinkA": 0, "shrinkB": 0}
        for end in ends:
            tip = end + 0.9 * edge * ahead
            ax.annotate("", tuple(tip), tuple(end), arrowprops=style, zorder=5)
        side = middle + (0.5 * gate.width + 1.1 * edge) * right
        _note(ax, side[0], side[1], words, bold=True)


def _numbered(course: Course) -> list[tuple[Gate, str]]:
    """Every gate once with what it is called: its numbers in the order of flight, and its name where it has another."""
    found: dict[tuple[float, ...], tuple[Gate, list[int]]] = {}
    for k, gate in enumerate(course.gates):
        found.setdefault((*gate.centre.tolist(), gate.heading), (gate, []))[1].append(k + 1)
    named = []
    for gate, numbers in found.values():
        own = ", ".join(map(str, numbers))
        name = gate.name
        named.append((gate, own if name == own else f"{own} {name}"))
    return named


def _note(ax: Axes, x: float, y: float, words: str, bold: bool = False) -> None:
    halo = {"facecolor": palette.PAPER, "edgecolor": "none", "pad": 0.5, "alpha": 0.85}
    ax.text(
        x, y, words, fontsize=7.4 if bold else 6.2, fontweight="bold" if bold else "normal", ha="center", va="center",
        bbox=halo, zorder=7, parse_math=False,
    )  # fmt: skip
