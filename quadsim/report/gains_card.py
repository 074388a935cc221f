"""The gains card as a printed page: sets, gains, room of each loop and what to look for, steps, check by hand."""

from __future__ import annotations

import math
from pathlib import Path

from matplotlib.figure import Figure

from quadsim.analysis.gains_card import GainsCard
from quadsim.analysis.gains_card_words import (
    CAUTIONS,
    NO_CLEARANCE,
    PHYSICAL_WORDS,
    PLOTS,
    SCALED_WORDS,
    SIGNS,
    check_head,
    check_words,
    good_for,
    log_words,
    room_words,
    set_name,
    signs_of,
    steps_of,
    tag_of,
)
from quadsim.analysis.gains_ladder import LoopLook, Rung
from quadsim.analysis.margin_survey import GAIN_DB, PHASE_DEG
from quadsim.report import palette
from quadsim.report.gains_card_text import converted_number, lacking_words, summary_of, throttle_words
from quadsim.report.numbers import figure as number
from quadsim.report.page import A4_MM, MARGIN_MM, Page
from quadsim.report.picture import save_picture
from quadsim.report.sheet_head import cautions, head

LEFT, RIGHT = MARGIN_MM, 210.0 - MARGIN_MM
WIDTH = RIGHT - LEFT
LOWEST = A4_MM[1] - MARGIN_MM
ROW = 3.55
BAR_LOW, BAR_HIGH = -30.0, 30.0
"""Ends of the scale of gain [dB]; a bar that goes on is cut there and its number says how far."""
SET_AT, BAR_LEFT, BAR_RIGHT = 30.0, 44.0, 82.0
COLUMNS = {"crossover": 104.0, "phase": 117.0}
SIGNS_AT = (120.0, 144.0, 175.0)


def draw_card(card: GainsCard, path: Path) -> Path:
    """Draw a card into a picture file, one A4 page.

    Raises
    ------
    InputError
        when the suffix names no kind of picture.
    FlightError
        when the file cannot be written.
    """
    return save_picture(lambda: card_figure(card), path)


def card_figure(card: GainsCard) -> Figure:
    """The card as a figure."""
    return card_page(card)[0].figure


def card_page(card: GainsCard) -> tuple[Page, float]:
    """The page, and the lowest place on it that is used [mm]; drawn smaller where it would not fit."""
    page = Page()
    end = _draw(page, card)
    if end > LOWEST:
        page = Page((LOWEST - MARGIN_MM) / (end - MARGIN_MM))
        end = page.placed(_draw(page, card))
    return page, end


def _draw(page: Page, card: GainsCard) -> float:
    """Everything; returns where it ends."""
    blanks = ("craft no.", "date", "pilot")
    y = head(page, f"{card.craft.name}: gains card", summary_of(card), blanks)
    y = cautions(page, y, NO_CLEARANCE, CAUTIONS) + 3.6
    y = _sets(page, card, y + 1.0)
    y = _gains(page, card, y + 2.0)
    y = _loops(page, card, y + 2.0)
    middle = LEFT + 0.52 * WIDTH
    return max(_steps(page, card, y + 2.0, middle - 4.0), _beside(page, card, y + 2.0, middle))


def _title(page: Page, x: float, y: float, words: str, to: float) -> float:
    page.rule(x, y - 3.0, to, colour=palette.INK, width=0.8)
    page.text(x, y, words, size=8.2, bold=True)
    return y + 4.0


def _sets(page: Page, card: GainsCard, y: float) -> float:
    y = _title(page, LEFT, y, "The ladder: one set a flight, tick it off", RIGHT)
    page.text(
        RIGHT,
        y - 4.0,
        "through a simulated gust: tilt, height error",
        size=6.2,
        colour=palette.INK_SOFT,
        align="right",
    )
    for rung, flown in zip(card.rungs, card.flown, strict=True):
        page.box(LEFT, y - 1.3, 2.6, 2.6, edge=palette.INK)
        page.text(LEFT + 16.0, y, set_name(rung), size=8.0, bold=True, align="right")
        tag = tag_of(card, rung)
        page.text(
            LEFT + 19.0, y, tag, size=6.6, bold=True, colour=palette.ALARM if tag.isupper() else palette.FLOWN
        )
        page.text(
            RIGHT, y, f"{flown.max_tilt_deg:.0f} deg, {flown.height_error_m:.1f} m", size=6.8, align="right"
        )
        begin = "begin here: " if rung is card.begin else ""
        lines = page.paragraph(LEFT + 37.0, y, WIDTH - 60.0, begin + good_for(card, rung), size=6.8)
        y = max(y + 4.2, lines + 0.9)
    return page.paragraph(LEFT, y, WIDTH, SCALED_WORDS, size=6.2, colour=palette.INK_SOFT) + 1.4


def _gains(page: Page, card: GainsCard, y: float) -> float:
    y = _title(page, LEFT, y, "Gains", RIGHT)
    own = [LEFT + 40.0 + 12.5 * k for k in range(len(card.rungs))]
    theirs = [LEFT + 98.0 + 17.0 * k for k in range(len(card.rungs))]
    page.text(LEFT + 18.0, y - 4.0, "physical", size=6.4, colour=palette.INK_SOFT)
    for x, rung in zip(own, card.rungs, strict=True):
        page.text(x, y - 4.0, set_name(rung), size=6.8, bold=True, align="right")
    if card.converter:
        for x, rung in zip(theirs, card.rungs, strict=True):
            page.text(x, y - 4.0, set_name(rung), size=6.8, bold=True, align="right")
        page.text(RIGHT, y - 4.0, "flight controller", size=6.4, colour=palette.INK_SOFT, align="right")
    for k, row in enumerate(card.rows):
        if k % 2 == 0:
            page.box(LEFT, y - ROW / 2.0, WIDTH if card.converter else 82.0, ROW, fill=palette.CARD)
        page.text(LEFT + 1.0, y, row.words, size=6.8, bold=True)
        page.text(LEFT + 18.0, y, row.unit, size=6.2, colour=palette.INK_SOFT)
        for x, value in zip(own, row.values, strict=True):
            page.text(x, y, number(value), size=6.8, align="right")
        for x, value in zip(theirs, row.converted, strict=False):
            page.text(x, y, converted_number(value), size=6.8, align="right")
        page.text(RIGHT - 1.0, y, row.converted_unit, size=6.0, colour=palette.INK_SOFT, align="right")
        y += ROW
    if not card.converter:
        _refusal(page, card, y - ROW * len(card.rows))
    for line in (PHYSICAL_WORDS, throttle_words(card)) if card.converter else (PHYSICAL_WORDS,):
        y = page.paragraph(LEFT, y, WIDTH, line, size=6.2, colour=palette.INK_SOFT)
    return y + 1.4


def _refusal(page: Page, card: GainsCard, y: float) -> None:
    """Why there are no gains in the flight controller's unit, beside the others."""
    x = LEFT + 88.0
    page.box(x, y - ROW / 2.0, RIGHT - x, ROW * min(len(card.rows), 9), edge=palette.WANTED)
    page.text(
        x + 3.0,
        y + 1.4,
        "Not converted to the flight controller's unit",
        size=7.0,
        bold=True,
        colour=palette.WANTED,
    )
    page.paragraph(x + 3.0, y + 5.6, RIGHT - x - 6.0, lacking_words(card), size=6.6)


def _loops(page: Page, card: GainsCard, y: float) -> float:
    y = _title(page, LEFT, y, "Room for the gain of each loop, and what to look for", RIGHT)
    _heads(page, y + 0.4)
    y += 4.6
    for name in card.rungs[0].loops:
        top = y
        for rung in card.rungs:
            _loop(page, rung, rung.loops[name], y)
            y += ROW
        page.text(LEFT, top, name.capitalize(), size=7.6, bold=True)
        page.rule(LEFT, y - 1.3, RIGHT)
        y += 0.9
    return page.paragraph(
        LEFT, y + 0.5, WIDTH,
        room_words(card), size=6.0, colour=palette.INK_SOFT,
    ) + 1.6  # fmt: skip


def _heads(page: Page, y: float) -> None:
    soft: dict[str, object] = {"size": 6.2, "colour": palette.INK_SOFT}
    page.text(SET_AT, y, "set", align="right", **soft)  # type: ignore[arg-type]
    page.text(BAR_LEFT - 2.0, y, "down dB", align="right", **soft)  # type: ignore[arg-type]
    page.text(0.5 * (BAR_LEFT + BAR_RIGHT), y, "gain", align="center", **soft)  # type: ignore[arg-type]
    page.text(BAR_RIGHT + 9.0, y, "up dB", align="right", **soft)  # type: ignore[arg-type]
    page.text(COLUMNS["crossover"], y, "crossover", align="right", **soft)  # type: ignore[arg-type]
    page.text(COLUMNS["phase"], y, "phase", align="right", **soft)  # type: ignore[arg-type]
    for x, words in zip(SIGNS_AT, SIGNS, strict=True):
        page.text(x, y, words, **soft)  # type: ignore[arg-type]


def _loop(page: Page, rung: Rung, look: LoopLook, y: float) -> None:
    page.text(SET_AT, y, set_name(rung), size=6.6, align="right")
    down, up, phase = look.gain_down_dB[0], look.gain_up_dB[0], look.phase_deg[0]
    if not math.isfinite(down):
        page.text(BAR_LEFT, y, "UNSTABLE everywhere", size=6.6, bold=True, colour=palette.ALARM)
        return
    _bar(page, look, y)
    for value, x in ((down, BAR_LEFT - 2.0), (up, BAR_RIGHT + 9.0)):
        _number(page, x, y, f"{value:.1f}", value < GAIN_DB)
    page.text(COLUMNS["crossover"], y, f"{number(look.hover.crossover_Hz, 2)} Hz", size=6.6, align="right")
    _number(page, COLUMNS["phase"], y, f"{phase:.0f} deg", phase < PHASE_DEG)
    for x, words in zip(SIGNS_AT, signs_of(look), strict=True):
        page.text(x, y, words, size=6.4)


def _number(page: Page, x: float, y: float, words: str, short: bool) -> None:
    """A number of a loop; red and bold when it is short of the practice."""
    page.text(
        x, y, words, size=6.6, align="right", bold=short, colour=palette.ALARM if short else palette.INK
    )


def _bar(page: Page, look: LoopLook, y: float) -> None:
    """The room for the gain about the present one."""

    def place(decibel: float) -> float:
        share = (min(max(decibel, BAR_LOW), BAR_HIGH) - BAR_LOW) / (BAR_HIGH - BAR_LOW)
        return BAR_LEFT + share * (BAR_RIGHT - BAR_LEFT)

    page.box(place(-GAIN_DB), y - ROW / 2.0, place(GAIN_DB) - place(-GAIN_DB), ROW, fill=palette.CARD)
    hover = (place(-look.hover.gain_down_dB), place(look.hover.gain_up_dB))
    least = (place(-look.gain_down_dB[0]), place(look.gain_up_dB[0]))
    page.box(hover[0], y - 0.25, hover[1] - hover[0], 0.5, fill=palette.RULE)
    page.box(least[0], y - 0.75, least[1] - least[0], 1.5, fill=palette.FLOWN)
    page.upright(place(0.0), y - 1.3, y + 1.3, colour=palette.INK, width=0.9)


def _steps(page: Page, card: GainsCard, y: float, to: float) -> float:
    y = _title(page, LEFT, y, "Steps", to)
    for k, line in enumerate(steps_of(card)):
        page.text(LEFT + 1.0, y, f"{k + 1}", size=7.2, bold=True)
        y = page.paragraph(LEFT + 5.0, y, to - LEFT - 5.0, line, size=6.6) + 0.7
    for line in (log_words(card), *card.notes):
        y = page.paragraph(LEFT, y + 0.6, to - LEFT, line, size=6.2, colour=palette.INK_SOFT)
    return y


def _beside(page: Page, card: GainsCard, y: float, x: float) -> float:
    """Check by hand and plots, to the right of the steps."""
    if card.checks:
        y = _checks(page, card, y, x)
    y = _title(page, x, y, "What to open in the log", RIGHT)
    for name, words in PLOTS.items():
        page.text(x, y, name, size=6.6, bold=True)
        y = page.paragraph(x + 15.0, y, RIGHT - x - 15.0, words, size=6.4)
    return y


def _checks(page: Page, card: GainsCard, y: float, x: float) -> float:
    y = _title(page, x, y, "Check by hand that the gains went in right", RIGHT)
    y = page.paragraph(x, y, RIGHT - x, check_head(card.checks[-1][0]), size=6.4) + 0.6
    places = [RIGHT - 11.0 * (len(card.rungs) - 1 - k) for k in range(len(card.rungs))]
    for place, rung in zip(places, card.rungs, strict=True):
        page.text(place, y, set_name(rung), size=6.4, bold=True, align="right")
    y += 3.4
    for axis, check in enumerate(card.checks[-1]):
        for place, row in zip(places, card.checks, strict=True):
            page.text(place, y, f"{row[axis].difference_pct:.1f} %", size=6.8, bold=True, align="right")
        y = page.paragraph(x, y, places[0] - x - 9.0, check_words(check), size=6.4) + 0.5
    return y + 3.6
