"""What stands at the top of a printed sheet: its title with blanks to fill in, and the box of cautions."""

from __future__ import annotations

from collections.abc import Sequence

from quadsim.report import palette
from quadsim.report.page import A4_MM, MARGIN_MM, Page

LEFT, RIGHT = MARGIN_MM, A4_MM[0] - MARGIN_MM
LINE_MM, BLANK_MM = 3.35, 26.0


def head(page: Page, title: str, summary: str, blanks: Sequence[str], size: float = 17.0) -> float:
    """Title, a line below it, and at the right blanks for a pen; size : of the title [pt]. Returns where the next begins [mm]."""
    page.text(LEFT, 14.0, title, size=size, bold=True)
    page.text(LEFT, 20.0, summary, size=7.0, colour=palette.INK_SOFT)
    for k, words in enumerate(blanks):
        x = RIGHT - BLANK_MM * (len(blanks) - k)
        page.text(x + 1.0, 16.5, words, size=6.0, colour=palette.INK_SOFT)
        page.rule(x + 1.0, 14.5, x + BLANK_MM - 1.0, colour=palette.INK_SOFT)
    return 24.0


def cautions(page: Page, y: float, first: str, others: Sequence[str]) -> float:
    """The box of cautions from y [mm] on, the first line in alarm's colour. Returns where it ends [mm]."""
    height = 5.4 + LINE_MM * len(others)
    page.box(LEFT, y, RIGHT - LEFT, height, fill=palette.CARD)
    page.box(LEFT, y, 1.2, height, fill=palette.ALARM)
    page.text(LEFT + 4.0, y + 3.0, first, size=8.2, bold=True, colour=palette.ALARM)
    for k, line in enumerate(others):
        page.text(LEFT + 4.0, y + 6.6 + LINE_MM * k, line, size=6.6)
    return y + height
