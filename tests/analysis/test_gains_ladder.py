"""The ladder against the model looked at by hand, and what it must flag."""

import math
from dataclasses import replace

import numpy as np
import pytest

from controllers.contract import Block, Gains
from quadsim.analysis.craft_loops import LOOPS, Condition, craft_loops, frequencies, loop_bench
from quadsim.analysis.flown_sets import fly_set
from quadsim.analysis.gain_conversion import Converter, converter_of
from quadsim.analysis.gain_sets import scaled_gains, with_share
from quadsim.analysis.gains_ladder import first_rung, ladder
from quadsim.analysis.margins import margins
from quadsim.errors import InputError

pytestmark = pytest.mark.jit
FULL_THROTTLE = Condition(duty=0.95)


@pytest.fixture(scope="module")
def bench():
    return loop_bench("siskin")


@pytest.fixture(scope="module")
def rungs(bench):
    return ladder(bench, [Condition(), FULL_THROTTLE], shares=(0.5, 1.0))


def test_only_what_it_says_is_scaled(bench):
    scaled = scaled_gains(bench.blocks)
    keys = {f"{one.slot}.{one.key}" for one in scaled}
    assert keys == {
        *(f"rate.{axis}_{kind}" for axis in ("roll", "pitch", "yaw") for kind in "pid"),
        "attitude.tilt_p", "attitude.yaw_p", "guide.height_p", "guide.climb_p", "guide.climb_i",
    }  # fmt: skip
    half = with_share(bench.gains, scaled, 0.5)
    changed = half != bench.gains
    wanted = np.zeros_like(changed)
    for one in scaled:
        wanted[one.row, one.gain] = bench.gains[one.row, one.gain] != 0.0
    assert (changed == wanted).all()
    assert half[changed] == pytest.approx(0.5 * bench.gains[changed])


def test_values_are_those_of_the_model(bench, rungs):
    """The half set, its gains written by hand into the rows of the blocks."""
    gains = bench.gains.copy()
    gains[3, :9] *= 0.5
    gains[2, :2] *= 0.5
    gains[1, 12:15] *= 0.5
    w = frequencies(bench)
    for condition, name in ((Condition(), "hover"), (FULL_THROTTLE, "full throttle")):
        model = craft_loops(bench.with_gains(gains), condition).model(w)
        for loop, look in rungs[0].loops.items():
            by_hand = margins(w, model.loop(LOOPS[loop]))
            if name == "hover":
                assert look.hover.gain_down_dB == pytest.approx(by_hand.gain_down_dB, abs=1e-6)
                assert look.hover.crossover_Hz == pytest.approx(by_hand.crossover_Hz, rel=1e-9)
                assert look.wallow is not None
                assert -look.wallow.gain_dB == pytest.approx(by_hand.gain_down_dB, abs=1e-6)
            assert look.gain_up_dB[0] <= by_hand.gain_up_dB + 1e-9
            assert look.gain_down_dB[0] <= by_hand.gain_down_dB + 1e-9


def test_a_controller_that_leaves_the_curve_as_it_is_makes_the_loop_stronger(bench, rungs):
    """At full throttle a straight command curve is steeper than in hover by the ratio of slopes; the gain margin shrinks by
    that. 0.1 dB: feed-forward, a small part of the loop, is left as it was."""
    own = converter_of(bench)
    assert own is not None
    straight = Converter(
        own.stated.model_copy(update={"thrust_curve_inverted": False}), own.builder, own.rate_dt
    )
    (strong,) = ladder(bench, [Condition(), FULL_THROTTLE], straight, shares=(1.0,))
    more = 20.0 * math.log10(straight.strength(bench, FULL_THROTTLE))
    assert more > 3.0
    look, alone = strong.loops["roll"], rungs[1].loops["roll"]
    assert look.gain_up_dB[1] is FULL_THROTTLE
    in_hover = 20.0 * math.log10(straight.strength(bench, Condition()))
    assert look.hover.gain_up_dB == pytest.approx(alone.hover.gain_up_dB - in_hover, abs=0.1)
    w = frequencies(bench)
    usual = margins(w, craft_loops(bench, FULL_THROTTLE).model(w).loop(LOOPS["roll"]))
    assert look.gain_up_dB[0] == pytest.approx(usual.gain_up_dB - more, abs=0.1)


def test_a_low_gain_margin_that_is_short_is_flagged(rungs):
    half, whole = rungs
    assert half.low_gain_short
    assert not whole.low_gain_short
    value, where = half.loops["roll"].gain_down_dB
    assert value < 6.0
    assert where is FULL_THROTTLE
    assert any("roll" in line and "down" in line for line in half.flags)
    assert half.hover_ok  # and yet it may be flown in hover
    assert first_rung(rungs) is half


def test_a_set_that_oscillates_is_unstable_and_the_loop_is_named(bench):
    """Roll alone 5 dB over its edge: unstable, roll short by those 5 dB, and no set to begin with."""
    (fine,) = ladder(bench, [Condition()], shares=(1.0,))
    roll = [one for one in scaled_gains(bench.blocks) if one.key in ("roll_p", "roll_i", "roll_d")]
    edge = fine.loops["roll"].gain_up_dB[0]
    wild = with_share(bench.gains, roll, 10.0 ** ((edge + 5.0) / 20.0))
    (rung,) = ladder(bench.with_gains(wild), [Condition()], shares=(1.0,))
    assert rung.unstable == ("hover, full",)
    assert not rung.hovers
    assert rung.loops["roll"].gain_up_dB[0] == pytest.approx(-5.0, abs=0.3)
    assert first_rung([rung]) is None
    assert any("UNSTABLE" in line for line in rung.flags)


def test_a_law_without_such_gains_is_refused(bench):
    class Weights(Gains):
        TILT_ERROR = 0, "rad", 0.35, 0.01, 3.0

    blocks = list(bench.blocks)
    blocks[2] = Block("hold", "attitude", len)
    blocks[3] = Block("regulator", "rate", len, Weights)
    with pytest.raises(InputError, match="hold and regulator declare no gain"):
        ladder(replace(bench, blocks=tuple(blocks)), [Condition()])


def test_sets_are_flown(bench, rungs):
    half, whole = (fly_set(bench.craft, rung) for rung in rungs)
    assert half.ok
    assert whole.ok
    assert half.max_tilt_deg > 1.5 * whole.max_tilt_deg  # half the gains give way to the gust more
    (wild,) = ladder(
        bench.with_gains(with_share(bench.gains, scaled_gains(bench.blocks), 20.0)),
        [Condition()],
        shares=(1.0,),
    )
    assert not fly_set(bench.craft, wild).ok
