"""A printed page in millimetres: text, rules, boxes and tables placed from the upper left corner of an A4 sheet."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle
from matplotlib.textpath import text_to_path

from quadsim.report import palette

A4_MM = (210.0, 297.0)
MARGIN_MM = 10.0
INCH_MM = 25.4
WIDER = 1.03
"""Letters on the page are this much wider than their outlines say: they are set on whole dots."""
UNITS = re.compile(r"(\d) (deg|dB|Hz|V|s|g|m|%)(?![\w/])")
LINE = 1.32
"""Distance of lines over the size of their letters."""


def mm(points: float) -> float:
    """A size in points as millimetres."""
    return points * INCH_MM / 72.0


@lru_cache(maxsize=4096)
def width_of(words: str, size: float, bold: bool) -> float:
    """Width of words on the page [mm]."""
    font = FontProperties(family="DejaVu Sans", size=size, weight="bold" if bold else "normal")
    return WIDER * mm(float(text_to_path.get_text_width_height_descent(words, font, False)[0]))


def wrapped(words: str, width: float, size: float, bold: bool = False) -> list[str]:
    """Words broken into lines no wider than a width [mm]; a longer word stands alone, a number stays with its unit."""
    lines: list[str] = []
    for word in UNITS.sub(r"\1~\2", words).split():
        word = word.replace("~", " ")
        if lines and width_of(f"{lines[-1]} {word}", size, bold) <= width:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


class Page:
    """An A4 sheet; x and y in mm from its upper left corner.

    scale : factor on everything about the upper left corner of the margins, to bring a full page onto one sheet
    """

    def __init__(self, scale: float = 1.0) -> None:
        self.scale = scale
        self.figure = Figure(figsize=(A4_MM[0] / INCH_MM, A4_MM[1] / INCH_MM))

    def placed(self, at: float) -> float:
        """Where on the sheet a place is [mm]."""
        return MARGIN_MM + self.scale * (at - MARGIN_MM)

    def _share(self, x: float, y: float) -> tuple[float, float]:
        """A place as shares of the sheet from its lower left corner."""
        return self.placed(x) / A4_MM[0], 1.0 - self.placed(y) / A4_MM[1]

    def text(
        self, x: float, y: float, words: str, *, size: float = 7.0, colour: str = palette.INK, bold: bool = False,
        align: str = "left",
    ) -> None:  # fmt: skip
        """Words with the middle of their line at y."""
        self.figure.text(
            *self._share(x, y), words, fontsize=self.scale * size, color=colour, ha=align, va="center",
            fontweight="bold" if bold else "normal", parse_math=False,
        )  # fmt: skip

    def paragraph(
        self, x: float, y: float, width: float, words: str, *, size: float = 7.0, colour: str = palette.INK, bold: bool = False
    ) -> float:  # fmt: skip
        """Words wrapped to a width; returns the y of the line after them."""
        for line in wrapped(words, width, size, bold):
            self.text(x, y, line, size=size, colour=colour, bold=bold)
            y += mm(size) * LINE
        return y

    def rule(self, x: float, y: float, to: float, *, colour: str = palette.RULE, width: float = 0.5) -> None:
        """A level line."""
        self._line((x, to), (y, y), colour, width)

    def upright(
        self, x: float, y: float, to: float, *, colour: str = palette.RULE, width: float = 0.5
    ) -> None:
        """An upright line."""
        self._line((x, x), (y, to), colour, width)

    def _line(self, x: Sequence[float], y: Sequence[float], colour: str, width: float) -> None:
        ends = [self._share(*place) for place in zip(x, y, strict=True)]
        self.figure.add_artist(
            Line2D(
                [a for a, _ in ends],
                [b for _, b in ends],
                color=colour,
                linewidth=width,
                solid_capstyle="butt",
            )
        )

    def box(
        self, x: float, y: float, width: float, height: float, *, fill: str = "none", edge: str = "none", line: float = 0.6
    ) -> None:  # fmt: skip
        """A rectangle with its upper left corner at x, y."""
        left, low = self._share(x, y + height)
        right, high = self._share(x + width, y)
        self.figure.add_artist(
            Rectangle(
                (left, low), right - left, high - low, facecolor=fill, edgecolor=edge,
                linewidth=line if edge != "none" else 0.0, zorder=0,
            )
        )  # fmt: skip

    def axes(self, x: float, y: float, width: float, height: float) -> Axes:
        """A place to draw in, with its upper left corner at x, y."""
        left, low = self._share(x, y + height)
        right, high = self._share(x + width, y)
        return self.figure.add_axes((left, low, right - left, high - low))
