"""Where everything stands on the practice screen: a strip above, the scene, a strip below."""

from __future__ import annotations

from quadsim.viewer.layout import BASE, PAD, Layout, Rect, make_layout

TOP, BELOW, STICKS, FIGURES = 54, 104, 176, 246
HINTS = {"restart": "R", "view": "V", "mode": "M", "aids": "Tab", "sticks": "C", "layout": "E", "help": "H"}
"""Words in the strip above that can be clicked, and their keys."""
HINT = 70
"""Width of one of them."""


def make_practice_layout(size: tuple[int, int]) -> Layout:
    """Lay out a practice screen of `size` [px]; raises InputError as `make_layout` does."""
    width, height = make_layout(size).size
    scale = min(width / BASE[0], height / BASE[1])

    def px(length: float) -> int:
        return round(length * scale)

    scene = Rect(0, px(TOP), width, height - px(TOP) - px(BELOW))
    below = Rect(0, scene.bottom, width, height - scene.bottom)
    hints = len(HINTS) * px(HINT)
    clock = px(240)
    middle = (width - clock) // 2
    panels = {
        "title": Rect(px(PAD), 0, middle - px(2 * PAD), px(TOP)),
        "clock": Rect(middle, 0, clock, px(TOP)),
        "hints": Rect(width - hints - px(PAD), 0, hints, px(TOP)),
        "scene": scene,
        "sticks": Rect(0, below.y, px(STICKS), below.h),
        "ribbon": Rect(px(STICKS), below.y, width - px(STICKS) - px(FIGURES), below.h),
        "figures": Rect(width - px(FIGURES), below.y, px(FIGURES), below.h),
    }
    for k, name in enumerate(HINTS):
        panels[f"hint_{name}"] = Rect(panels["hints"].x + k * px(HINT), 0, px(HINT), px(TOP))
    insets = {
        "caption": Rect(scene.x + px(PAD), scene.y + px(PAD), scene.w - px(2 * PAD), px(30)),
        "camera": Rect(scene.x + px(PAD), scene.bottom - px(PAD + 20), scene.w - px(2 * PAD), px(20)),
        "card": _middle(scene, px(430), px(340)),
        "aids": Rect(scene.right - px(PAD + 320), scene.y + px(PAD), px(320), px(196)),
    }
    return Layout((width, height), scale, panels, insets, _middle(scene, px(820), px(476)))


def _middle(scene: Rect, wide: int, high: int) -> Rect:
    wide, high = min(wide, scene.w - 24), min(high, scene.h - 24)
    return Rect(scene.x + (scene.w - wide) // 2, scene.y + (scene.h - high) // 2, wide, high)
