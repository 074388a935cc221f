"""The order of weights is the best there is, and what gusts and warmth do to a payload has the right sense."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quadsim.config import load_craft
from quadsim.contest.lift import attempt_margins, ratings
from quadsim.contest.loaded import loaded_crowd, probe
from quadsim.contest.rules import LiftRule
from quadsim.contest_day.lift import LEAST, SURE, expected, planned
from quadsim.contest_day.lift_ability import BREEZES, in_wind, most_held, worst_wind
from quadsim.contest_day.today import at_temperature
from quadsim.environment.atmosphere import Site

STEP = 0.1


def best_of_all(holds, attempts):
    """Every rising order of weights whose first one is sure (or the lightest), tried."""
    grid = np.round(np.arange(1, int(np.max(holds) / STEP) + 2) * STEP, 9)
    share = np.array([np.mean(holds >= one) for one in grid])
    first = np.flatnonzero(share >= SURE)
    first = first if len(first) else np.array([0])
    orders = (order for n in range(1, attempts + 1) for order in combinations(range(len(grid)), n))
    return max(
        expected(holds, [float(grid[k]) for k in order])
        for order in orders
        if order[0] in first and all(share[k] >= LEAST for k in order[1:])
    )


@settings(max_examples=40)
@given(st.lists(st.floats(0.15, 1.2), min_size=3, max_size=30), st.integers(1, 4))
def test_no_order_of_weights_is_better(holds, attempts):
    drawn = np.array(holds)
    weights = planned(drawn, STEP, attempts)
    assert 1 <= len(weights) <= attempts
    assert weights == sorted(set(weights))
    assert all(np.mean(drawn >= one) >= LEAST for one in weights[1:])
    assert expected(drawn, weights) == pytest.approx(best_of_all(drawn, attempts), abs=1e-12)


def test_the_expected_weight_is_what_playing_it_gives():
    drawn = np.random.default_rng(4).normal(2.0, 0.3, 4000)
    weights = planned(drawn, STEP, 3)
    played = []
    for able in drawn:
        best = 0.0
        for one in weights:
            if able < one:
                break
            best = one
        played.append(best)
    assert expected(drawn, weights) == pytest.approx(np.mean(played), rel=1e-12)
    assert np.mean(drawn >= weights[0]) >= SURE


def test_nothing_sure_begins_with_the_lightest():
    assert planned(np.array([0.05, 0.4, 0.4]), STEP, 1) == [STEP]


@pytest.fixture(scope="module")
def bonxie():
    craft = load_craft("bonxie")
    bare, boxed = probe(craft, Site())
    return craft, loaded_crowd([bare], bare, boxed), ratings(craft, bare)


def test_the_worst_wind_is_never_kinder_than_the_gust(bonxie):
    _, loaded, rated = bonxie
    rule = LiftRule(gust_m_s=10.0)
    worst = worst_wind(loaded, rule, rated, 2.0)
    assert 0.0 <= worst <= 10.0
    assert worst in {*BREEZES.tolist(), 10.0}
    left = {
        wind: attempt_margins(loaded, np.array([2.0]), in_wind(rule, wind), rated)["gust"][0]
        for wind in (worst, 10.0)
    }
    assert left[worst] <= left[10.0]


def test_warm_air_carries_less_and_a_warm_pack_no_less(bonxie):
    craft = bonxie[0]
    site = Site(temperature_C=10.0)
    sites = [
        site,
        at_temperature(site, air_C=35.0),
        at_temperature(site, pack_C=-10.0),
        at_temperature(site, pack_C=35.0),
    ]
    now, warm_air, cold_pack, warm_pack = most_held(craft, sites, LiftRule())
    assert warm_air < now
    assert cold_pack < now <= warm_pack + 2e-3
