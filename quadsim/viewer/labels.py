"""Labels in the scene: each goes where it is wanted if there is room, and is left out otherwise."""

from __future__ import annotations

from collections.abc import Iterable

from quadsim.viewer.canvas import Canvas, Point
from quadsim.viewer.fonts import Style
from quadsim.viewer.layout import Rect
from quadsim.viewer.palette import CARD, Colour


class LabelSpace:
    """Keeps labels apart from each other and from what is already taken."""

    def __init__(self, taken: Iterable[Rect] = ()) -> None:
        self.taken = list(taken)

    def write(
        self, canvas: Canvas, at: Point, words: str, style: Style, colour: Colour, *, anchor: str = "cc",
        plate: bool = False,
    ) -> bool:  # fmt: skip
        """Write a label if nothing is in its way and it fits on the canvas; returns whether it was written.

        `plate` puts it on a card of its own, for labels over lines.
        """
        w, h = canvas.measure(words, style)
        pad = round((4 if plate else 3) * canvas.scale)
        x = at[0] - w * {"w": 0.0, "c": 0.5, "e": 1.0}[anchor[1]]
        y = at[1] - h * {"n": 0.0, "c": 0.5, "s": 1.0}[anchor[0]]
        width, height = canvas.size
        if not (pad <= x and x + w + pad <= width and pad <= y and y + h + pad <= height):
            return False
        box = Rect(round(x) - pad, round(y) - pad // 2, w + 2 * pad, h + 2 * (pad // 2))
        if any(box.meets(other) for other in self.taken):
            return False
        self.taken.append(box)
        if plate:
            canvas.card(CARD, box, 3)
        canvas.text((round(x), round(y)), words, style, colour)
        return True
