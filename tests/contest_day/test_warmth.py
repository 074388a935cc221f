"""Cold and warm: one sweep of air and packs, and packs that are warmed up whatever their resistance allows."""

import math

import numpy as np
import pytest

from quadsim.contest_day.bound import CAUTION, GO, NO_GO
from quadsim.contest_day.warmth import COLD_PACK_C, TEMPERATURES, swept, warmth_bounds
from quadsim.environment.atmosphere import Site

SITE = Site(temperature_C=8.0, pack_temperature_C=8.0)


def test_the_sweep_changes_one_thing_at_a_time():
    sites = swept(SITE)
    count = len(TEMPERATURES)
    assert [one.temperature_C for one in sites[:count]] == TEMPERATURES.tolist()
    assert {one.pack_temperature_C for one in sites[:count]} == {8.0}
    assert [one.pack_temperature_C for one in sites[count:]] == TEMPERATURES.tolist()
    assert {one.temperature_C for one in sites[count:]} == {8.0}


def test_each_bound_is_named_after_what_bites_first():
    warm, cold = 33.0 - TEMPERATURES, TEMPERATURES + 2.0
    left = {"winding": np.tile(warm, 2) / 10.0, "cell voltage": np.tile(cold, 2) / 100.0}
    air, pack = warmth_bounds(SITE, left, (0.0, -0.5), "first {}")
    assert air.go == pytest.approx((-2.0, 33.0))
    assert air.stop == pytest.approx((-math.inf, 38.0))
    assert air.why == "first winding"
    assert air.verdict == GO
    assert pack.go == pytest.approx((COLD_PACK_C, 33.0))


def test_a_cold_pack_is_never_go_and_a_hopeless_one_no_go():
    easy = {"": np.ones(2 * len(TEMPERATURES))}
    assert warmth_bounds(SITE, easy, (0.0, -0.1), "")[1].verdict == CAUTION
    warmed = Site(temperature_C=8.0, pack_temperature_C=25.0)
    assert warmth_bounds(warmed, easy, (0.0, -0.1), "")[1].verdict == GO
    only_cold = {"": np.tile(5.0 - TEMPERATURES, 2)}
    bound = warmth_bounds(SITE, only_cold, (0.0, -0.1), "")[1]
    assert math.isnan(bound.go[0])
    assert bound.verdict == NO_GO
