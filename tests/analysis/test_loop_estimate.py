"""The estimate of a loop on made-up sampled loops whose L is known in closed form."""

from __future__ import annotations

import sys
import types
from pathlib import Path

import numpy as np
import pytest

from quadsim.analysis import loop_estimate
from quadsim.analysis.loop_estimate import LoopEstimate, Wave, estimate_loop, wave_at

RATE = 1000.0
WAVE = wave_at(np.geomspace(8.0, 600.0, 20), RATE)
GAIN, DELAY, BLEND = 20.0, 5, 0.12
"""Gain [1/s], delay [samples] and low-pass of the made-up law."""
TRANSIENT = 2


def known_loop(w: np.ndarray) -> np.ndarray:
    """L = GAIN T z^-1/(1 - z^-1) z^-DELAY b/(1 - (1 - b) z^-1): integrator, delay, y += b (x - y)."""
    back = np.exp(-1j * w / RATE)
    return GAIN / RATE * back / (1.0 - back) * back**DELAY * BLEND / (1.0 - (1.0 - BLEND) * back)


def flown(
    wave: Wave, periods: int, noise: float = 0.0, seed: int = 1, way_up: float = 1.0, cube: float = 0.0
) -> np.ndarray:
    """The law's output (periods, n) of that loop, closed, with noise on what is measured, another gain for what is above 0, and
    less gain for what is great."""
    count = (periods + TRANSIENT) * wave.period
    disturbed = noise * np.random.default_rng(seed).standard_normal(count)
    wanted = np.tile(wave.samples, periods + TRANSIENT)
    law, line, state, smooth = np.empty(count), [0.0] * (DELAY + 1), 0.0, 0.0
    for n in range(count):
        smooth += BLEND * (state + disturbed[n] - smooth)
        line = [smooth, *line[:-1]]
        law[n] = -GAIN * line[DELAY]
        given = law[n] + wanted[n]
        state += (way_up if given > 0.0 else 1.0) * (given - cube * given**3) / RATE
    return law[TRANSIENT * wave.period :].reshape(periods, -1)


def check_against_the_closed_form(found: LoopEstimate) -> None:
    ratio = found.loop / known_loop(WAVE.w)
    assert np.max(np.abs(20.0 * np.log10(np.abs(ratio)))) < 0.1
    assert np.max(np.abs(np.degrees(np.angle(ratio)))) < 1.0
    assert np.min(found.coherence) > 0.9999 and np.max(found.scatter) < 1e-3


@pytest.fixture(scope="module")
def answer() -> np.ndarray:
    return flown(WAVE, 3)


def test_the_loop_is_found_within_a_tenth_of_a_decibel_and_a_degree(answer: np.ndarray) -> None:
    check_against_the_closed_form(estimate_loop(WAVE, answer))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("loop = -answer / given", "loop = answer / given"),
        ("mean[at], mean[at] + drive", "mean[at], mean[at] - drive"),
        ("loop = -answer / given", "loop = -answer / drive"),
        ("np.exp(1j * self.phases)", "np.exp(-1j * self.phases)"),
        ("spectra = np.fft.rfft(", "spectra = 1.02 * np.fft.rfft("),
    ],
    ids=["sign", "what is given", "law over wave", "phases", "gain"],
)
def test_a_wrong_copy_of_the_estimate_is_noticed(
    old: str, new: str, answer: np.ndarray, monkeypatch: pytest.MonkeyPatch
) -> None:
    source = Path(loop_estimate.__file__).read_text(encoding="utf-8")
    assert source.count(old) == 1
    wrong = types.ModuleType("wrong_loop_estimate")
    monkeypatch.setitem(sys.modules, wrong.__name__, wrong)  # data classes look there for their annotations
    exec(source.replace(old, new), wrong.__dict__)
    wave = wrong.Wave(WAVE.period, WAVE.rate_Hz, WAVE.harmonics, WAVE.amplitudes, WAVE.phases)
    with pytest.raises(AssertionError):
        check_against_the_closed_form(wrong.estimate_loop(wave, answer))


def test_a_doubled_delay_is_seen_as_one() -> None:
    """5 ms more: w times that more phase lag, closed form; and the size is the same."""
    ratio = estimate_loop(WAVE, flown(WAVE, 3)).loop / (
        known_loop(WAVE.w) * np.exp(1j * WAVE.w * DELAY / RATE)
    )
    slope = np.polyfit(WAVE.w, np.unwrap(np.angle(ratio)), 1)[0]
    assert slope == pytest.approx(-DELAY / RATE, rel=0.02)


def test_with_noise_the_stated_accuracy_holds() -> None:
    """The square of the error over that of the standard error averages (P - 1)/(P - 2) for P periods (mean of an F
    distribution of 2 and 2 (P - 1) degrees of freedom); 100 lines scatter about it by some 12 %."""
    periods, squares = 8, []
    for seed in range(5):
        found = estimate_loop(WAVE, flown(WAVE, periods, noise=3e-3, seed=seed))
        truth = known_loop(WAVE.w)
        squares.append(np.abs(found.loop - truth) ** 2 / (np.abs(found.loop) * found.scatter) ** 2)
        assert 0.003 < np.median(found.scatter) < 0.3, (
            "noise that can be seen, yet leaves something to measure"
        )
    assert np.mean(squares) == pytest.approx((periods - 1) / (periods - 2), rel=0.3)


def test_coherence_falls_where_noise_hides_a_line() -> None:
    quiet, loud = (estimate_loop(WAVE, flown(WAVE, 6, noise=n)) for n in (1e-4, 3e-2))
    assert np.min(quiet.coherence) > 0.99
    assert np.min(loud.coherence) < 0.9
    assert np.argmin(loud.coherence) == pytest.approx(np.argmax(loud.scatter), abs=2)


def test_a_drift_does_not_leak_into_the_low_lines() -> None:
    law = flown(WAVE, 4)
    drifting = law + 0.5 * np.arange(law.size).reshape(law.shape) / RATE
    plain, cleaned = (estimate_loop(WAVE, one).loop for one in (law, drifting))
    assert np.max(np.abs(cleaned / plain - 1.0)) < 1e-6


def test_a_gain_that_differs_up_and_down_shows_on_even_harmonics() -> None:
    """Half the difference of the two gains acts on |given|, which has even harmonics only."""
    straight, bent = (estimate_loop(WAVE, flown(WAVE, 4, way_up=up)) for up in (1.0, 1.2))
    assert straight.even < 1e-3 and np.max(straight.bend) < 1e-3
    assert bent.even > 0.02


def test_bend_foretells_the_error_that_a_cube_makes() -> None:
    """A cube's terms fall on lines and on silent odd harmonics alike; all lines also lose a common share of gain, which the
    silent ones cannot tell: it is taken off. Half the wave has a quarter of the bend (closed form)."""
    whole, half = (estimate_loop(wave, flown(wave, 3, cube=0.1)) for wave in (WAVE, WAVE.scaled(0.5)))
    ratio = whole.loop / known_loop(WAVE.w)
    error = np.abs(ratio / np.mean(ratio) - 1.0)
    assert np.median(whole.bend) > 3e-3
    assert 0.3 < np.median(error / whole.bend) < 3.0
    assert np.median(half.bend / whole.bend) == pytest.approx(0.25, rel=0.15)


def test_noise_alone_is_not_taken_for_bend() -> None:
    found = [estimate_loop(WAVE, flown(WAVE, 6, noise=3e-3, seed=seed)) for seed in range(3)]
    assert np.mean([one.bend > one.scatter for one in found]) < 0.05


def test_the_wave_has_odd_lines_next_to_those_wanted_and_a_low_peak() -> None:
    w = np.geomspace(8.0, 600.0, 20)
    assert np.all(WAVE.harmonics % 2 == 1)
    assert np.all(np.abs(WAVE.w[:, None] - w).min(axis=1) < 0.2 * WAVE.w)
    t = np.arange(WAVE.period) / RATE
    direct = sum(a * np.cos(w * t + p) for a, w, p in zip(WAVE.amplitudes, WAVE.w, WAVE.phases, strict=True))
    assert np.allclose(direct, WAVE.samples, atol=1e-12)
    assert WAVE.scaled(3.0).peak == pytest.approx(3.0)
    crest = WAVE.peak / np.sqrt(np.mean(WAVE.samples**2))
    assert crest < 0.8 * np.sqrt(2.0 * len(WAVE.harmonics)), "cosines that all peak at once have sqrt(2 n)"
