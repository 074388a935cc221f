"""Margins, bandwidth and disk margins against published examples, closed forms and python-control."""

from __future__ import annotations

import math

import control
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quadsim.analysis.bandwidth import bandwidth
from quadsim.analysis.disk_margin import DiskMargin, disk_margin
from quadsim.analysis.loop_edges import too_high, too_low
from quadsim.analysis.margins import CAP_DB, margins

pytestmark = pytest.mark.jit  # no kernel in it

W = np.geomspace(1e-2, 1e3, 500)
S = 1j * W
HZ = 2.0 * math.pi


def dB(value: float) -> float:
    return 20.0 * math.log10(value)


def test_a_published_example():
    """L = 25/(s3 + 10 s2 + 10 s + 10): GM 3.6000, PM 29.1104 deg at 1.7844 rad/s, delay 0.2847 s (The MathWorks, documentation of
    allmargin, first example); disk margin 0.458, 4.05 dB, 25.8 deg (Seiler, Packard & Gahinet 2020 as in python-control's tests);
    least |1 + L| 0.40215 at 2.011 rad/s."""
    one = margins(W, 25.0 / (S**3 + 10.0 * S**2 + 10.0 * S + 10.0))
    assert one.gain_up_dB == pytest.approx(dB(3.6), abs=1e-3)
    assert too_high(one).frequency_Hz * HZ == pytest.approx(3.1623, rel=1e-4)
    assert one.phase_deg == pytest.approx(29.1104, abs=3e-3)
    assert one.crossover_Hz * HZ == pytest.approx(1.7844, rel=1e-4)
    assert one.delay_ms == pytest.approx(284.7, rel=1e-3)
    assert one.disk == pytest.approx(0.458, abs=1e-3)
    assert 1.0 / one.peak == pytest.approx(0.40215, rel=1e-3)
    assert one.peak_Hz * HZ == pytest.approx(2.011, rel=1e-2)
    assert one.gain_down_dB == CAP_DB


def test_an_unstable_loop_is_reported_unstable():
    """K. Ogata, Modern Control Engineering, 5th ed., example 7-20: K/(s(s + 1)(s + 5)); K = 10: GM 3.0, PM 25.390 deg at 1.2271
    rad/s; K = 100: GM 0.3 (-10.458 dB), unstable. Exact values by python-control (the book reads them off a plot)."""
    for gain, stable in ((10.0, True), (100.0, False)):
        plant = control.tf([gain], [1.0, 6.0, 5.0, 0.0])
        assert bool(np.all(control.feedback(plant).poles().real < 0.0)) is stable
        one = margins(W, gain / (S * (S + 1.0) * (S + 5.0)), stable)
        if stable:
            assert one.gain_up_dB == pytest.approx(dB(3.0), abs=1e-3)
            assert one.phase_deg == pytest.approx(25.390, abs=3e-3)
        else:
            assert one.gain_up_dB == pytest.approx(dB(0.3), abs=1e-3)
            assert (one.phase_deg, one.delay_ms, one.disk) == (0.0, 0.0, 0.0) and not one.stable


def test_integrator_and_delay():
    """k e^(-s T)/s: GM pi/(2 k T), PM 90 deg - k T, delay margin PM/k (closed form): 7.853982, 78.54084 deg, 68.5398 ms."""
    one = margins(W, 20.0 * np.exp(-0.01 * S) / S)
    assert one.gain_up_dB == pytest.approx(dB(7.853982), abs=1e-4)
    assert one.phase_deg == pytest.approx(78.54084, abs=1e-4)
    assert one.delay_ms == pytest.approx(68.5398, rel=1e-5)


def test_rate_loop_with_motor_lag_and_delay():
    """Loop shaping for 60 deg: K = 22.2222 (no delay, lag 30 ms: wc = tan 30/Tm); with 5 ms wc = 15.86672, K = 17.57254, delay
    margin 65.9996 ms, GM 11.6863 (closed forms)."""
    one = margins(W, 22.2222 / (S * (1.0 + 0.03 * S)))
    assert one.phase_deg == pytest.approx(60.0, abs=1e-3)
    assert one.crossover_Hz * HZ == pytest.approx(19.2450, rel=1e-4)
    one = margins(W, 17.57254 * np.exp(-0.005 * S) / (S * (1.0 + 0.03 * S)))
    assert one.phase_deg == pytest.approx(60.0, abs=1e-3)
    assert one.crossover_Hz * HZ == pytest.approx(15.86672, rel=1e-4)
    assert one.delay_ms == pytest.approx(65.9996, rel=1e-4)
    assert one.gain_up_dB == pytest.approx(dB(11.6863), abs=1e-3)


def test_ziegler_and_nichols_leave_a_factor_of_two():
    """J. G. Ziegler & N. B. Nichols, Trans. ASME 64 (1942): half the ultimate gain; plant 1/(s(s + 1)(s + 5)), Ku = 30 at
    sqrt 5 rad/s (Ogata, example 8-1): GM exactly 2."""
    one = margins(W, 15.0 / (S * (S + 1.0) * (S + 5.0)))
    assert one.gain_up_dB == pytest.approx(dB(2.0), abs=1e-4)
    assert too_high(one).frequency_Hz * HZ == pytest.approx(math.sqrt(5.0), rel=1e-5)


def test_second_order_loop():
    """wn^2/(s(s + 2 zeta wn)): PM 51.8273 and 43.1176 deg for zeta 0.5 and 0.4 (Franklin, Powell & Emami-Naeini, closed form)."""
    for zeta, phase in ((0.5, 51.8273), (0.4, 43.1176)):
        one = margins(W, 25.0 / (S * (S + 10.0 * zeta)))
        assert one.phase_deg == pytest.approx(phase, abs=1e-3)


def test_a_loop_with_two_gain_margins():
    """K (s + 2)^2/(s^3): unstable for small K; Routh: s3 + K s2 + 4 K s + 4 K, so K above 1. At K = 5 the gain may fall by 5."""
    one = margins(W, 5.0 * (S + 2.0) ** 2 / S**3)
    assert one.gain_down_dB == pytest.approx(dB(5.0), abs=1e-3)
    assert one.gain_up_dB == CAP_DB
    assert too_low(one).frequency_Hz * HZ == pytest.approx(2.0, rel=1e-3)


def test_gain_beyond_a_frequency_is_that_of_the_flexible_mode():
    """A rigid loop with a light mode at 90 rad/s: beyond 70 rad/s only what a grid a hundred times as fine shows there counts."""

    def loop(w: np.ndarray) -> np.ndarray:
        s = 1j * w
        mode = 1.0 - 0.2 * s**2 / (s**2 + 1.8 * s + 8100.0)
        return 2.0 * np.exp(-0.05 * s) / (s * (1.0 + 0.05 * s)) * mode

    one = margins(np.geomspace(0.1, 300.0, 2000), loop(np.geomspace(0.1, 300.0, 2000)))
    fine = loop(np.geomspace(70.0, 300.0, 200_000))
    turns = np.flatnonzero((np.diff(np.sign(fine.imag)) != 0) & (fine.real[:-1] < 0.0))
    wanted = min(-dB(abs(fine[k])) for k in turns if abs(fine[k]) < 1.0)
    assert one.gain_beyond(70.0 / HZ) == pytest.approx(wanted, abs=0.05)
    assert one.gain_beyond(70.0 / HZ) != pytest.approx(one.gain_beyond(0.0), abs=0.5)


@settings(max_examples=40, deadline=None)
@given(st.floats(0.3, 30.0), st.floats(0.01, 0.2), st.floats(0.001, 0.03), st.floats(0.0, 5.0))
def test_margins_of_python_control(gain, lag, short, integral):
    """Random loops K (s + I)/(s^2 (1 + s T1)(1 + s T2)) and K/(s (1 + s T1)(1 + s T2)): python-control's stability_margins."""
    w = np.geomspace(1e-2, 1e4, 700)
    s = 1j * w
    lags = np.polymul([lag, 1.0], [short, 1.0])
    above, below = ([gain, gain * integral], [1.0, 0.0, 0.0]) if integral > 0.1 else ([gain], [1.0, 0.0])
    below = np.polymul(below, lags)
    loop, system = np.polyval(above, s) / np.polyval(below, s), control.tf(above, below)
    if not np.all(control.feedback(system).poles().real < -1e-6):
        return
    one = margins(w, loop)
    gm, pm, sm, *_ = control.stability_margins(system)
    if sm < 0.05:
        return  # next to unstable: python-control's own grid is too coarse there
    assert one.phase_deg == pytest.approx(pm, abs=0.05)
    assert 1.0 / one.peak == pytest.approx(sm, rel=5e-3)
    if math.isfinite(gm) and gm > 1.0:
        assert one.gain_up_dB == pytest.approx(dB(gm), abs=0.02)


@settings(max_examples=25, deadline=None)
@given(st.floats(1.0, 25.0), st.floats(0.01, 0.1), st.floats(0.001, 0.02))
def test_what_the_margins_promise(gain, lag, delay):
    """Times the gain margin, or later by the delay margin, the loop goes through -1."""
    w = np.geomspace(0.1, 3000.0, 1500)
    loop = gain * np.exp(-1j * w * delay) / (1j * w * (1.0 + 1j * w * lag))
    one = margins(w, loop)
    if one.gain_up_dB <= 0.0 or one.phase_deg < 5.0:
        return
    fine = np.geomspace(0.1, 3000.0, 200000)
    again = gain * np.exp(-1j * fine * delay) / (1j * fine * (1.0 + 1j * fine * lag))
    assert np.min(np.abs(1.0 + again * 10.0 ** (one.gain_up_dB / 20.0))) < 1e-3
    assert np.min(np.abs(1.0 + again * np.exp(-1j * fine * one.delay_ms / 1e3))) < 1e-3


def test_arithmetic_of_the_disk():
    """GM (2 + a)/(2 - a), PM 2 atan(a/2): 2/3 gives 6.0206 dB, 36.870 deg; 0.3754 gives 3.2998, 21.2614; 1 gives 9.5424, 53.130
    (Seiler et al. 2020)."""
    for alpha, gain, phase in ((2 / 3, 6.0206, 36.870), (0.3754, 3.2998, 21.2614), (1.0, 9.5424, 53.130)):
        one = DiskMargin(alpha, 1.0)
        assert (one.gain_dB, one.phase_deg) == (
            pytest.approx(gain, abs=2e-3),
            pytest.approx(phase, abs=1e-3),
        )


def test_one_loop_has_the_disk_margin_of_one_loop():
    loop = 25.0 / (S**3 + 10.0 * S**2 + 10.0 * S + 10.0)
    assert disk_margin(W, loop[:, None, None]).alpha == pytest.approx(margins(W, loop).disk, rel=2e-3)


def _spinning_satellite(w: np.ndarray, a: float = 10.0) -> np.ndarray:
    """The plant of two cross-coupled axes that is the textbook's warning against margins loop by loop."""
    s = 1j * w
    common = 1.0 / (s**2 + a * a)
    top = np.stack([(s - a * a) * common, a * (s + 1.0) * common], axis=1)
    return np.stack([top, np.stack([-a * (s + 1.0) * common, (s - a * a) * common], axis=1)], axis=1)


def test_loops_that_are_fine_one_by_one_may_not_be_together():
    """Spinning satellite, G = 1/(s2 + a2) [s - a2, a (s + 1); -a (s + 1), s - a2], a = 10, K = 1 (K. Zhou, J. Doyle, K. Glover,
    Robust and Optimal Control (1996), sec. 9.6; J. Doyle 1978): each loop alone, the other closed, is 1/s: alpha 2; the two
    together have 0.0997 (Seiler et al. 2020 give 0.1)."""
    loops = _spinning_satellite(W)
    closed = np.linalg.inv(np.eye(2) + loops)
    alone = 1.0 / closed[:, 0, 0] - 1.0
    assert alone == pytest.approx(1.0 / S, rel=1e-9)
    assert margins(W, alone).disk == pytest.approx(2.0, rel=1e-3)
    assert disk_margin(W, loops).alpha == pytest.approx(0.0997, abs=2e-3)


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10_000))
def test_the_bound_is_safe_and_tight(seed):
    """Never below what some diagonal change of that size does (spectral radius over diagonal unitary matrices: a lower bound of
    the structured singular value, Packard & Doyle 1993), and within 5 % of the greatest that a search finds."""
    rng = np.random.default_rng(seed)
    m = rng.normal(size=(4, 4)) + 1j * rng.normal(size=(4, 4))
    loops = np.linalg.inv(m + 0.5 * np.eye(4)) - np.eye(4)
    bound = 1.0 / disk_margin(np.array([1.0]), loops[None]).alpha if np.max(np.abs(m)) > 0.5 else 0.0
    phases = rng.uniform(0.0, HZ, (40, 4))
    best = 0.0
    for start in phases:
        best = max(best, _climb(m, start))
    if bound > 0.5:  # alpha is capped at 2
        assert best <= bound * (1.0 + 1e-6)
        assert best >= 0.95 * bound


def _climb(m: np.ndarray, phase: np.ndarray) -> float:
    """Greatest spectral radius of diag(e^(j phase)) M, one phase after the other."""

    def radius(p: np.ndarray) -> float:
        return float(np.max(np.abs(np.linalg.eigvals(np.exp(1j * p)[:, None] * m))))

    value, step = radius(phase), 0.8
    while step > 1e-3:
        before = value
        for k in range(len(phase)):
            for way in (step, -step):
                moved = phase.copy()
                moved[k] += way
                if (there := radius(moved)) > value:
                    value, phase = there, moved
        step *= 1.0 if value > before else 0.5
    return value


def test_bandwidth_of_an_attitude_response():
    """ADS-33E-PRF, fig. 4, on 25 e^(-0.05 s)/(s2 + 7 s + 25): 6.91130 rad/s, -180 deg at 12.13957, phase delay 0.0379547 s."""
    w = np.geomspace(0.1, 200.0, 4000)
    s = 1j * w
    one = bandwidth(w, 25.0 * np.exp(-0.05 * s) / (s**2 + 7.0 * s + 25.0))
    assert one.bandwidth_Hz * HZ == pytest.approx(6.91130, rel=1e-4)
    assert one.turn_Hz * HZ == pytest.approx(12.13957, rel=1e-4)
    assert one.phase_delay_s == pytest.approx(0.0379547, rel=1e-3)


def test_bandwidth_of_a_rate_response():
    """e^(-0.02 s)/(s (0.05 s + 1)): phase 12.08782, gain 19.18856 rad/s, the lesser counts; phase delay 0.0145189 s."""
    w = np.geomspace(0.1, 200.0, 4000)
    s = 1j * w
    one = bandwidth(w, np.exp(-0.02 * s) / (s * (0.05 * s + 1.0)), rate_type=True)
    assert one.phase_Hz * HZ == pytest.approx(12.08782, rel=1e-4)
    assert one.gain_Hz * HZ == pytest.approx(19.18856, rel=1e-4)
    assert one.bandwidth_Hz == one.phase_Hz
    assert one.turn_Hz * HZ == pytest.approx(29.66210, rel=1e-4)
    assert one.phase_delay_s == pytest.approx(0.0145189, rel=1e-3)


def test_phase_delay_of_integrator_and_delay_is_half_the_delay():
    """K e^(-0.04 s)/s: 0.02 s; phase bandwidth pi/(4 T) = 19.63495 rad/s (derived from the standard's definition)."""
    w = np.geomspace(0.1, 200.0, 4000)
    one = bandwidth(w, 3.0 * np.exp(-0.04j * w) / (1j * w), rate_type=True)
    assert one.phase_delay_s == pytest.approx(0.02, rel=1e-4)
    assert one.phase_Hz * HZ == pytest.approx(19.63495, rel=1e-5)


def test_a_response_that_never_turns_has_no_phase_delay():
    w = np.geomspace(0.1, 100.0, 500)
    one = bandwidth(w, 1.0 / (1j * w + 1.0))
    assert math.isnan(one.phase_delay_s) and math.isnan(one.turn_Hz)
