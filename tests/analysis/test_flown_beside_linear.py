"""Linear and flown loops side by side: they agree, and a linear model with one thing wrong is caught."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from quadsim.analysis.craft_loops import LOOPS, Condition, craft_loops, loop_bench
from quadsim.analysis.flown_beside_linear import fly_beside, lines_for
from quadsim.analysis.loop_agreement import agreement
from quadsim.analysis.margin_survey import margins_at
from quadsim.errors import InputError

pytestmark = pytest.mark.jit


@pytest.fixture(scope="module")
def point():
    return margins_at(loop_bench("siskin"), Condition())


@pytest.fixture(scope="module")
def roll(point):
    return next(iter(fly_beside(point)))


def test_the_roll_loop_flown_is_that_of_the_model(roll):
    assert roll.name == "roll"
    assert roll.beside.agrees and not roll.beside.why
    assert roll.beside.worst_dB < 1.0 and roll.beside.worst_deg < 5.0


@pytest.mark.parametrize("wrong", ["sign", "delay", "filter", "inertia"])
def test_a_model_with_one_thing_wrong_is_caught(point, roll, wrong):
    """A wrong sign, a doubled delay, a filter that is missing, an inertia a quarter too great."""
    bench, loops = point.loops.bench, point.loops
    if wrong == "delay":
        loops = replace(loops, hardware=replace(loops.hardware, command_age=2.0 * loops.hardware.command_age))
    elif wrong == "filter":
        gains = bench.gains.copy()
        gains[0, 4] = 0.0
        loops = craft_loops(bench.with_gains(gains), Condition())
    elif wrong == "inertia":
        loops = craft_loops(replace(bench, scales={"inertia": 1.25}), Condition())
    linear = loops.model(roll.flown.w).loop(LOOPS["roll"])
    found = agreement(roll.flown, -linear if wrong == "sign" else linear)
    assert not found.agrees and found.why


def test_lines_reach_from_below_the_crossover_to_where_the_loop_is_small(point):
    for name in ("roll", "height"):
        w = lines_for(point, name)
        size = np.abs(point.model.loop(LOOPS[name]))
        assert w[0] < 2.0 * np.pi * point.margins[name].crossover_Hz < w[-1]
        assert np.interp(w[-1], point.model.w, size) < 0.2


def test_what_is_no_steady_flight_is_not_flown(point):
    throttle = margins_at(point.loops.bench, Condition(duty=0.3))
    with pytest.raises(InputError, match="Leave out --flown"):
        next(iter(fly_beside(throttle)))
