"""What a craft lifts and how many of the drawn ones hold a weight in a wind: `quadsim lift` without changes and curves."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from quadsim.config import Craft
from quadsim.contest.crowd import joined
from quadsim.contest.lift import (
    HARD,
    WORDS,
    Ratings,
    attempt_margins,
    first_limit,
    hard_margins,
    joined_ratings,
    margins,
    payload_limits,
    ratings,
)
from quadsim.contest.lift_prediction import ROUGH
from quadsim.contest.loaded import LoadedCrowd, loaded_crowd, probe
from quadsim.contest.rules import LiftRule
from quadsim.contest.uncertainty import Draws, Spread, spread
from quadsim.environment.atmosphere import Site
from quadsim.errors import InputError, Problem

Array = NDArray[np.float64]
BREEZES = np.array([0.0, 3.0, 6.0, 9.0, 12.0, 15.0])
"""Winds below a gust in which less may be left than in the gust [m/s]."""


@dataclass(frozen=True)
class LiftAbility:
    """Payloads [kg].

    payload : rated, with reserve, and its spread; limited_by : name of WORDS; failure : of a hover in still air
    holds : greatest payload of each drawn craft in winds up to the gust, nothing in reserve (N,)
    nominal, drawn : the file's craft and the drawn ones with the box; rated : what the parts of the drawn ones may carry
    """

    rule: LiftRule
    payload: float
    limited_by: str
    failure: float
    spread: Spread
    holds: Array
    nominal: LoadedCrowd
    drawn: LoadedCrowd
    rated: Ratings

    def shares(self, payloads: Array, winds: Array) -> Array:
        """Share of the drawn craft that hold payloads [kg] in winds [m/s] (payloads, winds)."""
        count = len(self.holds)
        rows = np.tile(np.arange(count), len(payloads))
        many = replace(self.drawn, crowd=self.drawn.crowd.rows(rows.tolist()), at=self.drawn.at[rows])
        rated, weights = self.rated.repeated(len(rows)), np.repeat(payloads, count)
        columns = []
        for wind in winds.tolist():
            left = attempt_margins(many, weights, in_wind(self.rule, wind), rated)
            held = np.min(np.array(list(left.values())), axis=0) >= 0.0
            columns.append(held.reshape(len(payloads), count).mean(axis=1))
        return np.array(columns).T


def lift_ability(craft: Craft, site: Site, rule: LiftRule, of: Draws) -> LiftAbility:
    """What a craft lifts at a site under a rule. of : its draws there.

    Raises
    ------
    InputError
        when the craft does not lift even itself for that time.
    """
    bare, boxed = probe(craft, site)
    nominal, rated = loaded_crowd([bare], bare, boxed), ratings(craft, bare)
    failures = payload_limits(nominal, rule, rated, tuple(HARD), hard_margins)
    mode = min(failures, key=lambda name: failures[name])
    if failures[mode] <= 0.0:
        given = f"{craft.name} does not hold itself for {rule.time_s:g} s: {HARD[mode]}"
        raise InputError([Problem("", given, "", "Take weight off, or a stronger drive")])
    limits = payload_limits(nominal, rule, rated, tuple(WORDS), margins)
    by = min(limits, key=lambda name: limits[name])
    winds = {worst_wind(nominal, rule, rated, limits[by]), rule.gust_m_s}
    drawn: list[LoadedCrowd] = []
    held: list[Array] = []

    def lifted(plants: list[Any]) -> Array:
        drawn.append(loaded_crowd(plants[: of.count], bare, boxed))
        some = rated.repeated(of.count)
        held.extend(first_limit(drawn[0], in_wind(rule, one), some, attempt_margins, ROUGH) for one in winds)
        every = loaded_crowd(plants, bare, boxed)
        return first_limit(every, rule, rated.repeated(len(plants)), margins, ROUGH)

    seen = spread(lifted, craft, site, of=of)
    holds = np.min(held, axis=0)
    return LiftAbility(
        rule, limits[by], by, failures[mode], seen, holds, nominal, drawn[0], rated.repeated(of.count)
    )


def worst_wind(loaded: LoadedCrowd, rule: LiftRule, rated: Ratings, payload: float) -> float:
    """Wind up to the gust in which least is left with a payload [kg]: it need not be the strongest, as rotors need less power in
    a breeze and the moments that they answer do not grow alike [m/s]."""
    winds = [*BREEZES[rule.gust_m_s > BREEZES].tolist(), rule.gust_m_s]
    one = rated.repeated(1)
    left = [
        attempt_margins(loaded, np.array([payload]), in_wind(rule, wind), one)["gust"][0] for wind in winds
    ]
    return float(winds[int(np.argmin(left))])


def in_wind(rule: LiftRule, wind: float) -> LiftRule:
    return replace(rule, gust_m_s=wind)


def most_held(craft: Craft, sites: list[Site], rule: LiftRule) -> Array:
    """Greatest payload that an attempt of the file's craft holds [kg] at each site."""
    return first_limit(*loaded_at([(craft, site) for site in sites], rule), attempt_margins, ROUGH)


def loaded_at(rows: list[tuple[Craft, Site]], rule: LiftRule) -> tuple[LoadedCrowd, LiftRule, Ratings]:
    """Crafts with the box, each at its own site, as `first_limit` takes them."""
    ones, rated = [], []
    for craft, site in rows:
        bare, boxed = probe(craft, site)
        ones.append(loaded_crowd([bare], bare, boxed))
        rated.append(ratings(craft, bare))
    at = np.concatenate([one.at for one in ones])
    most = max(one.most for one in ones)
    return LoadedCrowd(joined([one.crowd for one in ones]), at, most), rule, joined_ratings(rated)
