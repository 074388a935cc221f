"""Figures of answers, on curves in closed form."""

import math

import numpy as np
import pytest

from quadsim.analysis.response_figures import figures_of_step, quickness, rejection_figures, time_back

T = np.linspace(0.0, 8.0, 8001)


def test_a_disturbance_that_fades_like_t_exp():
    """a t exp(-t): peak a/e at 1 s, a tenth of it at t exp(1 - t) = 0.1 (Lambert W: 4.889720), integral a, steepest slope a at
    the start (closed form; the root by bisection)."""
    peak_rate, peak, back_s, integral = rejection_figures(
        T, 2.0 * T * np.exp(-T), 2.0 * (1.0 - T) * np.exp(-T)
    )
    assert peak == pytest.approx(2.0 / math.e, rel=1e-6)
    assert back_s == pytest.approx(4.889720, abs=1.1e-3)
    assert back_s * math.exp(1.0 - back_s) == pytest.approx(0.1, abs=1e-4)
    assert integral == pytest.approx(2.0 * (1.0 - 9.0 * math.exp(-8.0)), rel=1e-6)
    assert peak_rate == 2.0


def test_what_never_comes_back_has_no_time():
    assert math.isnan(time_back(T, T))
    assert time_back(T, np.zeros_like(T)) == 0.0


def test_a_step_counts_from_where_it_stood():
    """First order with time constant 0.5 s from 3 to 5: rise ln 9 T, within 5 % after ln 20 T."""
    seen = figures_of_step(T, 3.0 + 2.0 * (1.0 - np.exp(-T / 0.5)), 2.0)
    assert seen.rise_s == pytest.approx(0.5 * math.log(9.0), rel=1e-4)
    assert seen.settle_5_s == pytest.approx(0.5 * math.log(20.0), rel=1e-3)
    assert seen.overshoot_pct == 0.0


def test_what_was_not_flown_has_no_figures():
    assert math.isnan(figures_of_step(T[:1], T[:1], 1.0).rise_s)
    assert all(math.isnan(value) for value in rejection_figures(T[:0], T[:0], T[:0]))
    assert math.isnan(quickness("roll", 5.0, T[:0], T[:0]).per_s)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_quickness_of_a_second_order_turn(sign):
    """Damping d, frequency w: overshoot exp(-pi d/r) with r = sqrt(1 - d^2), dip its square below the end, peak rate
    w exp(-d phi/r) with tan(phi) = r/d (closed form)."""
    d, w, asked = 0.4, 6.0, 20.0 * sign
    r = math.sqrt(1.0 - d * d)
    angle = asked * (1.0 - np.exp(-d * w * T) * (np.cos(r * w * T) + d / r * np.sin(r * w * T)))
    rate = asked * w / r * np.exp(-d * w * T) * np.sin(r * w * T)
    seen = quickness("roll", asked, angle, rate)
    over, phi = math.exp(-math.pi * d / r), math.atan2(r, d)
    assert seen.peak_change_deg == pytest.approx(20.0 * (1.0 + over), rel=1e-5)
    assert seen.least_change_deg == pytest.approx(20.0 * (1.0 - over**2), rel=1e-5)
    assert seen.per_s == pytest.approx(w * math.exp(-d * phi / r) / (1.0 + over), rel=1e-5)
