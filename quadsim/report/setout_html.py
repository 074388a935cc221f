"""The set-out sheet as a web page: self-contained, the plan as drawing, tables that can be copied."""

from __future__ import annotations

import io
from collections.abc import Callable
from html import escape

import matplotlib
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from quadsim.report import palette
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

STYLE = f"""
@page {{ size: A4; margin: 9mm 10mm; }}
* {{ box-sizing: border-box; }}
body {{ font: 7pt/1.35 "DejaVu Sans", Verdana, sans-serif; color: {palette.INK}; background: {palette.PAPER};
  width: 190mm; margin: 0 auto; -webkit-print-color-adjust: exact; print-color-adjust: exact; }}
h1 {{ font-size: 16pt; margin: 0; }}
h2 {{ font-size: 8pt; margin: 2mm 0 0.6mm; padding-top: 0.8mm; border-top: 0.3mm solid {palette.INK}; break-after: avoid; }}
p {{ margin: 0.5mm 0; }}
.alarm {{ color: {palette.ALARM}; font-weight: bold; }} .soft {{ color: {palette.INK_SOFT}; font-size: 6.2pt; }}
aside {{ background: {palette.CARD}; border-left: 1.2mm solid {palette.ALARM}; padding: 0.8mm 2.5mm; margin: 1.2mm 0; }}
table {{ border-collapse: collapse; width: 100%; }}
th {{ font-weight: normal; color: {palette.INK_SOFT}; font-size: 6pt; text-align: right; padding: 0 1mm; }}
td {{ padding: 0.2mm 1mm; text-align: right; font-variant-numeric: tabular-nums; white-space: nowrap; }}
td:first-child, th:first-child {{ text-align: left; font-weight: bold; }}
tbody tr:nth-child(odd) {{ background: {palette.CARD}; }}
aside strong {{ color: {palette.ALARM}; font-size: 8.2pt; }}
ol {{ margin: 0; padding-left: 5mm; }} li {{ break-inside: avoid; margin: 0 0 0.6mm; }}
tr, svg, aside {{ break-inside: avoid; }} thead {{ display: table-header-group; }}
.columns {{ display: flex; gap: 6mm; break-inside: avoid; }} .columns > div {{ flex: 1 1 0; min-width: 0; }}
.columns > .wide {{ flex-grow: 2.4; }}
svg {{ width: 100%; height: auto; max-height: 105mm; }}
@media screen {{ body {{ zoom: 1.4; padding: 8mm 0; }} }}
"""


PLAN_INCH, TALLEST_INCH = 5.2, 3.4
"""Width of the plan, and its greatest height."""


def sheet_html(sheet: Sheet) -> str:
    """The whole page."""
    one = sheet.setout
    title = escape(f"{one.course.name}: set-out sheet")
    size = (one.course.field.high - one.course.field.low)[:2]
    tall = min(PLAN_INCH * 1.05 * float(size[1] / size[0]), TALLEST_INCH)
    plan = _drawing("plan", lambda axes: draw_plan(axes, sheet), PLAN_INCH, tall)
    people = _drawing("people", lambda axes: draw_people(axes, sheet), 3.0, 1.5)
    caution = f"<p><strong>{escape(FIRST)}</strong></p>{_words(CAUTIONS)}"
    work = "".join(f"<li>{escape(line)}</li>" for line in work_words(sheet))
    gates = f'{_table(gate_grid(one))}<p class="soft">{escape(TAPE_WORDS)}</p>'
    material = f'{_table(material_grid(one))}<p class="soft">{escape(MATERIAL_WORDS)}</p>'
    body = (
        f'<h1>{title}</h1><p class="soft">{escape(summary(sheet))}</p><aside>{caution}</aside>'
        f"{_columns(plan, f'<h2>Order of work</h2><ol>{work}</ol>', wide=True)}{gates}"
        f"{_columns(_table(peg_grid(one)), material)}"
        f"<h2>Where people stand</h2>{_columns(_crowd(sheet), people)}"
    )
    head = f'<meta charset="utf-8"><title>{title}</title><style>{STYLE}</style>'
    return f'<!DOCTYPE html>\n<html lang="en"><head>{head}</head>\n<body>{body}</body></html>\n'


def _columns(left: str, right: str, wide: bool = False) -> str:
    """Side by side; wide : the left one takes more than two thirds."""
    return f'<div class="columns"><div{" class=wide" * wide}>{left}</div><div>{right}</div></div>'


def _words(lines: tuple[str, ...]) -> str:
    return "".join(f"<p>{escape(line)}</p>" for line in lines)


def _crowd(sheet: Sheet) -> str:
    """The first sentence is what counts; a note beside it is an alarm."""
    first, *others = crowd_words(sheet)
    loud = ' class="alarm"'
    lines = [f"<p{loud * (line == sheet.people.note)}>{escape(line)}</p>" for line in others]
    return f"<p><strong>{escape(first)}</strong></p>{''.join(lines)}"


def _table(grid: Grid) -> str:
    heads = "".join(f"<th>{escape(head)}</th>" for head in grid.heads)
    rows = "".join(f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in row)}</tr>" for row in grid.rows)
    return f"<h2>{escape(grid.title)}</h2><table><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table>"


def _drawing(name: str, draw: Callable[[Axes], None], width: float, height: float) -> str:
    """A picture as SVG without its XML head; its name keeps its ids apart from those of another, and the same every time."""
    with matplotlib.rc_context(palette.SETTINGS | {"svg.hashsalt": name}):
        figure = Figure(figsize=(width, height))
        draw(figure.add_axes((0.0, 0.0, 1.0, 1.0)))
        text = io.StringIO()
        figure.savefig(text, format="svg", facecolor=palette.PAPER, metadata={"Date": None})
    whole = text.getvalue()
    return whole[whole.index("<svg") :]
