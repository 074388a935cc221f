"""The loops that the search sees, of many candidates at once, are those of the whole linear model."""

from __future__ import annotations

import numpy as np
import pytest

from controllers.attitude import AttitudeGain
from controllers.estimate import EstimateGain
from controllers.rate import RateGain
from quadsim.analysis.craft_loops import LOOPS, Condition, LoopBench, craft_loops, loop_bench
from quadsim.tuning.axis_loop import (
    AXES,
    Answers,
    Candidates,
    Opened,
    answers,
    axis_plants,
    basis,
    grid,
    gyro_filter,
    with_filter,
)

pytestmark = pytest.mark.jit

GYRO_HZ, DERIVATIVE_HZ = 90.0, 110.0
HERTZ = 2.0 * np.pi


@pytest.fixture(scope="module")
def bench() -> LoopBench:
    return loop_bench("siskin")


@pytest.fixture(scope="module")
def other(bench):
    """Gains that differ from the craft's in everything that is searched for."""
    gains = bench.gains.copy()
    gains[3, [RateGain.ROLL_P, RateGain.PITCH_P, RateGain.YAW_P]] = 40.0, 31.0, 11.0
    gains[3, [RateGain.ROLL_I, RateGain.PITCH_I, RateGain.YAW_I]] = 150.0, 90.0, 30.0
    gains[3, [RateGain.ROLL_D, RateGain.PITCH_D]] = 0.6, 0.5
    gains[3, RateGain.DERIVATIVE_CUTOFF] = DERIVATIVE_HZ
    gains[2, [AttitudeGain.TILT_P, AttitudeGain.YAW_P]] = 9.0, 1.7
    gains[0, EstimateGain.GYRO_CUTOFF] = GYRO_HZ
    return gains


@pytest.fixture(scope="module")
def both(bench, other):
    """What the search makes of those gains from the craft as it is, by axis, and the whole model of a craft that has them."""
    condition = Condition(payload=0.1)
    loops, w = craft_loops(bench, condition), grid(bench)
    resting = loops.chain.rest.rest
    plants, rest = axis_plants(bench, resting["attitude"], [Opened.of(loops, w)], w), resting["rate"]
    found = []
    for axis in range(3):
        plant = with_filter(plants[axis], bench, GYRO_HZ)
        parts = basis(bench, rest, axis, w, DERIVATIVE_HZ)
        angle = other[2, AttitudeGain.TILT_P if axis < 2 else AttitudeGain.YAW_P]
        values = (other[3, axis], other[3, RateGain.ROLL_I + axis], other[3, RateGain.ROLL_D + axis], angle)
        some = Candidates(*(np.array([float(value)]) for value in values))
        feed = float(bench.gains[3, RateGain.FEED_FORWARD])
        found.append(answers(plant, parts, feed, gyro_filter(bench, GYRO_HZ, w), some))
    return found, craft_loops(bench.with_gains(other), condition).model(w)


@pytest.mark.parametrize("axis", range(3))
def test_the_loop_is_that_of_the_whole_model(both, axis):
    """As far from -1 to 1.5 %; what is left is the other axes, which the whole model closes and the search takes as apart."""
    found, model = both
    whole = model.loop(LOOPS[AXES[axis]])
    apart = np.abs(found[axis].loop[0, 0] - whole) / np.abs(1.0 + whole)
    assert np.max(apart) < 0.015
    assert np.max(apart[model.w > HERTZ]) < 0.003


@pytest.mark.parametrize("axis", range(3))
def test_the_angle_answers_as_in_the_whole_model(both, axis):
    found, model = both
    asked, got = ("attitude_wanted", axis + 1), ("attitude", axis + 1)
    whole = model.opened((asked,))[:, model.nodes.index(got), 0]
    assert np.max(np.abs(found[axis].angle[0, 0] - whole)) < 0.02
    assert np.max(np.abs(whole)) > 0.9


@pytest.mark.parametrize("axis", range(3))
def test_an_upset_is_what_a_torque_does_to_the_angle(both, axis):
    """A step of the acceleration asked for, from outside: twice the vector part of the attitude over s."""
    found, model = both
    whole = 2.0 * model.answer(("attitude", axis + 1), LOOPS[AXES[axis]]) / (1j * model.w)
    apart = np.abs(found[axis].upset[0, 0] - whole)
    assert np.max(apart) < 0.03 * np.max(np.abs(whole))


@pytest.mark.parametrize("change", ["sign", "delay", "filter"])
def test_what_is_wrong_would_be_seen(both, bench, other, change):
    """A turned sign, a doubled delay, a lost filter: each leaves the agreement by far."""
    found, model = both
    loop = found[0].loop[0, 0]
    wrong = {
        "sign": -loop,
        "delay": loop * np.exp(-1j * model.w * 2.5e-3),
        "filter": loop / gyro_filter(bench, GYRO_HZ, model.w),
    }[change]
    whole = model.loop(LOOPS["roll"])
    apart = np.abs(wrong - whole) / np.abs(1.0 + whole)
    assert np.max(apart[model.w > HERTZ]) > 0.05


def test_candidates_do_not_touch_each_other(both, bench):
    """Many at once give what one alone gives."""
    loops, w = craft_loops(bench, Condition()), grid(bench)
    resting = loops.chain.rest.rest
    plant = axis_plants(bench, resting["attitude"], [Opened.of(loops, w)], w)[0]
    parts = basis(bench, resting["rate"], 0, w, DERIVATIVE_HZ)
    many = Candidates(*(np.array(row) for row in ([10.0, 40.0], [20.0, 160.0], [0.0, 0.5], [4.0, 9.0])))

    def answer(some: Candidates) -> Answers:
        return answers(plant, parts, 0.2, np.ones(len(w), complex), some)

    for k in range(2):
        np.testing.assert_allclose(answer(many).loop[k], answer(many.pick(k)).loop[0], rtol=1e-5)
