"""Tables of the contest-day page: weights, speeds, packs, what changed, what the instruments should show, and room to write."""

from __future__ import annotations

from collections.abc import Sequence

from quadsim.contest_day.lift import GUSTS
from quadsim.contest_day.sheet import DaySheet
from quadsim.contest_day.words import end_words, lap_words, pack_words
from quadsim.report import palette
from quadsim.report.page import Page

ROW = 3.7
LOG = (
    "run",
    "event",
    "weight",
    "pack",
    "wind",
    "held / time",
    "rests at V",
    "put back mAh",
    "motors deg C",
    "what was seen",
)
LOG_AT = (0.0, 9.0, 28.0, 44.0, 57.0, 70.0, 92.0, 110.0, 130.0, 150.0)
LOG_ROW = 5.4


def title(page: Page, x: float, y: float, words: str, to: float) -> float:
    """A heading under a rule; returns the y of the line after it."""
    page.rule(x, y - 3.0, to, colour=palette.INK, width=0.8)
    page.text(x, y, words, size=8.2, bold=True)
    return y + 4.0


def grid(
    page: Page, x: float, y: float, to: float, heads: Sequence[str], rows: Sequence[Sequence[str]], places: Sequence[float],
    loud: Sequence[bool] = (),
) -> float:  # fmt: skip
    """A table: the first column and a column at a negative place to the left, the others to the right of their places [mm]."""
    for place, head in zip(places, heads, strict=True):
        page.text(x + abs(place), y, head, size=6.0, colour=palette.INK_SOFT, align=_align(place))
    y += ROW
    for k, row in enumerate(rows):
        if k % 2 == 0:
            page.box(x, y - ROW / 2.0, to - x, ROW, fill=palette.CARD)
        alarm = bool(loud) and loud[k]
        for place, words in zip(places, row, strict=True):
            page.text(
                x + abs(place), y, words, size=6.6, bold=alarm or place == places[0], align=_align(place),
                colour=palette.ALARM if alarm else palette.INK,
            )  # fmt: skip
        y += ROW
    return y


def _align(place: float) -> str:
    return "left" if place <= 1.0 else "right"


def weights(page: Page, sheet: DaySheet, x: float, y: float, to: float) -> float:
    """The attempt ladder: order, chance today, and in winds up to others."""
    y = title(page, x, y, "Weights in order, and how many of the drawn craft hold them", to)
    heads = ("g", "today", *(f"{gust:.0f}" for gust in GUSTS), "points")
    step = (to - x - 45.0) / len(GUSTS)
    places = (1.0, 24.0, *(30.0 + step * (k + 1) for k in range(len(GUSTS))), to - x - 1.0)
    rows = [
        [f"{1e3 * one.payload:.0f}", _percent(one.chance), *map(_percent, row), f"{one.points:.0f}"]
        for one, row in zip(sheet.lift.attempts, sheet.lift.chances.tolist(), strict=True)
    ]
    y = grid(page, x, y, to, heads, rows, places)
    words = (
        f"In winds up to so many m/s. {sheet.lift.expected:.0f} points on the average; a weight that does not hold ends "
        "the event. Holds: no limit of the craft is passed; nothing is kept in reserve."
    )
    return page.paragraph(x, y, to - x, words, size=6.0, colour=palette.INK_SOFT) + 1.4


def speeds(page: Page, sheet: DaySheet, x: float, y: float, to: float) -> float:
    """Speeds of the dash with their chances."""
    y = title(page, x, y, "Dash: scored at least", to)
    rows = [
        [_percent(chance), f"{speed:.1f}", f"{points:.1f}"] for chance, speed, points in sheet.dash.speeds
    ]
    return grid(page, x, y, to, ("chance", "m/s", "points"), rows, (1.0, 0.6 * (to - x), to - x - 1.0)) + 1.4


def packs(page: Page, sheet: DaySheet, x: float, y: float, to: float) -> float:
    """Packs, the best first."""
    y = title(page, x, y, "Packs, the best first", to)
    heads = ("pack", "mohm", "at 20 deg C", "of file", "lap s", "lift g", "m/s", "for")
    rows = [
        [
            row.pack.name, f"{row.pack.cell_mohm:.1f}", f"{row.room_mohm:.1f}", f"{100.0 * row.of_file:.0f} %",
            f"{row.lap_s:.2f}", f"{1e3 * row.payload:.0f}", f"{row.speed:.1f}", pack_words(row),
        ]
        for row in sheet.packs
    ]  # fmt: skip
    room = to - x
    places = (1.0, *(room * share for share in (0.17, 0.32, 0.43, 0.53, 0.64, 0.73)), room - 1.0)
    if rows:
        y = grid(page, x, y, to, heads, rows, places, [row.worn for row in sheet.packs])
    needed = ", ".join(f"{event} {count}" for event, count in sheet.packs_needed.items())
    words = f"Full packs needed: {needed}; with fewer, charge in between." + (
        "" if rows else " None was measured (--pack): the craft file's counts."
    )
    return page.paragraph(x, y, room, words, size=6.0, colour=palette.INK_SOFT) + 1.4


def changed(page: Page, sheet: DaySheet, x: float, y: float, to: float) -> float:
    """What this day's numbers changed."""
    y = title(page, x, y, f"What this day's numbers changed for {sheet.craft.name}", to)
    rows = [
        [one.known, f"{one.lap_s:.2f}", f"{1e3 * one.payload:.0f}", f"{one.speed:.1f}"] for one in sheet.steps
    ]
    room = to - x
    y = grid(
        page, x, y, to, ("known", "lap s", "lift g", "m/s"), rows, (1.0, 0.76 * room, 0.88 * room, room - 1.0)
    )
    first = sheet.lift.able.spread.contributions[0][0].name
    words = f"With reserve, in today's gust. {lap_words(sheet)} Least known for the lift: {first}; measure it first."
    return page.paragraph(x, y, room, words, size=6.0, colour=palette.INK_SOFT) + 1.4


def instruments(page: Page, sheet: DaySheet, x: float, y: float, to: float) -> float:
    """What the instruments should show after a run."""
    y = title(page, x, y, "What the instruments should show", to)
    heads = (
        "after", "run s", "hover before %", "loaded V/cell", "rests at V/cell", "put back mAh", "motors deg C", "pack deg C",
        "let cool min",
    )  # fmt: skip
    rows = []
    for event, day in sheet.days.items():
        end = day.end
        rows.append(
            [
                event, f"{end.seconds:.0f}", f"{end.hover_pct:.0f}", f"{end.loaded_cell_V:.2f}", f"{end.rest_cell_V:.2f}",
                f"{end.back_mAh:.0f}", f"{end.case_C:.0f}", f"{end.pack_C:.0f}", f"{end.cooling_min:.0f}",
            ]
        )  # fmt: skip
    step = (to - x - 16.0) / (len(heads) - 1)
    y = grid(page, x, y, to, heads, rows, (1.0, *(15.0 + step * (k + 1) for k in range(len(heads) - 1))))
    return page.paragraph(x, y, to - x, end_words(sheet), size=6.0, colour=palette.INK_SOFT) + 1.4


def log(page: Page, x: float, y: float, to: float, lowest: float) -> float:
    """Room to write down each run, as many rows as the page has left, at least three."""
    y = title(page, x, y, "Runs", to)
    for place, words in zip(LOG_AT, LOG, strict=True):
        page.text(x + place, y - 0.4, words, size=6.0, colour=palette.INK_SOFT)
    rows = max(3, int((lowest - y - 2.0) / LOG_ROW))
    for k in range(rows):
        page.rule(x, y + 2.0 + LOG_ROW * (k + 1), to)
    return y + 2.0 + LOG_ROW * rows


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f} %"
