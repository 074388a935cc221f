"""Where everything stands on the layout screen: title line with its words, the map, the heights, the panel.

Lengths are pixels of a 1280 x 720 frame, as in `layout`; what is left over goes to the map.
"""

from __future__ import annotations

from dataclasses import dataclass

from quadsim.viewer.layout import BASE, Rect, make_layout

TITLE, PANEL, HEIGHTS, RULER = 50, 300, 138, 27
ROW, HEAD, ACTIONS, ACTION_ROW = 28, 62, 4, 30
TOOL, TOOL_HIGH = 66, 28
WORDS = ("undo", "redo", "snap", "help", "save", "fly")
"""Words of the title line, from the left."""
WORD = 62
TOOLS = ("gate", "post", "box", "fit")
MOST_ROWS = 8
"""Rows of the longest panel: the name and the numbers of a box, or of a gate."""


@dataclass(frozen=True)
class PlanLayout:
    """Rectangles of one frame size; no two of title, words, map, rulers, heights and panel overlap."""

    size: tuple[int, int]
    scale: float
    title: Rect
    words: dict[str, Rect]
    map: Rect
    ruler_left: Rect
    ruler_below: Rect
    heights: Rect
    panel: Rect
    rows: tuple[Rect, ...]
    """Rows of the panel; each has a minus, a value and a plus at its right end."""
    actions: tuple[Rect, ...]
    faults: Rect
    tools: dict[str, Rect]
    """Over the map."""
    help: Rect

    def px(self, length: float) -> int:
        """A length of the 1280 x 720 frame on this one."""
        return round(length * self.scale)

    def steppers(self, row: Rect) -> tuple[Rect, Rect, Rect]:
        """Minus, value and plus of a row."""
        edge, value = row.h, self.px(78)
        plus = Rect(row.right - edge, row.y, edge, row.h)
        middle = Rect(plus.x - value, row.y, value, row.h)
        return Rect(middle.x - edge, row.y, edge, row.h), middle, plus


def make_plan_layout(size: tuple[int, int]) -> PlanLayout:
    """Lay out a frame of `size` [px]; InputError as `make_layout` says."""
    width, height = make_layout(size).size
    scale = min(width / BASE[0], height / BASE[1])

    def px(length: float) -> int:
        return round(length * scale)

    left, top, ruler = width - px(PANEL), px(TITLE), px(RULER)
    below = height - px(HEIGHTS)
    words = {
        name: Rect(width - px(12) - px(WORD) * (len(WORDS) - k), px(9), px(WORD) - px(4), top - px(18))
        for k, name in enumerate(WORDS)
    }
    area = Rect(ruler, top, left - ruler, below - ruler - top)
    panel = Rect(left, top, width - left, height - top)
    inner = panel.inset(px(14), px(10))
    rows = tuple(
        Rect(inner.x, inner.y + px(HEAD) + k * px(ROW), inner.w, px(ROW) - px(3)) for k in range(MOST_ROWS)
    )
    actions_top = rows[-1].bottom + px(10)
    half = (inner.w - px(6)) // 2
    actions = tuple(
        Rect(
            inner.x + (k % 2) * (half + px(6)),
            actions_top + (k // 2) * px(ACTION_ROW),
            half,
            px(ACTION_ROW) - px(6),
        )
        for k in range(2 * ACTIONS)
    )
    faults_top = actions[-1].bottom + px(14)
    tools = {
        name: Rect(area.x + px(10) + k * px(TOOL), area.y + px(10), px(TOOL) - px(4), px(TOOL_HIGH))
        for k, name in enumerate(TOOLS)
    }
    wide, high = min(px(700), area.w - px(24)), min(px(446), area.h - px(16))
    help_card = Rect(area.x + (area.w - wide) // 2, area.y + (area.h - high) // 2, wide, high)
    return PlanLayout(
        (width, height), scale, Rect(px(14), 0, words["undo"].x - px(28), top), words, area,
        Rect(0, top, ruler, area.h), Rect(ruler, area.bottom, area.w, ruler),
        Rect(0, below, left, height - below), panel, rows, actions,
        Rect(inner.x, faults_top, inner.w, inner.bottom - faults_top), tools, help_card,
    )  # fmt: skip
