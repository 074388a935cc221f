"""Answers flown in the full simulation against closed forms of the loops."""

from __future__ import annotations

import numpy as np
import pytest

from controllers.attitude import AttitudeGain
from controllers.rate import RateGain
from quadsim.analysis.motor_noise import motor_noise
from quadsim.analysis.response_bench import EVERY_NOISE, Bench
from quadsim.analysis.responses import angle_step, fly_responses, rate_step, torque_of, torque_step
from quadsim.config import Load, load_craft
from quadsim.units import DEG

ATTITUDE, RATE = 2, 3
pytestmark = pytest.mark.jit


@pytest.fixture(scope="module")
def bench() -> Bench:
    return Bench(load_craft("siskin"))


@pytest.fixture(scope="module")
def noisy() -> Bench:
    return Bench(load_craft("siskin"), noise=EVERY_NOISE)


def changed(bench: Bench, **changes: float) -> np.ndarray:
    gains = bench.craft_gains.copy()
    for name, value in changes.items():
        row, gain = (RATE, RateGain[name]) if name in RateGain.__members__ else (ATTITUDE, AttitudeGain[name])
        gains[row, gain] = value
    return gains


def without_integral(bench: Bench, **more: float) -> np.ndarray:
    return changed(bench, ROLL_I=0.0, PITCH_I=0.0, YAW_I=0.0, **more)


def test_a_torque_leans_a_loop_without_integral_by_its_stiffness(bench: Bench) -> None:
    """P on attitude over P on rates: M/J = Kp Ka tilt in the steady state, so tilt = M/(J Kp Ka) (closed form). 12 % are the 1 dB
    by which the thrust curve of one parameter may miss the slope of the drive (see test_loop_gain)."""
    bench.tune(without_integral(bench))
    kp, ka = bench.session.gains[RATE, RateGain.ROLL_P], bench.session.gains[ATTITUDE, AttitudeGain.TILT_P]
    torque = torque_of(bench, 0)
    stiffness = float(bench.session.plant.inertia[0, 0]) * kp * ka
    seen = torque_step(bench, 0).trace
    leaned = float(np.mean(seen.flown[(seen.t_s > 0.6) & (seen.t_s < 1.0)])) - float(seen.flown[0])
    assert leaned * DEG == pytest.approx(torque / stiffness, rel=0.12)


@pytest.mark.parametrize("axis", [0, 1])
def test_a_torque_first_turns_the_body_alone(bench: Bench, axis: int) -> None:
    """Until the motors answer, w = M t/J (Euler's equation); over the first 4 ms they have not (delays and lag of the drive)."""
    bench.tune(bench.craft_gains)
    torque = torque_of(bench, axis)
    flown = bench.torque_step(axis, torque, 0.1)
    gained = flown.rates[4, axis] - flown.rates[0, axis]
    assert gained == pytest.approx(
        torque * flown.t_s[4] / float(bench.session.plant.inertia[axis, axis]), rel=0.05
    )


def test_twice_the_torque_is_twice_the_answer(bench: Bench) -> None:
    """Small tilts: the loop is linear (superposition)."""
    bench.tune(bench.craft_gains)
    torque = torque_of(bench, 1)
    one, two = torque_step(bench, 1, torque), torque_step(bench, 1, 2.0 * torque)
    assert two.peak == pytest.approx(2.0 * one.peak, rel=0.05)
    assert two.peak_rate == pytest.approx(2.0 * one.peak_rate, rel=0.05)


def test_noise_of_the_gyroscope_grows_with_the_gain(bench: Bench) -> None:
    """White noise of the gyroscope times the gain of a proportional loop: twice the gain, twice the rms (closed form, as long as
    the loop's own motion is small beside the noise). D is left out, which has its own low-pass. The heat is a difference of
    squares of two hovers: it stands out from how these settle, some 5e-5 W, with four times the gain only."""
    noisy = Bench(load_craft("siskin"), noise=("gyro_noise",))
    figures = []
    for factor in (1.0, 2.0, 4.0):
        gains = without_integral(
            bench, ROLL_D=0.0, PITCH_D=0.0, ROLL_P=22.0 * factor, PITCH_P=22.0 * factor, YAW_P=8.0 * factor
        )
        bench.tune(gains)
        noisy.tune(gains)
        figures.append(motor_noise(bench, noisy))
    assert figures[1].command_pct == pytest.approx(2.0 * figures[0].command_pct, rel=0.15)
    assert figures[2].heat_W > 2.5 * max(figures[0].heat_W, figures[1].heat_W)


def test_doubling_the_rate_gain_overshoots_more_and_a_wrong_sign_is_said(bench: Bench) -> None:
    bench.tune(bench.craft_gains)
    calm = rate_step(bench, 0)
    bench.tune(changed(bench, ROLL_P=2.4 * bench.craft_gains[RATE, RateGain.ROLL_P]))
    lively = rate_step(bench, 0)
    assert lively.figures.rise_s < calm.figures.rise_s
    bench.tune(changed(bench, ROLL_P=-bench.craft_gains[RATE, RateGain.ROLL_P]))
    wrong = angle_step(bench, 0)
    assert "cannot hover" in wrong.trouble
    assert np.isnan(wrong.figures.rise_s)
    bench.tune(bench.craft_gains)
    assert rate_step(bench, 0).trace.flown == pytest.approx(calm.trace.flown)  # the same bits again


def test_most_noise_comes_from_the_barometer(bench: Bench, noisy: Bench) -> None:
    """With the craft's own gains a barometer of 0.1 m rms moves the motors more, through the height loop, than its gyroscope does
    (measured: 0.030 and 0.006 % rms)."""
    bench.tune(bench.craft_gains)
    noisy.tune(noisy.craft_gains)
    gyro = Bench(load_craft("siskin"), noise=("gyro_noise",))
    assert motor_noise(bench, noisy).command_pct > 2.0 * motor_noise(bench, gyro).command_pct > 0.0


def test_everything_at_once(bench: Bench, noisy: Bench) -> None:
    bench.tune(bench.craft_gains)
    noisy.tune(noisy.craft_gains)
    seen = fly_responses(bench, noisy)
    assert not seen.trouble
    assert [one.name for one in seen.rejections] == [
        "roll torque",
        "pitch torque",
        "yaw torque",
        "downdraught",
    ]
    for one in (*seen.steps, *seen.rejections):
        assert not one.trouble
        assert np.all(np.isfinite(one.trace.flown))
    assert 0.0 < seen.step("roll rate").figures.rise_s < 0.2
    assert all(4.0 < one.per_s < 6.0 for one in seen.quickness)


def test_a_payload_slows_the_answer_to_a_torque_of_its_own_size() -> None:
    craft = load_craft("siskin")
    loaded = Bench(craft, loads=(Load(0.15, (0.06, 0.06, 0.06), (0.0, 0.0, 0.06)),))
    assert float(loaded.session.plant.mass) == pytest.approx(
        float(Bench(craft).session.plant.mass) + 0.15, rel=1e-6
    )
    assert not loaded.trouble
    assert torque_step(loaded, 0).peak > 0.0
