"""Where everything stands on a frame: rectangles for any size, and nothing else.

All lengths below are pixels of a 1280 x 720 frame; larger frames scale them up, and what is left over in width or
height goes to the scene and the charts.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

from quadsim.errors import InputError

BASE = (1280, 720)
LEAST = (960, 540)
MOST = (7680, 4320)

HEADER, INSTRUMENTS, TIMEBAR, COLUMN = 50, 84, 76, 330
PAD = 12
STICKS = 176
CELLS = ("height", "speed", "heading", "tilt", "wind", "cell", "pack", "charge")
CHARTS = (
    ("height", 1.35),
    ("roll", 1.0),
    ("pitch", 1.0),
    ("motors", 1.75),
    ("voltage", 0.9),
    ("current", 0.9),
)
"""Strip charts from the top down with their share of the height."""
TIME_LABELS = 16


class Rect(NamedTuple):
    """Rectangle: left, top, width, height [px]."""

    x: int
    y: int
    w: int
    h: int

    @property
    def right(self) -> int:
        """First column beyond."""
        return self.x + self.w

    @property
    def bottom(self) -> int:
        """First row beyond."""
        return self.y + self.h

    def inset(self, dx: int, dy: int | None = None) -> Rect:
        """Smaller by `dx` left and right and `dy` (default the same) above and below."""
        dy = dx if dy is None else dy
        return Rect(self.x + dx, self.y + dy, self.w - 2 * dx, self.h - 2 * dy)

    def holds(self, at: tuple[float, float]) -> bool:
        """True when a point lies inside."""
        return self.x <= at[0] < self.right and self.y <= at[1] < self.bottom

    def meets(self, other: Rect) -> bool:
        """True when two rectangles share a pixel."""
        return (
            self.x < other.right and other.x < self.right and self.y < other.bottom and other.y < self.bottom
            and min(self.w, self.h, other.w, other.h) > 0
        )  # fmt: skip

    def encloses(self, other: Rect) -> bool:
        """True when `other` lies wholly inside."""
        return (
            self.x <= other.x
            and self.y <= other.y
            and other.right <= self.right
            and other.bottom <= self.bottom
        )


@dataclass(frozen=True)
class Layout:
    """Rectangles of one frame size. `scale` is the size of letters and pads relative to 1280 x 720."""

    size: tuple[int, int]
    scale: float
    panels: dict[str, Rect]
    """title, clock, scene, sticks, time bar (`times`), and one per readout and chart; no two overlap."""
    insets: dict[str, Rect]
    """What lies over the scene: caption, camera, verdict; no two overlap, all inside the scene."""
    help: Rect

    def px(self, length: float) -> int:
        """A length of the 1280 x 720 frame on this one."""
        return round(length * self.scale)


def make_layout(size: tuple[int, int]) -> Layout:
    """Lay out a frame of `size` [px].

    Raises
    ------
    InputError
        when the frame is too small to read or beyond any screen.
    """
    width, height = (int(edge) for edge in size)
    if not (LEAST[0] <= width <= MOST[0] and LEAST[1] <= height <= MOST[1]):
        raise InputError(
            f"the size is {width} x {height} px; must be from {LEAST[0]} x {LEAST[1]} to {MOST[0]} x {MOST[1]} px. "
            f"{BASE[0]} x {BASE[1]} is the usual one"
        )
    scale = min(width / BASE[0], height / BASE[1])

    def px(length: float) -> int:
        return round(length * scale)

    column = Rect(width - px(COLUMN), px(HEADER), px(COLUMN), height - px(HEADER) - px(TIMEBAR))
    left = column.x
    scene = Rect(0, px(HEADER), left, height - px(HEADER) - px(INSTRUMENTS) - px(TIMEBAR))
    strip = Rect(0, scene.bottom, left, px(INSTRUMENTS))
    panels = {
        "title": Rect(px(PAD), 0, left - px(PAD), px(HEADER)),
        "clock": Rect(left, 0, width - left, px(HEADER)),
        "scene": scene,
        "sticks": Rect(strip.right - px(STICKS), strip.y, px(STICKS), strip.h),
        "times": Rect(0, height - px(TIMEBAR), width, px(TIMEBAR)),
        **_cells(Rect(0, strip.y, strip.w - px(STICKS), strip.h)),
        **_charts(column, px),
    }
    wide, high = min(px(760), scene.w - px(2 * PAD)), min(px(420), scene.h - px(2 * PAD))
    help_card = Rect(scene.x + (scene.w - wide) // 2, scene.y + (scene.h - high) // 2, wide, high)
    return Layout((width, height), scale, panels, _insets(scene, px), help_card)


def _insets(scene: Rect, px: Callable[[float], int]) -> dict[str, Rect]:
    """What lies over the scene."""
    card = min(px(500), scene.w - px(2 * PAD))
    return {
        "caption": Rect(scene.x + px(PAD), scene.y + px(PAD), scene.w - px(2 * PAD), px(26)),
        "verdict": Rect(scene.x + px(PAD), scene.y + px(PAD + 34), card, scene.h - px(2 * PAD + 34 + 32)),
        "camera": Rect(scene.x + px(PAD), scene.bottom - px(PAD + 20), scene.w - px(2 * PAD), px(20)),
    }


def _cells(strip: Rect) -> dict[str, Rect]:
    """The readouts, side by side; edges are rounded so that they meet without gap or overlap."""
    edges = [strip.x + round(strip.w * k / len(CELLS)) for k in range(len(CELLS) + 1)]
    return {name: Rect(edges[k], strip.y, edges[k + 1] - edges[k], strip.h) for k, name in enumerate(CELLS)}


def _charts(column: Rect, px: Callable[[float], int]) -> dict[str, Rect]:
    """The charts, one below the other."""
    room = column.h - px(TIME_LABELS) - px(8)
    total = sum(share for _, share in CHARTS)
    top, charts = float(column.y + px(4)), {}
    for name, share in CHARTS:
        bottom = top + room * share / total
        charts["chart_" + name] = Rect(column.x, round(top), column.w, round(bottom) - round(top))
        top = bottom
    charts["chart_times"] = Rect(column.x, round(top), column.w, px(TIME_LABELS))
    return charts
