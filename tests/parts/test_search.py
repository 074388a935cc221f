"""The search against brute force: every choice of a cut-down catalogue, priced by its bill."""

from itertools import product

import numpy as np
import pytest

from quadsim.config.contest_schema import load_contest
from quadsim.config.parts_loader import parse_catalogue
from quadsim.parts import figures
from quadsim.parts.bill import Terms, bill
from quadsim.parts.choice import EVENTS, Choice, Fitted, Shared, fitted_misfits, shared_misfits
from quadsim.parts.figure_kernels import DASH, LAP, LIFT
from quadsim.parts.front import Front, goods, kind_sets, set_prices, unbeaten, worth_having
from quadsim.parts.neighbours import Neighbour, _nearness, event_figures, neighbours
from quadsim.parts.search import COLUMNS, market, points_of, search

BUDGET = 520.0


@pytest.fixture(scope="module")
def here(small_market):
    return market(parse_catalogue(small_market), load_contest("three_events"), Terms(1, 0.15))


@pytest.fixture(scope="module")
def found(here):
    return search(here, BUDGET, 50.0)


def every_choice(here):
    """Choice, its goods and its price, without any short cut; and how many craft there are."""
    listed, craft = here.catalogue, 0
    kinds = (listed.frame, listed.motor, listed.esc, listed.flight_controller, listed.radio)
    for parts in product(*kinds):
        shared = Shared(*parts)
        if shared_misfits(shared, here.contest):
            continue
        pairs = [Fitted(*two) for two in product(listed.propeller, listed.battery)]
        pairs = [two for two in pairs if not fitted_misfits(shared, two, listed)]
        craft += len(pairs)
        rows = [
            [next(k for k, one in enumerate(getattr(listed, kind)) if one is (getattr(shared, kind, None) or getattr(two, kind)))
             for kind in COLUMNS]
            for two in pairs
        ]  # fmt: skip
        answer = figures.craft_figures(np.array(rows, np.int64), here.tables, here.rules, here.course)
        value = goods(answer[:, DASH], answer[:, LIFT], answer[:, LAP])
        for a, b, c in product(range(len(pairs)), repeat=3):
            choice = Choice(shared, slalom=pairs[a], lift=pairs[b], dash=pairs[c])
            three = (value[c, 0], value[b, 1], value[a, 2])
            if three[0] > 0 and three[1] > 0 and np.isfinite(answer[a, LAP]):
                yield choice, three, sum(line.price for line in bill(choice, listed, here.terms)), craft


def plain_front(points):
    """Points that no other beats, by comparing each with all cheaper ones."""
    kept = []
    for point in sorted(set(points), key=lambda p: (p[3], -p[0], -p[1], -p[2])):
        if not any(all(a >= b for a, b in zip(other[:3], point[:3], strict=True)) for other in kept):
            kept.append(point)
    return kept


@pytest.mark.jit
def test_the_front_is_that_of_brute_force(here, found):
    every = [(*three, round(price, 6)) for _, three, price, _ in every_choice(here) if price <= BUDGET]
    expected = {tuple(float(x) for x in point) for point in plain_front(every)}
    got = {
        (
            *(float(x) for x in goods(np.array(one.dash), np.array(one.lift), np.array(one.lap))),
            round(one.price, 6),
        )
        for one in found.front
    }
    assert len(expected) > 3
    assert got == expected


def test_prices_of_the_front_are_those_of_their_bills(here, found):
    for one in found.front:
        assert sum(line.price for line in bill(one.choice, here.catalogue, here.terms)) == pytest.approx(
            one.price
        )


def test_figures_of_the_front_are_those_of_its_choices(here, found):
    for one in found.front[:5]:
        assert event_figures(here, one.choice) == pytest.approx((one.dash, one.lift, one.lap))
        assert one.points == pytest.approx(points_of(here.contest, one.dash, one.lift, one.lap))


def test_everything_in_the_front_fits_and_the_budget_is_kept(here, found):
    assert found.evaluated >= found.within_budget > 0
    for one in found.front:
        assert one.price <= BUDGET
        assert not shared_misfits(one.choice.shared, here.contest)
        assert not any(fitted_misfits(one.choice.shared, one.choice.of(e), here.catalogue) for e in EVENTS)
    assert all(BUDGET < one.price <= BUDGET + 50.0 for one in found.beyond)


def test_more_money_never_buys_less(here):
    best = [
        max((one.points for one in search(here, limit).front), default=0.0) for limit in (380.0, 450.0, 550.0)
    ]
    assert best == sorted(best)


def test_a_budget_too_small_buys_nothing(here):
    assert search(here, 100.0).front == []


def test_a_neighbour_says_why_it_lost(here, found):
    listed = neighbours(here, found.front[0], BUDGET)
    assert {one.kind for one in listed} == {
        kind for kind in COLUMNS if len(getattr(here.catalogue, kind)) > 1
    }
    assert all(one.why and one.part != one.instead_of for one in listed)


def test_of_neighbours_that_do_not_fit_the_nearest_in_price_is_named(here, found):
    best, none = found.front[0], float("nan")
    near, far, dear = (
        Neighbour("frame", name, "", "", points, price)
        for name, points, price in (
            ("near", none, best.price + 5.0),
            ("far", none, best.price - 90.0),
            ("dear", 1.0, BUDGET + 1.0),
        )
    )
    for order in ((near, far), (far, near)):
        assert max(order, key=lambda one: _nearness(one, best, BUDGET)).part == "near"
    assert max((near, dear), key=lambda one: _nearness(one, best, BUDGET)).part == "dear"


def test_of_twins_the_first_stays():
    values = np.array([[1.0, 2.0], [1.0, 2.0], [0.5, 3.0], [0.5, 1.0]])
    assert worth_having(values, np.array([5.0, 5.0, 5.0, 9.0])).tolist() == [0, 2]
    assert worth_having(values, np.array([6.0, 5.0, 5.0, 1.0])).tolist() == [1, 2, 3]


def test_a_front_forgets_what_is_beaten():
    front = Front(1)
    front.add(np.array([[1.0, 1.0, 1.0, 10.0], [0.0, 0.0, 0.0, 11.0]]), np.array([[0], [1]]))
    assert front.tags.tolist() == [[0]]
    front.add(
        np.array([[1.0, 1.0, 2.0, 10.0], [2.0, 0.0, 0.0, 5.0], [0.0, 0.0, 0.0, 5.0]]),
        np.array([[2], [3], [4]]),
    )
    assert sorted(front.tags.ravel().tolist()) == [2, 3]
    assert front.beats(np.array([2.0, 0.0, 0.0]), 5.0) and not front.beats(np.array([2.0, 0.0, 0.0]), 4.9)


def test_fronts_of_random_points_are_those_of_plain_comparison():
    points = np.random.default_rng(3).integers(0, 6, (300, 4)).astype(float)
    expected = plain_front([tuple(row) for row in points.tolist()])
    assert sorted(tuple(row) for row in points[unbeaten(points)].tolist()) == sorted(expected)


def test_a_kind_is_paid_once_in_a_set():
    sets = kind_sets(3)
    assert len(sets) == 7
    price = dict(zip(map(tuple, sets.tolist()), set_prices(sets, np.array([1.0, 10.0, 100.0])), strict=True))
    assert price[(0, 0, 0)] == 1.0 and price[(0, 1, 0)] == 11.0 and price[(0, 1, 2)] == 111.0
