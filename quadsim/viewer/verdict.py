"""The verdict at the end of a flight: how it ended, and each expectation with what was flown."""

from __future__ import annotations

from quadsim.simulation.metrics import METRICS
from quadsim.simulation.run import Run, Verdict
from quadsim.viewer import palette
from quadsim.viewer.canvas import Canvas
from quadsim.viewer.cards import paper
from quadsim.viewer.fonts import BODY, LABEL, STRONG, VALUE
from quadsim.viewer.layout import Layout, Rect

UNIT_SUFFIX = {"%": "pct", "m/s": "m_s", "deg/s": "deg_s"}
"""How a unit is written at the end of a metric's name."""
ROW, HEAD = 21, 62
"""Height of a line and of the heading [px at 1280 x 720]."""


def draw_verdict(canvas: Canvas, layout: Layout, run: Run) -> None:
    """A card over the scene; as tall as it has lines, what does not fit is counted."""
    px, room = layout.px, layout.insets["verdict"]
    lines = [v for v in run.expectations if v.metric != "status"]
    fitting = max(0, (room.h - px(HEAD + 12)) // px(ROW))
    shown = lines if len(lines) <= fitting else lines[: max(0, fitting - 1)]
    rows = len(shown) + (len(shown) < len(lines))
    card = Rect(room.x, room.y, room.w, px(HEAD) + rows * px(ROW) + px(10))
    paper(canvas, px, card, 6)
    passed = all(v.ok for v in run.expectations) if run.expectations else run.passed
    colour = palette.FLOWN if passed else palette.ALARM
    canvas.fill(colour, Rect(card.x, card.y + px(6), px(4), card.h - px(12)))
    x = card.x + px(18)
    word = "Failed" if not passed else "Passed" if run.status == "done" else "Ended as expected"
    if not run.expectations:
        word = run.status.replace("_", " ").capitalize()
    canvas.text((x, card.y + px(9)), word, VALUE, colour)
    status = run.status_text[:1].upper() + run.status_text[1:]
    canvas.text((x, card.y + px(36)), status, BODY, palette.INK, width=card.right - x - px(14))
    for k, line in enumerate(shown):
        _line(canvas, layout, card, card.y + px(HEAD) + k * px(ROW), line)
    if len(shown) < len(lines):
        y = card.y + px(HEAD) + len(shown) * px(ROW)
        failed = sum(not v.ok for v in lines[len(shown) :])
        words = f"and {len(lines) - len(shown)} more, {failed} of them failed; `quadsim fly` lists all"
        canvas.text((x, y), words, LABEL, palette.INK_SOFT, width=card.w - px(30))


def _line(canvas: Canvas, layout: Layout, card: Rect, y: int, line: Verdict) -> None:
    """Mark, metric, value and bound in columns."""
    px = layout.px
    colour = palette.FLOWN if line.ok else palette.ALARM
    canvas.fill(palette.RULE, Rect(card.x + px(18), y - px(3), card.w - px(32), 1))
    _tick(canvas, colour, card.x + px(24), y + px(7), px(4), line.ok)
    unit = METRICS[line.metric].unit if line.metric in METRICS else ""
    name = line.metric.removesuffix("_" + UNIT_SUFFIX.get(unit, unit)).replace("_", " ")
    canvas.text((card.x + px(38), y), name, LABEL, palette.INK, width=px(140))
    value = "none" if line.value is None else f"{_figure(line.value)} {unit}".strip()
    canvas.text((card.x + px(284), y), value, STRONG, colour, anchor="ne", width=px(100))
    canvas.text(
        (card.x + px(300), y), line.bound, LABEL, palette.INK_SOFT, width=card.right - card.x - px(312)
    )


def _figure(value: float) -> str:
    """Three significant figures, whole numbers from a thousand on."""
    return (f"{value:.3g}" if abs(value) < 999.5 else f"{value:.0f}").replace("-", "−")


def _tick(canvas: Canvas, colour: palette.Colour, x: float, y: float, r: float, ok: bool) -> None:
    """Check mark or cross: the verdict does not rest on colour."""
    width = 0.5 * r
    if ok:
        canvas.thick_line(colour, (x - r, y), (x - 0.2 * r, y + r), width)
        canvas.thick_line(colour, (x - 0.3 * r, y + r), (x + r, y - r), width)
    else:
        canvas.thick_line(colour, (x - r, y - r), (x + r, y + r), width)
        canvas.thick_line(colour, (x - r, y + r), (x + r, y - r), width)
