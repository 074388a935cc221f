"""A gains card for machines: TOML as a craft file spells its gains, and CSV with one number a line."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from pathlib import Path

from controllers.contract import SLOTS
from quadsim.analysis.gains_card import RATE, GainsCard
from quadsim.analysis.gains_card_words import NO_CLEARANCE, good_for, set_name
from quadsim.analysis.gains_ladder import Rung
from quadsim.whole_file import whole_file

CSV_HEAD = ("set_pct", "kind", "name", "quantity", "value", "unit", "where")


def toml_text(card: GainsCard, rung: Rung) -> str:
    """The `[gains.*]` sections of a craft file for one set."""
    lines = [
        f"# Gains of {card.craft.name}, {set_name(rung)} of its ladder. Good for: {good_for(card, rung)}.",
        f"# Physical units. {NO_CLEARANCE}",
    ]
    for slot, row in _rows(card):
        chosen = [
            f"{gain.name.lower()} = {float(rung.gains[row, gain]):.6g} # {gain.unit}"
            for gain in card.bench.blocks[row].gains
            if _kept(card, slot, row, gain)
        ]
        if chosen:
            lines += ["", f"[gains.{slot}]", *chosen]
    return "\n".join(lines) + "\n"


def _rows(card: GainsCard) -> Iterator[tuple[str, int]]:
    yield from ((slot, row) for row, slot in enumerate(SLOTS))


def _kept(card: GainsCard, slot: str, row: int, gain: object) -> bool:
    """True for a gain that the ladder scales, that the craft file states, or that its flight controller has otherwise."""
    name = str(getattr(gain, "name", "")).lower()
    scaled = any(one.gain.row == row and one.gain.gain is gain for one in card.rows)
    filtered = card.converter is not None and row == RATE and name == "derivative_cutoff"
    return (
        scaled or filtered or any(name in stated for own, stated in card.craft.gains.items() if own == slot)
    )


def csv_rows(card: GainsCard) -> Iterator[tuple[str | float, ...]]:
    """Every number of the card: set, kind, name, quantity, value, unit, where it holds."""
    for k, rung in enumerate(card.rungs):
        percent = round(100.0 * rung.share)
        for row in card.rows:
            yield percent, "gain", row.key, "value", row.values[k], row.unit, ""
            if row.converted:
                yield percent, "gain", row.key, "converted", row.converted[k], row.converted_unit, ""
        for name, look in rung.loops.items():
            yield percent, "loop", name, "crossover", look.hover.crossover_Hz, "Hz", "hover, full"
            for quantity, (value, where) in (
                ("least_gain_up", look.gain_up_dB), ("least_gain_down", look.gain_down_dB), ("least_phase", look.phase_deg),
            ):  # fmt: skip
                yield (
                    percent,
                    "loop",
                    name,
                    quantity,
                    value,
                    "deg" if "phase" in quantity else "dB",
                    where.words,
                )
            for quantity, one in (
                ("too_high", look.buzz), ("too_low", look.wallow), ("integral_too_high", look.windup),
            ):  # fmt: skip
                if one is not None:
                    yield (
                        percent,
                        "loop",
                        name,
                        f"{quantity}_frequency",
                        one.frequency_Hz,
                        "Hz",
                        "hover, full",
                    )
                    yield percent, "loop", name, f"{quantity}_gain", one.gain_dB, "dB", "hover, full"
        flown = card.flown[k]
        yield percent, "flown", "gust", "max_tilt", flown.max_tilt_deg, "deg", flown.status
        yield percent, "flown", "gust", "height_error", flown.height_error_m, "m", flown.status
        for check in card.checks[k] if card.checks else ():
            how = f"turned at {check.rate_deg_s:g} deg/s, propellers off, I = 0, {check.voltage:.1f} V"
            yield (
                percent,
                "check",
                check.axis,
                "motor_difference",
                check.difference_pct,
                "% of command range",
                how,
            )


def csv_text(card: GainsCard) -> str:
    """The card as CSV."""
    file = io.StringIO()
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(CSV_HEAD)
    writer.writerows([f"{v:.9g}" if isinstance(v, float) else v for v in row] for row in csv_rows(card))
    return file.getvalue()


def write_text(text: str, path: Path) -> Path:
    """Write a text whole or not at all."""
    with whole_file(path) as part:
        part.write_text(text, encoding="utf-8")
    return path
