"""The search of gains: its loops are those of the whole model, its best is not timid, and what it allows keeps to the limits."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest

from controllers.contract import SLOTS
from controllers.rate import RateGain
from quadsim.analysis.craft_loops import LOOPS, Condition, LoopBench, craft_loops, loop_bench
from quadsim.analysis.margins import margins
from quadsim.analysis.sampled_loop import loop_modes
from quadsim.tuning.axis_loop import Candidates, answers
from quadsim.tuning.axis_search import MOST_I, Axis, Found, judge, reference_turns, search
from quadsim.tuning.corners import LIVELY, TIRED, Corner
from quadsim.tuning.hardware_limit import hardware_limit
from quadsim.tuning.limits import Limits
from quadsim.tuning.tune import Workshop, make_axis, present, workshop

pytestmark = pytest.mark.jit

GYRO, DERIVATIVE = 150.0, 60.0


@pytest.fixture(scope="module")
def bench() -> LoopBench:
    return loop_bench("siskin")


@pytest.fixture(scope="module")
def shop(bench) -> Workshop:
    wanted = (
        (Condition(), {}),
        (Condition(duty=0.3), LIVELY),
        (Condition(payload=0.15, cell_voltage=3.6), TIRED),
    )
    corners = [
        Corner(one.words, craft_loops(replace(bench, scales=scales), one), one.payload > 0.0, False, False)
        for one, scales in wanted
    ]
    return workshop(bench, corners)


@pytest.fixture(scope="module")
def roll(shop) -> Axis:
    return make_axis(shop, 0, GYRO, DERIVATIVE)


@pytest.fixture(scope="module")
def best(roll, shop) -> Found:
    found = search(roll, Limits(), start=present(shop.bench, 0))
    assert found is not None
    return found


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_the_loop_of_an_axis_is_that_of_the_whole_model(shop, bench, axis):
    """With the gains as they are, at every corner: within 0.3 dB and 2 deg of L of the model with all loops closed."""
    made = make_axis(shop, axis, bench.gains[0, 4], bench.gains[3, RateGain.DERIVATIVE_CUTOFF])
    quick = answers(made.plant, made.basis, made.feed_forward, made.filter_, present(bench, axis)).loop[0]
    node = LOOPS[("roll", "pitch", "yaw")[axis]]
    band = (shop.w > 2.0 * math.pi * 1.0) & (shop.w < 2.0 * math.pi * 100.0)
    for corner, loop in zip(shop.corners, quick, strict=True):
        ratio = (loop / corner.loops.model(shop.w).loop(node))[band]
        assert np.max(np.abs(20.0 * np.log10(np.abs(ratio)))) < 0.3, corner.name
        assert np.max(np.abs(np.degrees(np.angle(ratio)))) < 2.0, corner.name


def test_other_filters_are_those_of_the_blocks(shop, bench):
    """The same with cut-offs that the craft does not have, against blocks that have them."""
    gains = bench.gains.copy()
    gains[0, 4], gains[3, RateGain.DERIVATIVE_CUTOFF] = 90.0, 40.0
    whole = craft_loops(bench.with_gains(gains), Condition()).model(shop.w).loop(LOOPS["roll"])
    made = make_axis(shop, 0, 90.0, 40.0)
    quick = answers(made.plant, made.basis, made.feed_forward, made.filter_, present(bench, 0)).loop[0, 0]
    band = (shop.w > 2.0 * math.pi * 1.0) & (shop.w < 2.0 * math.pi * 100.0)
    assert np.max(np.abs(quick[band] / whole[band] - 1.0)) < 0.04


@pytest.mark.parametrize("factor", [1.0, 4.0, 9.0, 16.0, 30.0])
def test_turns_tell_stable_from_unstable_as_eigenvalues_do(shop, bench, roll, factor):
    gains = bench.gains.copy()
    for gain in (RateGain.ROLL_P, RateGain.ROLL_I, RateGain.ROLL_D):
        gains[3, gain] *= factor
    some = present(bench.with_gains(gains), 0)
    verdict = judge(roll, some, reference_turns(roll))
    told = [
        loop_modes(
            craft_loops(replace(bench, gains=gains, scales=one.loops.bench.scales), one.loops.condition)
        ).stable
        for one in shop.corners
    ]
    assert bool(verdict.stable[0]) is all(told)


def test_what_is_found_keeps_to_the_limits_at_every_corner(roll, best, shop):
    """By the margins of the whole curve, not by the disk that the search goes by."""
    got = answers(roll.plant, roll.basis, roll.feed_forward, roll.filter_, best.gains)
    for loop, corner in zip(got.loop[0], shop.corners, strict=True):
        one = margins(shop.w, loop.astype(complex))
        assert one.gain_up_dB >= 5.9 and one.gain_down_dB >= 5.9, corner.name
        assert one.phase_deg >= 44.5, corner.name
    assert float(best.verdict.resonance[0]) <= Limits().resonance
    assert float(best.verdict.noise_pct[0]) <= Limits().noise_pct


def test_what_is_found_is_not_timid(roll, best):
    """Within 10 % of the best of a coarse grid of its own under the same limits, in what a torque does to the angle and in
    crossover; and far beyond the gains the craft came with."""
    rows = np.array(
        [
            (p, i * p, d * p, a)
            for p, i, d, a in itertools.product(
                np.linspace(10.0, 100.0, 10),
                (1.0, 2.0, 4.0, MOST_I),
                np.linspace(0.0, 0.02, 6),
                np.linspace(3.0, 18.0, 6),
            )
        ]
    )
    some = Candidates(*np.clip(rows, *roll.bounds.T).T)
    verdict = judge(roll, some, reference_turns(roll))
    allowed = verdict.allowed(Limits())
    assert allowed.any()
    assert float(best.verdict.upset[0]) <= 1.10 * verdict.upset[allowed].min()
    rejecting = verdict.upset <= 1.10 * verdict.upset[allowed].min()
    assert float(best.verdict.crossover_Hz[0]) >= 0.90 * verdict.crossover_Hz[allowed & rejecting].max()


def test_a_limit_that_binds_changes_what_is_found(roll, best):
    quiet = search(roll, Limits(noise_pct=0.5 * float(best.verdict.noise_pct[0])))
    soft = search(roll, Limits(most_bandwidth_Hz=6.0))
    assert quiet is not None and float(quiet.verdict.upset[0]) > float(best.verdict.upset[0])
    assert soft is not None and float(soft.verdict.quickest_Hz[0]) <= 6.0
    assert search(roll, Limits(least_bandwidth_Hz=40.0)) is None


def test_margins_become_a_disk():
    """Seiler, Packard & Gahinet 2020: (2 + a)/(2 - a) and 2 atan(a/2); 45 deg asks for more than 6 dB does."""
    assert Limits().disk == pytest.approx(2.0 * math.tan(math.radians(22.5)))
    assert Limits(phase_deg=5.0).disk == pytest.approx(2.0 * (10**0.3 - 1.0) / (10**0.3 + 1.0))


def test_less_delay_allows_more(roll, shop):
    limit = hardware_limit(roll, Limits(), shop.corners[0].loops.plant, shop.corners[0].loops.hardware)
    assert 0.005 < limit.lag_s < 0.05 and 0.001 < limit.delay_s < 0.02
    assert limit.sooner_Hz >= limit.crossover_Hz > 0.0
    assert "ms of rotor lag" in limit.words


def test_slots_are_in_the_order_the_search_reads_them():
    assert SLOTS == ("estimate", "guide", "attitude", "rate", "allocate")
