"""Steps flown beside something else: which one tells, and that the newest question is answered."""

import pytest

from controllers.rate import RateGain
from quadsim.analysis.predicted_answer import KINDS, Predictor, telling_step
from quadsim.analysis.response_bench import Bench
from quadsim.analysis.responses import rate_step
from quadsim.config import load_craft


@pytest.mark.parametrize(
    ("slot", "name", "kind"),
    [("rate", "ROLL_P", "roll rate"), ("rate", "PITCH_D", "pitch rate"), ("rate", "YAW_I", "yaw rate"),
     ("rate", "DERIVATIVE_CUTOFF", "roll rate"), ("attitude", "TILT_P", "roll"), ("attitude", "YAW_P", "yaw"),
     ("guide", "CLIMB_P", "height"), ("guide", "HEIGHT_P", "height"), ("guide", "YAW_FREQUENCY", "yaw"),
     ("guide", "ANGLE_FREQUENCY", "roll"), ("estimate", "GYRO_CUTOFF", "roll rate"), ("estimate", "ACCEL_BIAS_I", "height"),
     ("allocate", "YAW_SHARE", "yaw rate")],
)  # fmt: skip
def test_the_step_that_tells(slot, name, kind):
    assert telling_step(slot, name) == kind
    assert kind in KINDS


@pytest.mark.jit
def test_it_is_what_a_bench_flies_and_the_newest_question_counts():
    craft = load_craft("siskin")
    bench, predictor = Bench(craft), Predictor(craft)
    gains = bench.craft_gains.copy()
    for factor in (0.5, 0.7, 0.9, 1.3):
        gains[3, RateGain.ROLL_P] = factor * bench.craft_gains[3, RateGain.ROLL_P]
        predictor.ask("roll rate", gains)
    seen = predictor.wait()
    assert seen is not None
    assert (predictor.trouble, seen.kind) == ("", "roll rate")
    assert seen.craft.trace.flown == pytest.approx(rate_step(bench, 0).trace.flown)
    bench.tune(gains)
    assert seen.asked.trace.flown == pytest.approx(rate_step(bench, 0).trace.flown)
    assert seen.asked.figures.rise_s < seen.craft.figures.rise_s


@pytest.mark.jit
def test_gains_that_do_not_fly_are_said():
    craft = load_craft("siskin")
    predictor = Predictor(craft)
    gains = Bench(craft).craft_gains.copy()
    gains[3, RateGain.ROLL_P] *= -1.0
    predictor.ask("roll", gains)
    seen = predictor.wait()
    assert seen is not None
    assert "cannot hover" in seen.asked.trouble
    assert seen.craft.trouble == ""
