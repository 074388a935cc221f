"""The plan of a course seen from above: base line to the right, its right side down; gates, pegs, way, and where people stand."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Circle, Polygon, Rectangle

from quadsim.config.course import Course
from quadsim.planning.setout import Peg, Setout, crowd_line
from quadsim.report import palette
from quadsim.report.labels import label_places
from quadsim.report.setout_words import Sheet

SMALL, NAME = 5.6, 6.8
COLOURS = {"O": palette.WANTED, "E": palette.WANTED, "fastest": palette.ALARM}
"""Of names that are no gate's."""
CIRCLES = 80
"""Of the footprint along the way."""
EDGE = 0.04
"""Share of the field's longer side that is drawn around it."""
HALO: dict[str, Any] = {"facecolor": palette.PAPER, "edgecolor": "none", "pad": 0.6, "alpha": 0.8}


def draw_plan(axes: Axes, sheet: Sheet) -> None:
    """The field with everything that is pegged, and the way of the flight."""
    one, way = sheet.setout, sheet.people.way
    course = one.course
    _bare(axes)
    low, high = course.field.low, course.field.high
    edge = EDGE * float(np.max((high - low)[:2]))
    axes.set_xlim(low[0] - edge, max(high[0], one.base) + edge)
    axes.set_ylim(high[1] + edge, low[1] - edge)
    _metres(axes, low, high)
    _field(axes, one)
    _base_line(axes, one)
    axes.plot(way[:, 0], way[:, 1], color=palette.FLOWN, linewidth=0.7, alpha=0.55)
    _obstacles(axes, course)
    _gates(axes, one, 0.5 * edge)
    _names(axes, sheet, 0.35 * edge)
    start = course.start
    ahead = np.array([math.cos(start.heading), math.sin(start.heading)]) * 0.8 * edge
    _arrow(axes, start.place[:2], ahead, palette.INK)
    axes.plot(*start.place[:2], "s", color=palette.INK, markersize=4.0)
    _note(axes, start.place[0], start.place[1] + 0.5 * edge, "start")


def draw_people(axes: Axes, sheet: Sheet) -> None:
    """The line of people around the course, and where a craft that fails may come down."""
    course = sheet.setout.course
    _bare(axes)
    people = sheet.people
    way, line = people.way, crowd_line(people.way, sheet.crowd_m)
    for k in np.unique(np.linspace(0, len(way) - 1, CIRCLES).astype(int)):
        reach = float(people.reaches[k])
        axes.add_patch(Circle((way[k, 0], way[k, 1]), reach, facecolor=palette.ALARM_PALE, edgecolor="none"))
    axes.add_patch(Polygon(line, closed=True, fill=False, edgecolor=palette.ALARM, linewidth=1.1))
    low, high = course.field.low, course.field.high
    size = (high - low)[:2]
    axes.add_patch(
        Rectangle((low[0], low[1]), *size, facecolor=palette.PAPER, edgecolor=palette.INK_SOFT, linewidth=0.5)
    )
    axes.plot(way[:, 0], way[:, 1], color=palette.FLOWN, linewidth=0.8)
    if people.fastest is not None:
        axes.plot(*people.fastest[:2], "o", color=palette.ALARM, markersize=2.5)
    room = 0.04 * float(np.ptp(line[:, 0]))
    axes.set_xlim(line[:, 0].min() - room, line[:, 0].max() + room)
    axes.set_ylim(line[:, 1].max() + room, line[:, 1].min() - 3.0 * room)
    x, y = 0.5 * (line[:, 0].min() + line[:, 0].max()), line[:, 1].min() - 0.8 * room
    words = f"people beyond this line, {sheet.crowd_m:.0f} m from the flight"
    axes.text(x, y, words, fontsize=SMALL, color=palette.ALARM, ha="center", va="bottom")


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

    for words, x, y, across, up in (
        ("along", high[0], high[1], "right", "top"),
        ("offset", low[0], low[1], "left", "bottom"),
    ):
        away = (0, -11) if words == "along" else (-12, 5)
        axes.annotate(
            f"{words} [m]", (x, y), away, textcoords="offset points", fontsize=SMALL, color=palette.INK_SOFT, ha=across, va=up
        )  # fmt: skip


def _field(axes: Axes, one: Setout) -> None:
    low, high = one.course.field.low, one.course.field.high
    size = (high - low)[:2]
    axes.add_patch(Rectangle((low[0], low[1]), *size, fill=False, edgecolor=palette.INK_SOFT, linewidth=0.8))
    for ends in (((low[0], high[0]), (low[1], high[1])), ((low[0], high[0]), (high[1], low[1]))):
        axes.plot(*ends, color=palette.RULE, linewidth=0.7, linestyle=(0, (6, 3)), zorder=1)
    middle = 0.5 * (low + high)[:2]
    for peg in one.corners:
        at = np.array([peg.forward, peg.right])
        at = at + 0.035 * (middle - at)
        _note(axes, at[0], at[1], peg.name, palette.INK_SOFT)


def _base_line(axes: Axes, one: Setout) -> None:
    axes.plot([0.0, one.base], [0.0, 0.0], color=palette.WANTED, linewidth=1.0, linestyle=(0, (8, 2, 1.5, 2)))
    corner = one.square
    axes.add_patch(
        Polygon(
            [(0.0, 0.0), (corner.along, 0.0), (0.0, corner.across)], closed=True, fill=False,
            edgecolor=palette.WANTED, linewidth=0.5,
        )
    )  # fmt: skip
    along, across = corner.along, corner.across
    for x, y, length in (
        (0.5 * along, 0.0, along),
        (0.0, 0.5 * across, across),
        (0.5 * along, 0.5 * across, corner.between),
    ):
        _note(axes, x, y, f"{length:g}", palette.WANTED)
    axes.plot([0.0, one.base], [0.0, 0.0], "o", color=palette.WANTED, markersize=3.5)


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
    """Each as a bar with an arrow from the side where it is flown into."""
    for frame in one.frames:
        ends = np.array([[peg.forward, peg.right] for peg in (frame.left, frame.right)])
        turn = math.radians(frame.heading_deg)
        ahead = np.array([math.cos(turn), math.sin(turn)])
        middle = ends.mean(axis=0)
        _arrow(axes, middle - reach * ahead, 3.0 * reach * ahead, palette.FLOWN)
        axes.plot(ends[:, 0], ends[:, 1], color=palette.INK, linewidth=2.2, solid_capstyle="butt")


def _names(axes: Axes, sheet: Sheet, reach: float) -> None:
    """Ends of the base line, gates with the numbers of their passages, and where the lap is fastest, where they cover little."""
    one, people = sheet.setout, sheet.people
    names, middles = ["O", "E"], [[0.0, 0.0], [one.base, 0.0]]
    for frame in one.frames:
        numbers = ", ".join(map(str, frame.passages))
        names.append(frame.name if frame.name == numbers else f"{numbers}: {frame.name}")
        middles.append([0.5 * (a + b) for a, b in zip(_at(frame.left), _at(frame.right), strict=True)])
    if people.fastest is not None:
        axes.plot(*people.fastest[:2], "o", color=palette.ALARM, markersize=3.0)
        names.append("fastest")
        middles.append(people.fastest[:2].tolist())
    places = label_places(names, np.array(middles), reach, _drawn(sheet), _metres_per_mm(axes), NAME)
    for name, at in zip(names, places, strict=True):
        _note(axes, at[0], at[1], name, COLOURS.get(name, palette.INK), bold=True)


def _at(peg: Peg) -> tuple[float, float]:
    return peg.forward, peg.right


def _drawn(sheet: Sheet) -> np.ndarray:
    """Points (n, 2) that names should not cover: the way, gates with their arrows, posts, corners of boxes, start, O, E."""
    one = sheet.setout
    share = np.linspace(0.0, 1.0, 9)[:, None]
    bars = [
        np.array(_at(f.left)) * (1.0 - share) + np.array(_at(f.right)) * share
        for f in (*one.frames, *one.frames)
    ]
    pegs = np.array([_at(peg) for peg in (*one.others, *one.corners)])
    ends = np.array([[0.0, 0.0], [one.base, 0.0]])
    line = ends[0] + np.linspace(0.0, 1.0, 60)[:, None] * ends[1]
    return np.concatenate([sheet.people.way[:, :2], *bars, *[pegs] * 4, *[ends] * 8, line])


def _metres_per_mm(axes: Axes) -> float:
    """The plan's scale on the paper."""
    figure = axes.get_figure(root=True)
    assert figure is not None
    place, page = axes.get_position(), figure.get_size_inches() * 25.4
    (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()
    return float(max((right - left) / (place.width * page[0]), abs(high - low) / (place.height * page[1])))


def _arrow(axes: Axes, at: np.ndarray, along: np.ndarray, colour: str) -> None:
    style = {"arrowstyle": "-|>", "color": colour, "linewidth": 0.9, "shrinkA": 0, "shrinkB": 0}
    axes.annotate("", tuple(at + along), tuple(at), arrowprops=style)


def _note(axes: Axes, x: float, y: float, words: str, colour: str = palette.INK, bold: bool = False) -> None:
    axes.text(
        x, y, words, fontsize=NAME if bold else SMALL, color=colour, ha="center", va="center", bbox=HALO, zorder=5,
        fontweight="bold" if bold else "normal", parse_math=False,
    )  # fmt: skip
