"""Why a neighbour lost: the best choice with one part changed, kind by kind."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from quadsim.parts import figures
from quadsim.parts.bill import bill
from quadsim.parts.choice import EVENTS, Choice, fitted_misfits, shared_misfits
from quadsim.parts.search import COLUMNS, Market, Ranked, points_of


@dataclass(frozen=True)
class Neighbour:
    """The choice with one part changed: what for what, and in words why it lost; points are NaN when it does not fit."""

    kind: str
    part: str
    instead_of: str
    why: str
    points: float
    price: float


def neighbours(here: Market, best: Ranked, budget: float) -> list[Neighbour]:
    """For every kind of part the change that comes nearest: in points, or, when none fits, any with its reason."""
    found = []
    for kind in COLUMNS:
        tried = [_judged(here, best, budget, kind, *change) for change in _changes(here, best.choice, kind)]
        if tried:
            found.append(max(tried, key=lambda one: _nearness(one, best, budget)))
    return found


def _nearness(one: Neighbour, best: Ranked, budget: float) -> tuple[bool, bool, float]:
    """What fits first, then what can be paid, then points; of what does not fit the nearest in price."""
    fits = not np.isnan(one.points)
    return fits, one.price <= budget, one.points if fits else -abs(one.price - best.price)


def _changes(here: Market, choice: Choice, kind: str) -> Iterator[tuple[Choice, str, str]]:
    """Choice, new and old name of every exchange of one kind; a propeller or pack goes wherever the old one was used."""
    for other in getattr(here.catalogue, kind):
        if kind not in ("propeller", "battery"):
            old = getattr(choice.shared, kind)
            if other.name != old.name:
                yield replace(choice, shared=replace(choice.shared, **{kind: other})), other.name, old.name
            continue
        for old in choice.propellers if kind == "propeller" else choice.batteries:
            if other.name != old.name:
                changed: dict[str, Any] = {
                    event: replace(choice.of(event), **{kind: other})
                    for event in EVENTS
                    if getattr(choice.of(event), kind).name == old.name
                }
                yield replace(choice, **changed), other.name, old.name


def _judged(
    here: Market, best: Ranked, budget: float, kind: str, choice: Choice, new: str, old: str
) -> Neighbour:
    price = sum(line.price for line in bill(choice, here.catalogue, here.terms))
    misfits = shared_misfits(choice.shared, here.contest)
    for event in EVENTS:
        misfits += fitted_misfits(choice.shared, choice.of(event), here.catalogue)
    if misfits:
        return Neighbour(kind, new, old, misfits[0], float("nan"), price)
    dash, lift, lap = event_figures(here, choice)
    points = points_of(here.contest, dash, lift, lap)
    if price > budget:
        why = f"{price - budget:.0f} EUR over the budget"
    elif points < best.points:
        why = f"{best.points - points:.1f} points less: " + _worst(best, dash, lift, lap)
    else:
        why = f"as good within the steps of the estimate, {price - best.price:+.0f} EUR"
    return Neighbour(kind, new, old, why, points, price)


def _worst(best: Ranked, dash: float, lift: float, lap: float) -> str:
    """The event that loses most, with both figures."""
    losses = {
        f"dash {dash:.1f} instead of {best.dash:.1f} m/s": 1.0 - dash / best.dash,
        f"lift {1e3 * lift:.0f} instead of {1e3 * best.lift:.0f} g": 1.0 - lift / best.lift,
        f"lap {lap:.2f} instead of {best.lap:.2f} s": 1.0 - best.lap / lap if np.isfinite(lap) else 1.0,
    }
    return max(losses, key=lambda words: losses[words])


def event_figures(here: Market, choice: Choice) -> tuple[float, float, float]:
    """Dash [m/s], load [kg] and lap [s] of a choice, each event with its own propeller and pack."""
    from quadsim.parts.figure_kernels import DASH, LAP, LIFT

    rows = np.array([_row(here, choice, event) for event in ("dash", "lift", "slalom")], np.int64)
    answer = figures.craft_figures(rows, here.tables, here.rules, here.course)
    return float(answer[0, DASH]), float(answer[1, LIFT]), float(answer[2, LAP])


def _row(here: Market, choice: Choice, event: Any) -> list[int]:
    parts = {kind: getattr(choice.shared, kind, None) or getattr(choice.of(event), kind) for kind in COLUMNS}
    return [[one.name for one in getattr(here.catalogue, kind)].index(parts[kind].name) for kind in COLUMNS]
