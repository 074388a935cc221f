"""Margins over everything a craft meets: the worst is found and named, and an unstable loop is called so."""

from __future__ import annotations

import numpy as np
import pytest

from controllers.rate import RateGain
from quadsim.analysis.craft_loops import Condition, LoopBench, loop_bench
from quadsim.analysis.gain_changes import changed_gains, find_gain
from quadsim.analysis.margin_survey import (
    GAIN_DB,
    as_condition,
    conditions,
    full_payload,
    margins_at,
    reserve,
    survey,
    worst_points,
)
from quadsim.analysis.plant_modes import plant_modes
from quadsim.errors import InputError

pytestmark = pytest.mark.jit


@pytest.fixture(scope="module")
def bench() -> LoopBench:
    return loop_bench("siskin")


@pytest.fixture(scope="module")
def hover(bench):
    return margins_at(bench, Condition())


def test_hover_is_not_the_worst(bench, hover):
    """At little throttle a rotor answers fast and its own inertia turns the craft: yaw stands worse there than in hover."""
    points = list(survey(bench, [Condition(), Condition(duty=0.1)]))
    worst = worst_points(points)
    assert worst["yaw"].condition.duty == 0.1
    assert reserve(worst["yaw"].margins["yaw"]) < reserve(hover.margins["yaw"])


def test_more_payload_means_a_slower_rate_loop(bench, hover):
    loaded = margins_at(bench, Condition(payload=0.3))
    assert loaded.margins["roll"].crossover_Hz < 0.8 * hover.margins["roll"].crossover_Hz


def test_gains_far_too_high_are_unstable_and_said_to_be(bench):
    gains = changed_gains(["rate.roll_p=100", "rate.roll.d=3"], bench.blocks, bench.gains)
    for scale in (1.0, 4.0):
        gains[3, [RateGain.ROLL_P, RateGain.ROLL_D]] *= scale
    point = margins_at(bench.with_gains(gains), Condition())
    assert not point.modes.stable and not point.margins["roll"].stable
    assert 0.0 < point.modes.doubling_s < 1.0


def test_flight_that_is_too_fast_ends_the_list_of_speeds(bench):
    points = list(survey(bench, [Condition(forward=speed) for speed in (10.0, 60.0, 80.0)]))
    assert [one.condition.forward for one in points] == [10.0]


def test_every_kind_of_condition_is_looked_at(bench):
    wanted = conditions(bench)
    assert {one.duty for one in wanted} >= {None, 0.1, 0.95}
    assert any(one.payload > 0.0 and one.cell_voltage for one in wanted)
    assert full_payload(bench) > 0.0
    assert conditions(bench, payload=0.25)[1].payload == 0.25
    assert all(one.words for one in wanted) and len({one.words for one in wanted}) == len(wanted)


def test_a_craft_that_knows_its_place_holds_it_in_hover():
    craft = loop_bench("bonxie")
    assert "place_ahead" in margins_at(craft, as_condition(craft, 0.0, 0.0, None, 0.0, None)).margins
    assert "place_ahead" not in margins_at(craft, as_condition(craft, 5.0, 0.0, None, 0.0, None)).margins


def test_modes_of_a_hovering_craft(hover):
    """Four rotors, two rate dampings, climb and yaw die out; tilt and speed together grow slowly, as a rotorcraft's do
    (e.g. G. D. Padfield, Helicopter Flight Dynamics, 2nd ed. (2007), ch. 4: the unstable pendulum mode in hover; from memory)."""
    modes = plant_modes(hover.loops.plant)
    assert sum("rotor speeds" in one.moves for one in modes) == 4
    grows = [one for one in modes if one.grows]
    assert grows and all("speed" in one.moves and one.frequency_Hz < 1.0 for one in grows)
    assert any(one.moves == "climb" and not one.grows for one in modes)


def test_changes_of_gains(bench):
    row, gain = find_gain("rate.roll.p", bench.blocks)
    assert (row, gain) == (3, RateGain.ROLL_P)
    new = changed_gains(["rate.roll_p=30"], bench.blocks, bench.gains)
    assert new[3, RateGain.ROLL_P] == 30.0 and bench.gains[3, RateGain.ROLL_P] != 30.0
    assert np.count_nonzero(new != bench.gains) == 1
    for change, words in (
        ("rate.rol_p=3", "nearest: roll_p"), ("rat.roll_p=3", "nearest: rate"), ("rate.roll_p", "SLOT.GAIN=VALUE"),
        ("rate.roll_p=high", "number"), ("rate.roll_p=1e9", "must be 0 to 100 1/s"),
    ):  # fmt: skip
        with pytest.raises(InputError, match=words):
            changed_gains([change], bench.blocks, bench.gains)


def test_the_practice_is_what_the_reserve_counts_in(hover):
    one = hover.margins["roll"]
    assert reserve(one) <= one.gain_up_dB / GAIN_DB
