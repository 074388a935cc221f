"""Words of a sweep's sheet: its title, what was varied, how to read it; a figure's and a key's name as words."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from quadsim.config.metric_names import METRIC_NAMES
from quadsim.report.numbers import figure as number
from quadsim.sweep.keys import Key
from quadsim.sweep.outcome import Outcome

LETTERS = 190
"""Letters of a line under the title."""
LONGEST = 64
"""Letters of a panel's title; a longer meaning ends at its first comma, or is cut."""
READ = {
    "map": (
        "Number and shade: median of the flights there.", "\N{MULTIPLICATION SIGN}: not all of them pass.",
        "Red line: on one side half of them or more pass, on the other fewer.",
    ),
    "line": ("Line: median; band: 5 to 95 % of the flights; dot: a flight that passed; cross: one that did not.",),
    "cells": ("Stroke: median; bar: 5 to 95 % of the flights; dot: a flight that passed; cross: one that did not.",),
    "scatter": (
        "Bar: change when the input grows by the amount beside it, blue up, ochre down;", "pale where neither it nor the rank "
        "correlation can be told from chance.",
        "Line: 95 % interval, for all inputs at once.",
    ),
}  # fmt: skip
"""How a kind of sheet is read."""
CAUTION = "A simulated pass is not a clearance to fly."


def title(outcome: Outcome) -> str:
    """The answer: how many passed."""
    sweep, share = outcome.sweep, outcome.share
    names = ", ".join(sweep.base.crafts)
    return f"{names} in {sweep.flight.name}: {share.passed} of {share.flown} flights pass"


def lines(outcome: Outcome, kind: str, still: list[str]) -> list[str]:
    """What stands under the title; still : labels of figures that are the same in every flight."""
    said = [_how_sure(outcome), f"Varied: {_varied(outcome)}." if _varied(outcome) else ""]
    same = [f"{metric_words(label)[0].lower()} {number(_value(outcome, label))}" for label in still]
    said += [f"The same in every flight: {'; '.join(same)}."] if same else []
    return [*_packed(one for one in said if one), *_packed((*READ[kind], CAUTION))]


def _packed(sentences: Iterable[str], between: str = " ") -> list[str]:
    """Sentences on as few lines as hold them whole; one longer than a line is folded."""
    found: list[str] = []
    for one in sentences:
        if found and len(found[-1]) + len(between) + len(one) <= LETTERS:
            found[-1] += between + one
        else:
            found.append(one)
    return [part for line in found for part in textwrap.wrap(line, LETTERS)]


def _how_sure(outcome: Outcome) -> str:
    sweep, share = outcome.sweep, outcome.share
    words = f"{sweep.flight.title}."
    if len(sweep.cells) == 1:  # over a grid it would be a share of nothing
        low, high = share.interval
        words += f" {100 * share.share:.3g} % pass, 95 % interval of that share {100 * low:.3g} to {100 * high:.3g} %."
    words += "" if sweep.flight.expect else " The flight expects nothing: only the way it ends is judged."
    words += f" {len(outcome.refused)} could not be flown." if outcome.refused else ""
    return words + (f" {outcome.left} not flown yet." if outcome.left else "")


def _varied(outcome: Outcome) -> str:
    """Keys as they are written, so that the sheet can be flown again."""
    sweep = outcome.sweep
    words = [f"{'/'.join(key.name for key in axis.keys)} ({len(axis.values)} values)" for axis in sweep.axes]
    words += [f"{len(sweep.base.laws)} control laws"] if len(sweep.base.laws) > 1 else []
    words += [f"{sweep.wanted.scatter} draws of {len(sweep.drawn)} inputs"] if sweep.wanted.scatter else []
    words += [f"{sweep.wanted.seeds} seeds"] if sweep.wanted.seeds > 1 else []
    return ", ".join(words)


def _value(outcome: Outcome, label: str) -> float | None:
    (one,) = [one for one in outcome.figures if one.label == label]
    return one.least[1] if one.least else None


def metric_words(label: str) -> tuple[str, str]:
    """A figure's meaning, with its window of time where it has one, and its unit."""
    metric, _, window = label.partition(" ")
    unit, meaning = METRIC_NAMES[metric]
    if len(meaning) > LONGEST:
        meaning = textwrap.shorten(
            meaning.split(",")[0].split(" (")[0], LONGEST, placeholder=" \N{HORIZONTAL ELLIPSIS}"
        )
    return meaning[:1].upper() + meaning[1:] + (f", {window}" if window else ""), "" if unit == "-" else unit


def key_words(name: str, unit: str) -> str:
    """A key as words without its unit: `battery.capacity_mAh` is "battery: capacity"."""
    *sections, last = name.split(".")[-2:]
    last, _, place = last.partition("#")
    for suffix in _suffixes(unit):
        last = last.removesuffix(f"_{suffix}")
    words = last.replace("_", " ") + (f" #{place}" if place else "")
    return ": ".join([*(one.replace("_", " ").replace("#", " #") for one in sections), words])


def _suffixes(unit: str) -> list[str]:
    """How a unit ends a key's name."""
    if not unit:
        return []
    plain = unit.split(" of ")[0].replace("%", "pct").removeprefix("deg ")
    return [plain.replace("/", "_per_"), plain.replace("/", "_")]


def with_unit(key: Key) -> str:
    """A key as words, for an axis."""
    words = key_words(key.name, key.unit)
    return f"{words}, {key.unit}" if key.unit else words
