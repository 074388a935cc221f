"""What `lift`, `dash` and `hover` say alike: limits, how sure an answer is, what to measure first, what a change would do."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from quadsim.cli.out import say
from quadsim.cli.table import Cell, Column, table

if TYPE_CHECKING:
    from quadsim.contest.changes import Sensitivity
    from quadsim.contest.uncertainty import Spread

SHOWN = 5
"""Contributions that are printed."""
CAUTION = "A prediction is not a clearance to fly: it is as good as the craft file. First attempts low and far from people."


def print_limits(
    limits: Mapping[str, float], words: Mapping[str, str], unit: str, scale: float, digits: int
) -> None:
    """Every limit with the value at which it bites, the first first."""
    rows: list[list[str | Cell]] = []
    for name in sorted(limits, key=lambda one: limits[one]):
        value = limits[name]
        shown = f"{scale * value:.{digits}f}" if math.isfinite(value) else "not reached"
        rows.append([words[name], Cell(shown, "" if rows else "caution")])
    say(table([Column("limit", words=True), Column("bites at", unit)], rows))


def print_spread(spread: Spread, unit: str, scale: float, digits: int) -> None:
    """Which inputs make the answer uncertain, the greatest first."""
    rows: list[list[str | Cell]] = [
        [one.name, _known(one.value, one.sigma, one.unit), f"{abs(scale * effect):.{digits}f}"]
        for one, effect in spread.contributions[:SHOWN]
    ]
    first = spread.contributions[0][0].name
    say(
        f"  how sure: of {len(spread.samples)} craft drawn from what is not known; measure first: {first}",
        "soft",
    )
    say(
        table(
            [
                Column("input", words=True),
                Column("standard uncertainty", words=True),
                Column("moves it by", unit),
            ],
            rows,
        )
    )


def _known(value: float, sigma: float, unit: str) -> str:
    return f"{sigma:.3g} {unit}".strip() + ("" if unit == "%" else f" of {value:.4g}")


def print_sensitivities(found: Sequence[Sensitivity], unit: str, scale: float, digits: int) -> None:
    """What small changes of the craft would do."""
    rows: list[list[str | Cell]] = [
        # + 0.0: what rounds to nothing has no sign
        [f"{one.change} {one.input}", f"{round(scale * one.effect, digits) + 0.0:+.{digits}f}"]
        for one in found
    ]
    say(table([Column("change", words=True), Column("effect", unit)], rows))


def range_words(interval: tuple[float, float], scale: float, digits: int, unit: str) -> str:
    """An 80 % interval in words."""
    low, high = (f"{scale * one:.{digits}f}" for one in interval)
    return f"{low} to {high} {unit} with 80 % probability"


CHANCES = (95.0, 80.0, 50.0, 20.0)
"""For which it is said what is reached at least [%]."""


def chances(spread: Spread) -> list[tuple[float, float]]:
    """What is reached at least, with the chance of it [%], of the craft that were drawn."""
    levels = [1.0 - one / 100.0 for one in CHANCES]
    return list(zip(np.nanquantile(spread.samples, levels).tolist(), CHANCES, strict=True))


def chance_words(spread: Spread, unit: str, digits: int) -> str:
    """The same in words."""
    each = [f"{value:.{digits}f} {unit} with {chance:.0f} %" for value, chance in chances(spread)]
    return "reached at least: " + ", ".join(each)


def print_end(picture: Path | None) -> None:
    """Where the picture is, and the caution that ends every answer."""
    if picture:
        say(f"drawn in {picture}")
    say()
    say(CAUTION, "soft")


def limits_document(limits: Mapping[str, float], key: str, scale: float = 1.0) -> list[dict[str, Any]]:
    """Limits as JSON, the first first; null where one is not reached."""
    return [{"name": name, key: scale * limits[name]} for name in sorted(limits, key=lambda one: limits[one])]


def spread_document(spread: Spread, unit: str, scale: float = 1.0) -> dict[str, Any]:
    """How sure an answer is, as JSON."""
    return {
        f"interval_{unit}": [scale * one for one in spread.interval],
        f"at_least_95pct_{unit}": scale * spread.at_least,
        "samples": len(spread.samples),
        "contributions": [
            {"input": one.name, "sigma": one.sigma, "unit": one.unit, f"effect_{unit}": scale * effect}
            for one, effect in spread.contributions
        ],
    }


def sensitivities_document(
    found: Sequence[Sensitivity], unit: str, scale: float = 1.0
) -> list[dict[str, Any]]:
    """Sensitivities as JSON."""
    return [{"input": one.input, "change": one.change, f"effect_{unit}": scale * one.effect} for one in found]
