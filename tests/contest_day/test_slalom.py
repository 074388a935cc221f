"""Thrust, laps and pushes of the slalom, beside the compiled balance of the flight and a point mass."""

import numpy as np
import pytest

from quadsim.analysis.hover import thrust_to_weight
from quadsim.config import load_craft, resolve_plant
from quadsim.config.contest_schema import load_contest
from quadsim.contest.crowd import crowd_of
from quadsim.contest.lift import Ratings
from quadsim.contest.steady import trim
from quadsim.contest_day.slalom import REACTION_S, full_thrust, laps, pushes, reach
from quadsim.environment.atmosphere import Site
from quadsim.parts.figures import LAP_CHARGE

FREE = Ratings(*(np.array([1e9]) for _ in range(4)))


@pytest.fixture(scope="module", params=["siskin", "bonxie"])
def made(request):
    craft = load_craft(request.param)
    return craft, crowd_of([resolve_plant(craft, Site())])


def test_full_thrust_is_that_of_the_compiled_balance(made):
    # the balance takes a mean rotor; the crowd the one that carries most, so it stays a little below
    craft, crowd = made
    found = full_thrust(crowd, FREE)[0]
    balanced = thrust_to_weight(craft, Site(), charge=LAP_CHARGE)
    assert 0.96 * balanced < found <= 1.002 * balanced


def test_what_the_guide_asks_for_bounds_it(made):
    _, crowd = made
    bound = Ratings(FREE.motor, FREE.esc, FREE.pack, np.array([8.0]))
    assert full_thrust(crowd, bound)[0] < full_thrust(crowd, FREE)[0]


def test_a_stronger_or_faster_craft_is_never_slower(made):
    _, crowd = made
    contest = load_contest("three_events")
    slow, fast = (laps(crowd, contest, FREE, np.array([top])) for top in (12.0, 30.0))
    assert fast.seconds[0] < slow.seconds[0]
    kept = contest.slalom.model_copy(update={"thrust_kept_pct": 50.0})
    weak = laps(crowd, contest.model_copy(update={"slalom": kept}), FREE, np.array([30.0]))
    assert weak.load_factor[0] < fast.load_factor[0]
    assert weak.seconds[0] > fast.seconds[0]


def test_a_push_on_a_hovering_craft_is_its_drag_over_its_mass(made):
    # at rest the whole drag is to the side: a = g tan(tilt at that airspeed), s = a t^2/2
    _, crowd = made
    gust = 6.0
    tilt = float(trim(crowd, crowd.mass, gust).tilt[0])
    by_hand = 0.5 * 9.80665 * np.tan(tilt) * REACTION_S**2
    assert pushes(crowd, 0.0, np.array([gust]))[0] == pytest.approx(by_hand, rel=1e-4)


def test_a_gust_pushes_more_the_stronger_it_is_and_the_faster_one_flies(made):
    _, crowd = made
    gusts = np.array([0.0, 2.0, 5.0, 9.0])
    still, quick = pushes(crowd, 2.0, gusts), pushes(crowd, 12.0, gusts)
    assert still[0] == 0.0
    assert np.all(np.diff(still) > 0.0)
    assert np.all(quick[1:] > still[1:])


def test_reach_is_half_the_span():
    # siskin: 224 mm across, rotors on the diagonals of a square, 5-inch propellers
    craft = load_craft("siskin")
    crowd = crowd_of([resolve_plant(craft, Site())])
    assert reach(crowd) == pytest.approx(0.112 / np.sqrt(2.0) + 2.5 * 0.0254, abs=2e-3)
