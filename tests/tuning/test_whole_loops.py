"""The gains found, seen in the whole model: what the search promised holds with all couplings, and what is too much is told."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from controllers.rate import RateGain
from quadsim.analysis.craft_loops import LOOPS, Condition, LoopBench, craft_loops, loop_bench
from quadsim.analysis.response_bench import Bench
from quadsim.tuning.axis_loop import grid
from quadsim.tuning.axis_search import search
from quadsim.tuning.corners import LIVELY, TIRED, Corner, wanted_corners
from quadsim.tuning.height_search import _Guide
from quadsim.tuning.limits import Limits
from quadsim.tuning.result import covered, roll_step
from quadsim.tuning.tune import find_sets, make_axis, workshop
from quadsim.tuning.whole_loops import whole_margins, with_gains

pytestmark = pytest.mark.jit


@pytest.fixture(scope="module")
def bench() -> LoopBench:
    return loop_bench("siskin")


@pytest.fixture(scope="module")
def corners(bench):
    wanted = ((Condition(), {}), (Condition(forward=8.0), LIVELY), (Condition(payload=0.15), TIRED))
    return [
        Corner(one.words, craft_loops(replace(bench, scales=scales), one), one.payload > 0.0, False, False)
        for one, scales in wanted
    ]


@pytest.fixture(scope="module")
def tuned(bench, corners):
    shop = workshop(bench, corners)
    sets = find_sets(shop, Limits(), lambda done, words: None)
    assert len(sets) == 1
    return shop, sets[0]


def test_other_gains_are_those_of_a_craft_that_has_them(bench, corners):
    """Only the blocks are linearised anew: the same loop as with everything linearised anew."""
    gains = bench.gains.copy()
    gains[3, RateGain.ROLL_P], gains[0, 4] = 50.0, 70.0
    w = grid(bench)
    quick = with_gains(corners[0].loops, gains).model(w).loop(LOOPS["roll"])
    whole = craft_loops(bench.with_gains(gains), Condition()).model(w).loop(LOOPS["roll"])
    np.testing.assert_allclose(quick, whole, rtol=1e-6)


def test_what_was_found_keeps_to_the_limits_with_all_couplings(tuned):
    """In forward flight and with a payload too, where the search took the axes apart."""
    shop, one = tuned
    seen = whole_margins(covered(shop, one), one.gains, shop.w)
    assert set(seen) == {"roll", "pitch", "yaw", "height"}
    for name, worst in seen.items():
        assert worst.meets(6.0, 44.5), (name, worst)
        assert worst.phase_at in [corner.name for corner in shop.corners]


def test_gains_that_are_too_much_fall_short_there(tuned):
    shop, one = tuned
    gains = one.gains.copy()
    gains[3, [RateGain.ROLL_P, RateGain.ROLL_I, RateGain.ROLL_D]] *= 3.0
    seen = whole_margins(shop.corners, gains, shop.w)
    assert not seen["roll"].meets(6.0, 45.0)
    assert seen["pitch"].meets(6.0, 44.5)


def test_a_set_covers_its_own_corners(tuned):
    shop, one = tuned
    assert covered(shop, one) == shop.corners
    assert [c.loaded for c in covered(shop, replace(one, name="loaded"))] == [True]
    left = covered(shop, replace(one, name="empty", left_out=(shop.corners[0].name,)))
    assert [c.name for c in left] == [shop.corners[1].name]


def test_the_step_is_judged_as_the_craft_sees_it(bench, tuned):
    """It comes to a stand and settles, while the true angle drifts off by what the accelerometer adds to the tilt."""
    step, drift = roll_step(Bench(bench.craft, gains=tuned[1].gains))
    assert 0.05 < step.figures.rise_s < 0.4
    assert step.figures.settle_5_s < 0.6
    assert 0.0 <= step.figures.overshoot_pct < 12.0
    assert 0.2 < drift < 2.0


@pytest.mark.parametrize("gains", [(1.8, 8.0, 20.0), (2.6, 2.5, 0.7), (0.7, 13.0, 9.0)])
def test_the_guide_is_linear_as_the_height_search_takes_it(tuned, bench, gains):
    """Two linearisations for one climb P give every height P and climb I."""
    shop, _ = tuned
    guide = _Guide(bench, shop.resting["guide"], shop.w)
    np.testing.assert_allclose(guide.answer(*gains), guide.linear(*gains), rtol=1e-6)


def test_yaw_may_be_faster_where_there_is_thrust(bench):
    """At little throttle the rotors' own inertia turns the craft: without such a corner the limits allow a faster yaw."""

    def yaw(least_duty: float) -> float:
        wanted = [c for c in wanted_corners(0.0, least_duty) if c[0].duty in (None, least_duty)]
        made = [
            Corner(f"{n}", craft_loops(replace(bench, scales=s), c), False, False, False)
            for n, (c, s, _) in enumerate(wanted)
        ]
        found = search(make_axis(workshop(bench, made), 2, 150.0, 60.0), Limits(), steps=(1.2,))
        assert found is not None
        return float(found.verdict.crossover_Hz[0])

    assert yaw(0.2) > 1.5 * yaw(0.1)
