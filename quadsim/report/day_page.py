"""The contest-day sheet as a printed page: three verdicts, weights, packs, checks, and room to write."""

from __future__ import annotations

from pathlib import Path

from quadsim import __version__
from quadsim.contest_day.packs import EVENTS
from quadsim.contest_day.sheet import DaySheet
from quadsim.contest_day.words import CAUTIONS, NO_CLEARANCE, after_words, before_words, weather_words
from quadsim.report import palette
from quadsim.report.day_bars import COLOURS, draw_event, event_height
from quadsim.report.day_tables import changed, instruments, log, packs, speeds, title, weights
from quadsim.report.page import A4_MM, MARGIN_MM, Page
from quadsim.report.picture import save_picture
from quadsim.report.sheet_head import cautions, head

LEFT, RIGHT = MARGIN_MM, 210.0 - MARGIN_MM
WIDTH, GAP = RIGHT - LEFT, 3.0
LOWEST = A4_MM[1] - MARGIN_MM


def draw_day(sheet: DaySheet, path: Path) -> Path:
    """Draw a contest-day sheet into a picture file, one A4 page.

    Raises
    ------
    InputError
        when the suffix names no kind of picture.
    FlightError
        when the file cannot be written.
    """
    return save_picture(lambda: day_page(sheet)[0].figure, path)


def day_page(sheet: DaySheet) -> tuple[Page, float]:
    """The page, and the lowest place on it that is used [mm]; drawn smaller where it would not fit."""
    page = Page()
    end = _draw(page, sheet)
    if end > LOWEST:
        page = Page((LOWEST - MARGIN_MM) / (end - MARGIN_MM))
        end = page.placed(_draw(page, sheet))
    return page, end


def _draw(page: Page, sheet: DaySheet) -> float:
    """Everything; returns where it ends."""
    begin = head(
        page, f"{sheet.craft.name}: the day of {sheet.contest.name}",
        f"{weather_words(sheet)}; quadsim {__version__}", ("date", "pilot"), size=16.0,
    )  # fmt: skip
    y = cautions(page, begin, NO_CLEARANCE, CAUTIONS) + GAP
    y = _events(page, sheet, y) + 4.6
    split = LEFT + 0.72 * WIDTH
    y = max(weights(page, sheet, LEFT, y, split - GAP), speeds(page, sheet, split, y, RIGHT)) + 2.4
    half = LEFT + 0.55 * WIDTH
    y = max(packs(page, sheet, LEFT, y, half - GAP), changed(page, sheet, half, y, RIGHT)) + 2.4
    y = instruments(page, sheet, LEFT, y, RIGHT) + 2.4
    middle = LEFT + 0.5 * WIDTH
    before = _lines(page, "Before each run", before_words(sheet), LEFT, y, middle - GAP)
    after = _lines(page, "After each run", after_words(sheet), middle, y, RIGHT)
    return log(page, LEFT, max(before, after) + 2.4, RIGHT, LOWEST)


def _events(page: Page, sheet: DaySheet, y: float) -> float:
    """The three cards side by side, all as high as the highest."""
    width = (WIDTH - 2.0 * GAP) / 3.0
    height = max(event_height(sheet, event, width) for event in EVENTS)
    for k, event in enumerate(EVENTS):
        x = LEFT + k * (width + GAP)
        page.box(x, y, width, height, edge=palette.RULE)
        page.box(x, y, width, 1.2, fill=COLOURS[sheet.verdicts[event]])
        draw_event(page, sheet, event, x, y + 1.2, width)
    return y + height


def _lines(page: Page, head: str, lines: list[str], x: float, y: float, to: float) -> float:
    y = title(page, x, y, head, to)
    for line in lines:
        page.box(x, y - 1.1, 2.2, 2.2, edge=palette.INK)
        y = page.paragraph(x + 4.0, y, to - x - 4.0, line, size=6.4) + 0.7
    return y
