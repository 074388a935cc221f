"""The gains card as a web page: self-contained, text that can be searched and copied, one A4 page when printed."""

from __future__ import annotations

import math
from collections.abc import Iterable
from html import escape

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
from quadsim.analysis.gains_ladder import LoopLook
from quadsim.analysis.margin_survey import GAIN_DB, PHASE_DEG
from quadsim.report import palette
from quadsim.report.gains_card_text import converted_number, lacking_words, summary_of, throttle_words
from quadsim.report.numbers import figure as number

WORDS = ' class="words"'
BAR_DB = 30.0
"""Ends of the scale of gain either way [dB]."""

STYLE = f"""
@page {{ size: A4; margin: 9mm 10mm; }}
* {{ box-sizing: border-box; }}
body {{ font: 6.9pt/1.28 "DejaVu Sans", Verdana, sans-serif; color: {palette.INK}; background: {palette.PAPER};
  width: 190mm; margin: 0 auto; -webkit-print-color-adjust: exact; print-color-adjust: exact; }}
h1 {{ font-size: 16pt; margin: 0; line-height: 1.2; }}
h2 {{ font-size: 8pt; margin: 1.6mm 0 0.6mm; padding-top: 0.8mm; border-top: 0.3mm solid {palette.INK}; break-after: avoid; }}
p, ol {{ margin: 0.5mm 0; }}
ol {{ padding-left: 4.5mm; }} li {{ margin-bottom: 0.5mm; }} li::marker {{ font-weight: bold; }}
.soft {{ color: {palette.INK_SOFT}; font-size: 6pt; }}
header {{ display: flex; justify-content: space-between; align-items: flex-end; }}
header span {{ display: inline-block; width: 23mm; margin-left: 2mm; border-top: 0.2mm solid {palette.INK_SOFT}; }}
aside {{ background: {palette.CARD}; border-left: 1.2mm solid {palette.ALARM}; padding: 0.8mm 2.5mm; margin-top: 1.2mm; }}
aside b {{ color: {palette.ALARM}; font-size: 8pt; }} aside p {{ margin: 0; }}
table {{ border-collapse: collapse; width: 100%; }}
th {{ font-weight: normal; color: {palette.INK_SOFT}; font-size: 6.2pt; text-align: right; padding: 0 1mm; white-space: nowrap; }}
td {{ padding: 0.12mm 1mm; text-align: right; font-variant-numeric: tabular-nums; white-space: nowrap; }}
td:first-child, th:first-child, .words {{ text-align: left; }} .words {{ padding-left: 2.5mm; }}
td.wrap {{ white-space: normal; text-align: left; }}
tbody.striped tr:nth-child(odd) {{ background: {palette.CARD}; }}
tr.first td {{ border-top: 0.15mm solid {palette.RULE}; }}
.alarm {{ color: {palette.ALARM}; font-weight: bold; }} .good {{ color: {palette.FLOWN}; font-weight: bold; }}
.box {{ display: inline-block; width: 2.4mm; height: 2.4mm; border: 0.2mm solid {palette.INK}; margin-right: 1.5mm; }}
.refusal {{ border: 0.2mm solid {palette.WANTED}; padding: 1.5mm 3mm; }} .refusal b {{ color: {palette.WANTED}; }}
.columns {{ display: flex; gap: 5mm; }} .columns > div {{ flex: 1 1 0; min-width: 0; }}
svg {{ display: block; width: 34mm; height: 2.9mm; }}
@media screen {{ body {{ zoom: 1.4; padding: 8mm 0; }} }}
"""


def card_html(card: GainsCard) -> str:
    """The whole page."""
    title = escape(f"{card.craft.name}: gains card")
    parts = (
        _head(card, title), _sets(card), _gains(card), _loops(card),
        f'<div class="columns"><div>{_steps(card)}</div><div>{_checks(card)}{_log()}</div></div>',
    )  # fmt: skip
    return (
        f'<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8"><title>{title}</title>\n<style>{STYLE}</style></head>\n'
        "<body>\n" + "\n".join(parts) + "\n</body></html>\n"
    )


def _row(cells: Iterable[str], attributes: str = "") -> str:
    return f"<tr{attributes}>{''.join(cells)}</tr>"


def _cell(text: str, kind: str = "") -> str:
    return f'<td class="{kind}">{escape(text)}</td>' if kind else f"<td>{escape(text)}</td>"


def _heads(names: Iterable[str], words: Iterable[str] = ()) -> str:
    """Heads of columns; `words` are those of columns of words."""
    left = set(words)
    return _row(f"<th{WORDS if name in left else ''}>{escape(name)}</th>" for name in names)


def _head(card: GainsCard, title: str) -> str:
    boxes = "".join(f'<span class="soft">{words}</span>' for words in ("craft no.", "date", "pilot"))
    cautions = "".join(f"<p>{escape(line)}</p>" for line in CAUTIONS)
    return (
        f"<header><h1>{title}</h1><div>{boxes}</div></header>\n<p class=\"soft\">{escape(summary_of(card))}</p>\n"
        f"<aside><b>{escape(NO_CLEARANCE)}</b>{cautions}</aside>"
    )  # fmt: skip


def _sets(card: GainsCard) -> str:
    rows = []
    for rung, flown in zip(card.rungs, card.flown, strict=True):
        tag = tag_of(card, rung)
        words = ("begin here: " if rung is card.begin else "") + good_for(card, rung)
        cells = (
            f'<td><i class="box"></i><b>{set_name(rung)}</b></td>',
            _cell(tag, "words alarm" if tag.isupper() else "words good"),
            _cell(words, "wrap"),
            _cell(f"{flown.max_tilt_deg:.0f} deg, {flown.height_error_m:.1f} m"),
        )
        rows.append(_row(cells))
    head = _row(("<th></th><th></th><th></th>", "<th>through a simulated gust</th>"))
    return (
        f"<h2>The ladder: one set a flight, tick it off</h2><table>{head}{''.join(rows)}</table>"
        f'<p class="soft">{escape(SCALED_WORDS)}</p>'
    )


def _gains(card: GainsCard) -> str:
    sets = [set_name(rung) for rung in card.rungs]
    theirs = [*sets, "flight controller"] if card.converter else []
    rows = []
    for row in card.rows:
        cells = [
            f"<td><b>{escape(row.words)}</b></td>",
            _cell(row.unit, "words soft"),
            *(_cell(number(v)) for v in row.values),
        ]
        if card.converter:
            numbers = [converted_number(value) for value in row.converted] or [""] * len(sets)
            cells += [*map(_cell, numbers), _cell(row.converted_unit, "soft")]
        rows.append(_row(cells))
    table = f'<table><thead>{_heads(["", "", *sets, *theirs])}</thead><tbody class="striped">{"".join(rows)}</tbody></table>'
    physical = f'<p class="soft">{escape(PHYSICAL_WORDS)}</p>'
    if card.converter:
        return f'<h2>Gains</h2>{table}{physical}<p class="soft">{escape(throttle_words(card))}</p>'
    refusal = f'<p class="refusal"><b>Not converted to the flight controller\'s unit</b><br>{escape(lacking_words(card))}</p>'
    return f'<h2>Gains</h2><div class="columns"><div>{table}</div><div>{refusal}</div></div>{physical}'


def _loops(card: GainsCard) -> str:
    heads = _heads(("", "set", "down dB", "", "up dB", "crossover", "phase", *SIGNS), SIGNS)
    rows = []
    for name in card.rungs[0].loops:
        for k, rung in enumerate(card.rungs):
            first = f"<td><b>{name.capitalize()}</b></td>" if k == 0 else "<td></td>"
            cells = (first, _cell(set_name(rung)), *_loop(rung.loops[name]))
            rows.append(_row(cells, ' class="first"' if k == 0 else ""))
    return (
        f"<h2>Room for the gain of each loop, and what to look for</h2><table>{heads}{''.join(rows)}</table>"
        f'<p class="soft">{escape(room_words(card))}</p>'
    )


def _loop(look: LoopLook) -> tuple[str, ...]:
    down, up, phase = look.gain_down_dB[0], look.gain_up_dB[0], look.phase_deg[0]
    if not math.isfinite(down):
        return ('<td class="alarm words" colspan="8">UNSTABLE everywhere</td>',)
    return (
        _cell(f"{down:.1f}", "alarm" if down < GAIN_DB else ""), f"<td>{_bar(look)}</td>",
        _cell(f"{up:.1f}", "alarm" if up < GAIN_DB else ""), _cell(f"{number(look.hover.crossover_Hz, 2)} Hz"),
        _cell(f"{phase:.0f} deg", "alarm" if phase < PHASE_DEG else ""), *(_cell(words, "words") for words in signs_of(look)),
    )  # fmt: skip


def _bar(look: LoopLook) -> str:
    """The room for the gain about the present one, drawn."""

    def box(low: float, high: float, height: float, colour: str) -> str:
        low, high = max(low, -BAR_DB), min(high, BAR_DB)
        return f'<rect x="{low:.2f}" y="{-height / 2}" width="{max(high - low, 0.0):.2f}" height="{height}" fill="{colour}"/>'

    marks = (
        box(-GAIN_DB, GAIN_DB, 4.0, palette.CARD),
        box(-look.hover.gain_down_dB, look.hover.gain_up_dB, 0.5, palette.RULE),
        box(-look.gain_down_dB[0], look.gain_up_dB[0], 1.7, palette.FLOWN),
        f'<rect x="-0.2" y="-1.6" width="0.4" height="3.2" fill="{palette.INK}"/>',
    )
    return f'<svg viewBox="{-BAR_DB} -2 {2 * BAR_DB} 4" preserveAspectRatio="none" aria-hidden="true">{"".join(marks)}</svg>'


def _steps(card: GainsCard) -> str:
    notes = "".join(f'<p class="soft">{escape(line)}</p>' for line in (log_words(card), *card.notes))
    return f"<h2>Steps</h2><ol>{''.join(f'<li>{escape(line)}</li>' for line in steps_of(card))}</ol>{notes}"


def _checks(card: GainsCard) -> str:
    if not card.checks:
        return ""
    rows = []
    for axis, check in enumerate(card.checks[-1]):
        numbers = (f"<td><b>{row[axis].difference_pct:.1f} %</b></td>" for row in card.checks)
        rows.append(_row((_cell(check_words(check), "wrap"), *numbers)))
    heads = _heads(["", *(set_name(rung) for rung in card.rungs)])
    return (
        f"<h2>Check by hand that the gains went in right</h2><p>{escape(check_head(card.checks[-1][0]))}</p>"
        f"<table>{heads}{''.join(rows)}</table>"
    )


def _log() -> str:
    lines = "".join(f"<p><b>{name}</b> {escape(words)}</p>" for name, words in PLOTS.items())
    return f"<h2>What to open in the log</h2>{lines}"
