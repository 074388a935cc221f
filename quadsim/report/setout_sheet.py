"""The set-out sheet: one A4 page as picture, or as a web page with the same words."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from quadsim.planning.setout import Setout
from quadsim.report import palette
from quadsim.report.page import A4_MM, MARGIN_MM, Page, width_of
from quadsim.report.picture import save_picture
from quadsim.report.setout_html import sheet_html
from quadsim.report.setout_plan import draw_people, draw_plan
from quadsim.report.setout_words import (
    CAUTIONS,
    FIRST,
    MATERIAL_WORDS,
    TAPE_WORDS,
    Grid,
    Sheet,
    crowd_words,
    gate_grid,
    material_grid,
    peg_grid,
    summary,
    work_words,
)
from quadsim.report.sheet_head import cautions, head
from quadsim.whole_file import whole_file

LEFT, RIGHT = MARGIN_MM, A4_MM[0] - MARGIN_MM
WIDTH = RIGHT - LEFT
LOWEST = A4_MM[1] - MARGIN_MM
ROW = 3.7
TALLEST_MM = 86.0
"""Height of the plan at most [mm]."""
MAP_MM = 38.0
PLAN_SHARE = 0.7
"""Of the width; the order of work stands beside it."""


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
    begin = head(page, f"{one.course.name}: set-out sheet", summary(sheet), ("date", "laid out by"))
    y = cautions(page, begin, FIRST, CAUTIONS) + 3.0
    beside = LEFT + PLAN_SHARE * WIDTH
    y = max(_plan(page, sheet, y - 2.0, beside - LEFT), _work(page, sheet, beside + 4.0, y + 3.0))
    y = _title(page, LEFT, y + 2.5, gate_grid(one).title, RIGHT)
    y = _table(page, LEFT, y, WIDTH, gate_grid(one))
    y = page.paragraph(LEFT, y + 0.6, WIDTH, TAPE_WORDS, size=6.4, colour=palette.INK_SOFT)
    y, half = y + 3.2, 0.5 * WIDTH - 4.0
    left, right = _pegs(page, one, LEFT, y, half), _material(page, one, RIGHT - half, y, half)
    return _people(page, sheet, max(left, right) + 2.0)


def _title(page: Page, x: float, y: float, words: str, to: float) -> float:
    page.rule(x, y - 3.0, to, colour=palette.INK, width=0.8)
    page.text(x, y, words, size=8.2, bold=True)
    return y + 4.0


def _work(page: Page, sheet: Sheet, x: float, y: float) -> float:
    """The order of work, to be ticked off."""
    y = _title(page, x, y, "Order of work", RIGHT)
    for k, line in enumerate(work_words(sheet), start=1):
        page.box(x, y - 1.1, 2.2, 2.2, edge=palette.INK)
        y = page.paragraph(x + 3.6, y, RIGHT - x - 4.6, f"{k}. {line}", size=6.6) + 0.7
    return y


def _plan(page: Page, sheet: Sheet, y: float, wide: float) -> float:
    """The plan, as tall as the field asks for."""
    size = (sheet.setout.course.field.high - sheet.setout.course.field.low)[:2]
    height = min(wide * 1.05 * float(size[1] / size[0]), TALLEST_MM)
    draw_plan(page.axes(LEFT, y, wide, height), sheet)
    return y + height + 3.0


def _pegs(page: Page, one: Setout, x: float, y: float, wide: float) -> float:
    grid = peg_grid(one)
    return _table(page, x, _title(page, x, y, grid.title, x + wide), wide, grid)


def _material(page: Page, one: Setout, x: float, y: float, wide: float) -> float:
    grid = material_grid(one)
    y = _table(page, x, _title(page, x, y, grid.title, x + wide), wide, grid)
    return page.paragraph(x, y + 0.6, wide, MATERIAL_WORDS, size=6.4, colour=palette.INK_SOFT)


def _people(page: Page, sheet: Sheet, y: float) -> float:
    """Where people stand: in words, and as a map beside them."""
    begin = y = _title(page, LEFT, y, "Where people stand", RIGHT)
    wide = 0.58 * WIDTH
    first, *others = crowd_words(sheet)
    y = page.paragraph(LEFT, y, wide, first, size=8.0, bold=True) + 0.6
    for line in others:
        loud = line == sheet.people.note
        colour = palette.ALARM if loud else palette.INK
        y = page.paragraph(LEFT, y, wide, line, size=6.8, bold=loud, colour=colour) + 0.4
    draw_people(page.axes(LEFT + wide + 3.0, begin - 2.0, WIDTH - wide - 3.0, MAP_MM), sheet)
    return max(y, begin - 2.0 + MAP_MM)


def _table(page: Page, x: float, y: float, width: float, grid: Grid) -> float:
    """Heads, rows in stripes; the first column takes what the others leave."""
    edges = _edges(x, width, grid)
    for k, words in enumerate(grid.heads):
        _cell(page, edges, k, y, words, 6.0, palette.INK_SOFT)
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
