"""The gains card in the terminal, and as a document."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from quadsim.analysis.gains_card_words import (
    CAUTIONS,
    NO_CLEARANCE,
    PHYSICAL_WORDS,
    PRACTICE,
    SCALED_WORDS,
    SIGNS,
    SIGNS_WORDS,
    check_head,
    check_words,
    good_for,
    log_words,
    scope_of,
    set_name,
    signs_of,
    steps_of,
    tag_of,
)
from quadsim.analysis.margin_survey import GAIN_DB, PHASE_DEG
from quadsim.cli.out import say
from quadsim.cli.table import Cell, Column, table
from quadsim.report.gains_card_text import converted_number, lacking_words, summary_of, throttle_words
from quadsim.report.numbers import figure

if TYPE_CHECKING:
    from quadsim.analysis.gains_card import GainsCard
    from quadsim.analysis.gains_ladder import LoopLook, Rung
    from quadsim.analysis.loop_edges import Crossover


def print_card(card: GainsCard) -> None:
    """Print the card."""
    say()
    say(f"{card.craft.name}: gains card", "title")
    say(f"  {summary_of(card)}", "soft")
    for line in (NO_CLEARANCE, *CAUTIONS):
        say(f"  {line}", "caution")
    say()
    say("The ladder, one set a flight", "title")
    say(_sets(card))
    say(f"  {SCALED_WORDS}", "soft")
    say()
    say("Gains", "title")
    say(_gains(card))
    say(f"  {PHYSICAL_WORDS}", "soft")
    say(
        f"  {throttle_words(card) if card.converter else lacking_words(card)}",
        "soft" if card.converter else "caution",
    )
    say()
    say("Room for the gain of each loop, and what to look for", "title")
    say(_loops(card))
    say(f"  Gain and phase are the least over {scope_of(card)}. Marked: short of {PRACTICE}", "soft")
    say(f"  {SIGNS_WORDS}", "soft")
    say(f"  {log_words(card)}", "soft")
    for note in card.notes:
        say(f"  {note}", "caution")
    say()
    say("Steps", "title")
    for k, line in enumerate(steps_of(card)):
        say(f"  {k + 1}  {line}")
    if card.checks:
        say()
        say("Check by hand that the gains went in right", "title")
        say(f"  {check_head(card.checks[-1][0])}")
        say(_checks(card))
    say()


def _sets(card: GainsCard) -> str:
    rows: list[list[str | Cell]] = []
    for rung, flown in zip(card.rungs, card.flown, strict=True):
        tag = tag_of(card, rung)
        words = ("begin here: " if rung is card.begin else "") + good_for(card, rung)
        gust = f"{flown.max_tilt_deg:.0f} deg, {flown.height_error_m:.1f} m"
        rows.append([set_name(rung), Cell(tag, "bad" if tag.isupper() else "good"), gust, words])
    columns = (
        Column("set"),
        Column("", words=True),
        Column("in a gust", words=True),
        Column("good for", words=True),
    )
    return table(columns, rows)


def _gains(card: GainsCard) -> str:
    sets = [Column(set_name(rung)) for rung in card.rungs]
    columns = [Column("", words=True), Column("", words=True, style="soft"), *sets]
    if card.converter:
        columns += [Column("", words=True), *sets, Column("flight controller", words=True, style="soft")]
    rows: list[list[str | Cell]] = []
    for row in card.rows:
        line: list[str | Cell] = [row.words, row.unit, *(figure(value) for value in row.values)]
        if card.converter:
            numbers = [converted_number(value) for value in row.converted] or [""] * len(sets)
            line += ["", *numbers, row.converted_unit]
        rows.append(line)
    return table(columns, rows)


def _loops(card: GainsCard) -> str:
    columns = (
        Column("loop", words=True), Column("set"), Column("down", "dB"), Column("up", "dB"), Column("phase", "deg"),
        Column("crossover", "Hz"), *(Column(words, words=True) for words in SIGNS),
    )  # fmt: skip
    rows = [
        [name if k == 0 else "", set_name(rung), *_loop(rung.loops[name])]
        for name in card.rungs[0].loops
        for k, rung in enumerate(card.rungs)
    ]
    return table(columns, rows)


def _loop(look: LoopLook) -> list[str | Cell]:
    def cell(value: float, least: float, digits: int) -> Cell:
        return Cell(f"{value:.{digits}f}", "bad" if not value >= least else "")

    return [
        cell(look.gain_down_dB[0], GAIN_DB, 1), cell(look.gain_up_dB[0], GAIN_DB, 1), cell(look.phase_deg[0], PHASE_DEG, 0),
        figure(look.hover.crossover_Hz, 2), *signs_of(look),
    ]  # fmt: skip


def _checks(card: GainsCard) -> str:
    rows = [
        [check_words(check), *(f"{row[axis].difference_pct:.1f} %" for row in card.checks)]
        for axis, check in enumerate(card.checks[-1])
    ]
    return table([Column("", words=True), *(Column(set_name(rung)) for rung in card.rungs)], rows)


def card_document(card: GainsCard) -> dict[str, Any]:
    """What `--json` prints."""
    return {
        "craft": card.craft.name,
        "begin_pct": None if card.begin is None else round(100.0 * card.begin.share),
        "sound": card.sound,
        "lacking": list(card.lacking),
        "sets": [_set(card, k, rung) for k, rung in enumerate(card.rungs)],
        "conditions": scope_of(card),
        "rotor_Hz": card.rotor_Hz,
        "log_Hz": card.log_Hz,
        "steps": steps_of(card),
        "cautions": [NO_CLEARANCE, *CAUTIONS],
        "notes": list(card.notes),
    }


def _set(card: GainsCard, k: int, rung: Rung) -> dict[str, Any]:
    return {
        "percent": round(100.0 * rung.share), "good_for": good_for(card, rung), "low_gain_short": rung.low_gain_short,
        "unstable": list(rung.unstable), "flown": vars(card.flown[k]),
        "gains": {row.key: {"value": row.values[k], "unit": row.unit} for row in card.rows},
        "converted": {
            row.key: {"value": row.converted[k], "unit": row.converted_unit} for row in card.rows if row.converted
        },
        "loops": {name: _loop_document(look) for name, look in rung.loops.items()},
        "checks": [vars(check) for check in card.checks[k]] if card.checks else [],
    }  # fmt: skip


def _loop_document(look: LoopLook) -> dict[str, Any]:
    return {
        "hover": vars(look.hover),
        "least": {
            name: {"value": value, "where": where.words}
            for name, (value, where) in (
                ("gain_up_dB", look.gain_up_dB), ("gain_down_dB", look.gain_down_dB), ("phase_deg", look.phase_deg),
            )
        },
        "too_high": _crossover(look.buzz), "too_low": _crossover(look.wallow),
        "integral_too_high": _crossover(look.windup),
    }  # fmt: skip


def _crossover(one: Crossover | None) -> dict[str, float] | None:
    return None if one is None else {"frequency_Hz": one.frequency_Hz, "gain_dB": one.gain_dB}
