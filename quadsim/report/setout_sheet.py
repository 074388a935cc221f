"""The set-out sheet: one A4 page as picture, or as a web page with the same words."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from quadsim.report import palette
from quadsim.report.page import A4_MM, MARGIN_MM, Page, width_of
from quadsim.report.picture import save_picture
from quadsim.report.setout_html import sheet_html
from quadsim.report.setout_plan import draw_people, draw_plan
from quadsim.report.setout_words import (
    CAUTIONS,
    MATERIAL_WORDS,
    TAPE_WORDS,
    Grid,
    Sheet,
    crowd_words,
    gate_grid,
    material_grid,
    peg_grid,
    square_words,
    summary,
)
from quadsim.whole_file import whole_file

LEFT, RIGHT = MARGIN_MM, A4_MM[0] - MARGIN_MM
WIDTH = RIGHT - LEFT
LOWEST = A4_MM[1] - MARGIN_MM
ROW = 3.7
TALLEST_MM = 105.0
"""Height of the plan at most [mm]."""


def write_sheet(sheet: Sheet, path: Path) -> Path:
    """Write a sheet into a picture file or a web page.

    Raises
    ------
    InputError
        when the suffix names no kind that we write.
    FlightError
        when the file cannot be written.
    """
    if path.suffix.lower() == ".html":
        with whole_file(path) as part:
            part.write_text(sheet_html(sheet), encoding="utf-8")
        return path
    return save_picture(lambda: sheet_page(sheet)[0].figure, path)


def sheet_page(sheet: Sheet) -> tuple[Page, float]:
    """The page, and the lowest place on it that is used [mm]; drawn smaller where it would not fit."""
    page = Page()
    end = _draw(page, sheet)
    if end > LOWEST:
        page = Page((LOWEST - MARGIN_MM) / (end - MARGIN_MM))
        end = page.placed(_draw(page, sheet))
    return page, end


def _draw(page: Page, sheet: Sheet) -> float:
    one = sheet.setout
    page.text(LEFT, 14.0, f"{one.course.name}: set-out sheet", size=17.0, bold=True)
    page.text(LEFT, 20.0, summary(sheet), size=7.0, colour=palette.INK_SOFT)
    y = _cautions(page, 24.0)
    y = _plan(page, sheet, y)
    y = _title(page, LEFT, y + 3.0, gate_grid(one).title, RIGHT)
    y = _table(page, LEFT, y, WIDTH, gate_grid(one))
    y = page.paragraph(LEFT, y + 0.6, WIDTH, TAPE_WORDS, size=6.4, colour=palette.INK_SOFT)
    middle = LEFT + 0.5 * WIDTH
    left = _title(page, LEFT, y + 3.6, peg_grid(one).title, middle - 4.0)
    left = _table(page, LEFT, left, middle - 4.0 - LEFT, peg_grid(one))
    return max(left, _beside(page, sheet, middle, y + 3.6))


def _title(page: Page, x: float, y: float, words: str, to: float) -> float:
    page.rule(x, y - 3.0, to, colour=palette.INK, width=0.8)
    page.text(x, y, words, size=8.2, bold=True)
    return y + 4.0


def _cautions(page: Page, y: float) -> float:
    height = 2.2 + 3.35 * len(CAUTIONS)
    page.box(LEFT, y, WIDTH, height, fill=palette.CARD)
    page.box(LEFT, y, 1.2, height, fill=palette.ALARM)
    for k, line in enumerate(CAUTIONS):
        page.text(LEFT + 4.0, y + 2.8 + 3.35 * k, line, size=6.6, bold=k == 0)
    return y + height + 2.0


def _plan(page: Page, sheet: Sheet, y: float) -> float:
    """The plan, as wide as the page and as tall as the field asks for."""
    size = (sheet.setout.course.field.high - sheet.setout.course.field.low)[:2]
    height = min(WIDTH * 1.05 * float(size[1] / size[0]), TALLEST_MM)
    draw_plan(page.axes(LEFT, y, WIDTH, height), sheet.setout)
    return y + height


def _beside(page: Page, sheet: Sheet, x: float, y: float) -> float:
    """Squareness, material, people."""
    one, wide = sheet.setout, RIGHT - x
    y = _title(page, x, y, "Square", RIGHT)
    for line in square_words(one):
        y = page.paragraph(x, y, wide, line, size=6.8)
    y = _title(page, x, y + 3.6, "Material", RIGHT)
    y = _table(page, x, y, wide, material_grid(one))
    y = page.paragraph(x, y + 0.6, wide, MATERIAL_WORDS, size=6.4, colour=palette.INK_SOFT)
    y = _title(page, x, y + 3.6, "Where people stand", RIGHT)
    for k, line in enumerate(crowd_words(sheet)):
        y = page.paragraph(x, y, wide, line, size=6.8, bold=k == 0) + 0.4
    draw_people(page.axes(x, y - 1.0, wide, 46.0), sheet)
    return y + 46.0


def _table(page: Page, x: float, y: float, width: float, grid: Grid) -> float:
    """Heads, rows in stripes; the first column takes what the others leave."""
    edges = _edges(x, width, grid)
    for k, head in enumerate(grid.heads):
        _cell(page, edges, k, y, head, 6.0, palette.INK_SOFT)
    y += ROW
    for number, row in enumerate(grid.rows):
        if number % 2 == 0:
            page.box(x, y - ROW / 2.0, width, ROW, fill=palette.CARD)
        for k, words in enumerate(row):
            _cell(page, edges, k, y, words, 6.8, palette.INK, bold=k == 0)
        y += ROW
    return y


def _edges(x: float, width: float, grid: Grid) -> list[float]:
    """Left edge of the first column, right edges of the others."""
    others = [
        max(width_of(words, 6.8, False) for words in (head, *(row[k + 1] for row in grid.rows)))
        for k, head in enumerate(grid.heads[1:])
    ]
    gap = max((width - sum(others)) / (len(others) + 1.6), 1.0)
    edges, right = [x + 1.0], x + width - 1.0
    for wide in reversed(others):
        edges.insert(1, right)
        right -= wide + gap
    return edges


def _cell(
    page: Page, edges: Sequence[float], k: int, y: float, words: str, size: float, colour: str, bold: bool = False
) -> None:  # fmt: skip
    page.text(edges[k], y, words, size=size, colour=colour, bold=bold, align="right" if k else "left")
