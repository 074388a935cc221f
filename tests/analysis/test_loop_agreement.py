"""Flown beside linear: what counts as agreeing and what is said when it does not."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from quadsim.analysis.flown_sweep import FlownLoop
from quadsim.analysis.loop_agreement import agreement

W = np.geomspace(10.0, 200.0, 12)
LINEAR = 20.0 / (1j * W) * np.exp(-0.004j * W)


def flown(loop: np.ndarray, **changes) -> FlownLoop:
    one = np.ones(len(W))
    plain = FlownLoop("roll", W, loop, one, 0.01 * one, 0.0 * one, 0.0, 60.0, 6, 0.0, 0.1, 0.0)
    return dataclasses.replace(plain, **changes)


def test_a_small_difference_agrees() -> None:
    found = agreement(flown(1.05 * LINEAR * np.exp(0.03j)), LINEAR)
    assert found.agrees and found.why == ()
    assert found.worst_dB == pytest.approx(20.0 * np.log10(1.05))
    assert found.worst_deg == pytest.approx(np.degrees(0.03))


def test_a_gain_and_a_delay_that_explain_it_are_named() -> None:
    found = agreement(flown(1.3 * LINEAR * np.exp(-0.002j * W)), LINEAR)
    assert not found.agrees
    assert found.gain_dB == pytest.approx(20.0 * np.log10(1.3)) and found.delay_ms == pytest.approx(2.0)
    assert found.why == ("the flown loop is as the linear one with +2.3 dB and +2.00 ms more delay",)


def test_a_wrong_sign_is_not_taken_for_a_delay() -> None:
    found = agreement(flown(-LINEAR), LINEAR)
    assert not found.agrees and "no one gain and delay explains it" in found.why[-1]


def test_a_resonance_is_named_by_its_frequency() -> None:
    bump = 1.0 + 1.5 * np.exp(-(((W - W[7]) / 5.0) ** 2))
    found = agreement(flown(bump * LINEAR), LINEAR)
    assert f"at {W[7]:.3g} rad/s the flown loop differs by +8.0 dB and +0 deg" in found.why[-1]


def test_lines_hidden_by_noise_do_not_count_and_are_told() -> None:
    scatter, loop = np.full(len(W), 0.01), LINEAR.copy()
    scatter[0], loop[0] = 0.5, 3.0 * loop[0]
    found = agreement(flown(loop, scatter=scatter), LINEAR)
    assert found.agrees and not found.counted[0]
    assert "1 of 12 lines are not sure: at 10 rad/s noise leaves 3.1 dB" in found.why[0]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"clipped": 0.02}, "rotors met a limit in 2 % of the time"),
        ({"tilt": 0.5}, "the craft left its trim: the thrust axis moved by 29 deg"),
    ],
)
def test_a_flight_off_its_trim_proves_nothing(changes: dict, words: str) -> None:
    found = agreement(flown(LINEAR, **changes), LINEAR)
    assert not found.agrees and words in found.why[0]
    assert np.isnan(found.worst_dB) and "fewer than 3 lines count" in found.why[-1]


def test_a_flight_at_another_speed_is_told() -> None:
    found = agreement(flown(LINEAR, speed=15.8), LINEAR, 17.0)
    assert found.agrees and "the flight went at 15.8 m/s, the model at 17.0" in found.why[0]
    assert agreement(flown(LINEAR, speed=16.9), LINEAR, 17.0).why == ()
    assert agreement(flown(LINEAR, speed=0.3), LINEAR).why == ()


def test_lines_that_bend_do_not_count_and_are_told() -> None:
    found = agreement(flown(LINEAR, bend=np.where(W > 100.0, 0.2, 0.0)), LINEAR)
    assert found.agrees and found.counted.tolist() == (W <= 100.0).tolist()
    assert "cubes and limits in the loop make 1.2 dB" in found.why[0]


def test_an_answer_at_even_harmonics_is_told() -> None:
    found = agreement(flown(LINEAR, even=0.2), LINEAR)
    assert found.agrees and "20 % of the answer comes from unequal ways up and down" in found.why[0]
