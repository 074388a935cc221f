"""One event of a contest day as a card: verdict, what it should bring, and a bar for each bound with today's mark."""

from __future__ import annotations

import math

from quadsim.contest_day.bound import CAUTION, GO, NO_GO, Bound, Range
from quadsim.contest_day.sheet import DaySheet
from quadsim.contest_day.words import QUANTITIES, configuration, details, headline, range_words
from quadsim.report import palette
from quadsim.report.page import Page

COLOURS = {GO: palette.FLOWN, CAUTION: palette.WANTED, NO_GO: palette.ALARM}
PALE = {GO: "#cfdcec", CAUTION: "#f3e3bd", NO_GO: palette.ALARM_PALE}
WORDS = {GO: "GO", CAUTION: "CAUTION", NO_GO: "NO-GO"}
SCALES: dict[str, Range] = {"m/s": (0.0, 20.0), "deg C": (-10.0, 45.0)}
"""Ends of the bars."""
PAD = 3.0
BAR_AT, BAR_HIGH, PITCH = 13.0, 2.4, 6.6


def event_height(sheet: DaySheet, event: str, width: float) -> float:
    """How high the card of an event is [mm], found by drawing it where nobody looks."""
    return draw_event(Page(), sheet, event, 0.0, 1.2, width) + 1.0


def draw_event(page: Page, sheet: DaySheet, event: str, x: float, y: float, width: float) -> float:
    """Everything on a card; returns where it ends."""
    verdict = sheet.verdicts[event]
    left, room = x + PAD, width - 2.0 * PAD
    page.text(left, y + 4.4, event.capitalize(), size=9.0, bold=True)
    page.text(
        x + width - PAD, y + 4.4, WORDS[verdict], size=13.0, bold=True, colour=COLOURS[verdict], align="right"
    )
    y = page.paragraph(left, y + 10.6, room, headline(sheet, event), size=10.0, bold=True) + 0.2
    for line in details(sheet, event):
        y = page.paragraph(left, y, room, line, size=6.2) + 0.3
    y += 1.4
    for one in sheet.days[event].bounds:
        _bar(page, one, left, y, room)
        y += PITCH
    for why in dict.fromkeys(one.why for one in sheet.days[event].bounds):
        y = page.paragraph(left, y, room, f"Go and no-go end where {why}.", size=5.6, colour=palette.INK_SOFT)
    return page.paragraph(left, y + 0.8, room, f"Fly: {configuration(sheet, event)}", size=6.2)


def _bar(page: Page, one: Bound, x: float, y: float, room: float) -> None:
    """A scale with no-go, caution and go from below to above, the ends of go as numbers, today's value as a mark."""
    low, high = SCALES[one.unit]
    left, width = x + BAR_AT, room - BAR_AT

    def place(value: float) -> float:
        return left + width * (min(max(value, low), high) - low) / (high - low)

    page.text(x, y + 0.5 * BAR_HIGH, QUANTITIES[one.quantity], size=6.4)
    for reach, word in (((low, high), NO_GO), (one.stop, CAUTION), (one.go, GO)):
        if not math.isnan(reach[0]):
            page.box(place(reach[0]), y, place(reach[1]) - place(reach[0]), BAR_HIGH, fill=PALE[word])
    page.upright(place(one.today), y - 0.8, y + BAR_HIGH + 0.8, colour=palette.INK, width=1.4)
    page.text(
        left, y + BAR_HIGH + 1.6, f"go {range_words(one.go, one.unit)}", size=5.6, colour=palette.INK_SOFT
    )
    today = f"today {one.today:g}"
    word = "" if one.verdict == GO else f": {one.verdict}"
    page.text(
        left + width,
        y + BAR_HIGH + 1.6,
        today + word,
        size=5.6,
        bold=bool(word),
        colour=COLOURS[one.verdict],
        align="right",
    )
