"""Gains confirmed in flight: the same cases for the same seed, failures found and named, and what none of n means."""

from __future__ import annotations

import numpy as np
import pytest

from controllers.rate import RateGain
from quadsim.config import load_craft
from quadsim.simulation.fly import start
from quadsim.tuning.confirm import Confirmed, Failure, confirm, draw_case


def test_cases_belong_to_their_number():
    one, same, other = draw_case(7, 1, False), draw_case(7, 1, False), draw_case(8, 1, False)
    assert one.words == same.words != other.words
    assert 0.85 <= one.thrust <= 1.15 and 0.85 <= one.inertia <= 1.15 and 0.7 <= one.delay <= 1.3
    assert np.all(np.abs(one.rotors - 1.0) <= 0.15)


def test_what_none_of_n_means():
    """Hanley & Lippman-Hand 1983: 3/n; the exact bound 1 - 0.05^(1/n) is 0.9936 % for 300."""
    assert Confirmed(300, ()).below_pct == pytest.approx(1.0)
    assert Confirmed(300, ()).below_pct == pytest.approx(100.0 * (1.0 - 0.05 ** (1 / 300)), rel=0.01)
    assert Confirmed(0, ()).below_pct == 100.0
    some = Confirmed(100, tuple(Failure(k, "", "") for k in range(10)))
    assert some.below_pct == pytest.approx(
        15.95, abs=0.1
    )  # Wilson, one-sided 95 %, 10 of 100 (computed by hand)


@pytest.mark.jit
def test_good_gains_fly_and_gains_far_too_high_are_found_to_shake():
    craft = load_craft("siskin")
    gains = start("hover", craft=craft).gains.copy()
    good = confirm(craft, gains, [], flights=8)
    assert (good.flown, good.failures, good.stopped) == (8, (), False)
    gains[3, [RateGain.ROLL_P, RateGain.ROLL_D]] = 100.0, 3.0
    gains[0, 4] = 20.0  # a filter far too low for that
    bad = confirm(craft, gains, [], flights=8)
    assert len(bad.failures) >= 5
    assert all(one.cause and one.case for one in bad.failures)
    assert [one.number for one in bad.failures] == sorted(one.number for one in bad.failures)


@pytest.mark.jit
def test_flights_are_the_same_again():
    craft = load_craft("siskin")
    gains = start("hover", craft=craft).gains.copy()
    gains[3, [RateGain.ROLL_P, RateGain.ROLL_D]] = 100.0, 2.0
    gains[0, 4] = 40.0
    first, again = (confirm(craft, gains, [], flights=6, seed=3) for _ in range(2))
    assert first == again
