"""What all screens of the viewer put over their scene in one way: cards, lists of keys, captions, the camera's name."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from quadsim.viewer import palette
from quadsim.viewer.canvas import Canvas
from quadsim.viewer.fonts import LABEL, STRONG
from quadsim.viewer.layout import Rect
from quadsim.viewer.palette import Colour

Keys = Sequence[tuple[str, str]]
"""Keys, and what they do."""
HEAD = 24
"""From the title of a list to its first row [px at 1280 x 720]."""


def paper(canvas: Canvas, px: Callable[[float], int], card: Rect, radius: float = 8) -> None:
    """A card with a thin rim."""
    canvas.card(palette.RULE, card.inset(-max(1, px(1))), px(radius))
    canvas.card(palette.CARD, card, px(radius))


def key_list(
    canvas: Canvas, px: Callable[[float], int], at: tuple[int, int], width: int, title: str, keys: Keys, *,
    column: float, row: float,
) -> int:  # fmt: skip
    """A list of keys below its title; `column` is the width of the keys, `row` the height of a row. Returns the row below it."""
    x, y = at
    canvas.text(at, title, STRONG, palette.FLOWN)
    for k, (key, meaning) in enumerate(keys):
        middle = y + px(HEAD) + k * px(row)
        canvas.text((x, middle), key, STRONG, palette.INK, width=px(column))
        canvas.text((x + px(column), middle), meaning, LABEL, palette.INK_SOFT, width=width - px(column))
    return y + px(HEAD) + len(keys) * px(row)


def caption(canvas: Canvas, box: Rect, words: str, alarm: bool) -> None:
    """What has just happened, in the middle of `box`; an alarm is red and said so by a bar."""
    pad = round(10 * canvas.scale)
    wide = min(canvas.measure(words, STRONG)[0] + 2 * pad, box.w)
    card = Rect(box.x + (box.w - wide) // 2, box.y, wide, box.h)
    colour = palette.ALARM if alarm else palette.INK
    canvas.card(palette.CARD, card, 4)
    canvas.fill(colour, Rect(card.x, card.y, round(3 * canvas.scale), card.h))
    at = (card.x + pad, card.y + card.h // 2)
    canvas.text(at, words, STRONG, colour, anchor="cw", width=wide - 1.5 * pad)


def name_plate(canvas: Canvas, box: Rect, words: str, ink: Colour = palette.INK_SOFT) -> None:
    """Which camera this is, and what is to be known of its picture, at the left of `box`."""
    pad = round(8 * canvas.scale)
    wide = min(canvas.measure(words, LABEL)[0] + 2 * pad, box.w)
    canvas.card(palette.PAPER, Rect(box.x, box.y, wide, box.h), 3)
    canvas.text((box.x + pad, box.y + box.h // 2), words, LABEL, ink, anchor="cw", width=wide - pad)
