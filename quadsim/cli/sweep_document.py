"""What `quadsim sweep --json` prints."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from quadsim.sweep.influence import Influences
    from quadsim.sweep.outcome import Outcome, Share

QUANTILES = ("p5", "median", "p95")


def document(outcome: Outcome, commands: Mapping[int, str]) -> dict[str, Any]:
    """The whole sweep; commands : that fly a flight again, by its number."""
    from quadsim.sweep.outcome import PASSES

    sweep = outcome.sweep
    matters = [outcome.influences(label) for label in (PASSES, *sweep.shown)]
    return {
        "flight": sweep.flight.name,
        "crafts": list(sweep.base.crafts),
        "laws": sweep.base.laws,
        "flights": len(sweep.cases),
        "left": outcome.left,
        "varied": [
            {
                "key": axis.key.name, "unit": axis.key.unit, "values": axis.values,
                "beside": {key.name: values for key, values in axis.beside},
            }
            for axis in sweep.axes
        ],
        "drawn": [
            {"key": one.key.name, "unit": one.key.unit, "value": one.value, "sigma": one.sigma, "even": one.uniform}
            for one in sweep.drawn
        ],
        "not_felt": [one.key.name for one in sweep.unfelt],
        **_share(outcome.share, alike=len(sweep.cells) == 1),
        "missed": dict(outcome.missed),
        "refused": [{"flight": one.number, "words": one.words} for one in outcome.refused],
        "metrics": {
            one.label: dict(zip(QUANTILES, (one.low, one.middle, one.high), strict=True))
            | {"least": _end(one.least), "greatest": _end(one.greatest)}
            for one in outcome.figures
        },
        "cells": [
            {
                "craft": one.cell.craft, "law": one.cell.law, "values": _values(outcome, one.cell.values), **_share(one.share),
                "refused": one.refused,
                "metrics": {label: dict(zip(QUANTILES, three, strict=True)) for label, three in one.figures.items()},
            }
            for one in outcome.cells
        ],
        "influences": {one.figure: _influences(one) for one in matters if one is not None},
        "worst": _worst(outcome),
        "again": {str(number): command for number, command in commands.items()},
        "runs": [_run(outcome, number) for number in outcome.judged],
    }  # fmt: skip


def _share(share: Share, alike: bool = True) -> dict[str, Any]:
    """alike : the flights differ by chance alone; over a grid there is no share to be sure of."""
    interval = [100.0 * end for end in share.interval] if alike else None
    return {
        "passed": share.passed, "flown": share.flown, "pass_pct": 100.0 * share.share, "pass_interval_pct": interval,
    }  # fmt: skip


def _end(end: tuple[int, float] | None) -> dict[str, Any] | None:
    return None if end is None else {"flight": end[0], "value": end[1]}


def _values(outcome: Outcome, values: tuple[Any, ...]) -> dict[str, Any]:
    return {axis.key.name: value for axis, value in zip(outcome.sweep.axes, values, strict=True)}


def _influences(found: Influences) -> dict[str, Any]:
    return {
        "flights": found.flights,
        "explained": found.explained,
        "inputs": [
            {
                "key": one.input.name, "unit": one.input.unit, "step": one.input.step,
                "rank_correlation": one.correlation, "interval": one.interval,
                "effect": one.effect, "effect_interval": one.effect_interval, "certain": one.certain,
            }
            for one in found.ranked
        ],
    }  # fmt: skip


def _worst(outcome: Outcome) -> dict[str, Any] | None:
    return None if outcome.worst is None else _run(outcome, outcome.worst.flown.number)


def _run(outcome: Outcome, number: int) -> dict[str, Any]:
    case, one = outcome.case(number), outcome.judged[number]
    return {
        "flight": number, "craft": case.cell.craft, "law": case.cell.law, "seed": case.seed,
        "changes": {key.name: value for key, value in case.changes}, "status": one.flown.status,
        "status_text": one.flown.words, "passed": one.passed, "missed": one.failed, "metrics": one.flown.figures,
    }  # fmt: skip
