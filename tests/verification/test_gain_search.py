"""The search of gains against closed forms, on an axis that is one: an integrator behind a lag and a delay."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.linalg import solve_continuous_lyapunov
from scipy.optimize import brentq

from quadsim.tuning.axis_loop import AxisPlant, Basis, Candidates
from quadsim.tuning.axis_search import Axis, judge, reference_turns, search
from quadsim.tuning.limits import Limits

pytestmark = pytest.mark.jit  # no kernel in it

HERTZ = 2.0 * math.pi


def closed_form_axis(
    lag: float, delay: float, scales: tuple[float, ...] = (1.0,), cutoff_Hz: float = 80.0
) -> Axis:
    """Rate per acceleration asked for k e^(-s delay)/(s (1 + s lag)), one corner for each k; PID in continuous time."""
    w = HERTZ * np.geomspace(0.02, 400.0, 600)
    s = 1j * w
    rate = np.array([k * np.exp(-s * delay) / (s * (1.0 + s * lag)) for k in scales])
    one = np.ones(len(w), complex)
    bounds = np.array([[0.0, 1e4], [0.0, 1e5], [0.0, 50.0], [0.0, 1e3]])
    return Axis(
        plant=AxisPlant(0, w, rate, rate / s), basis=Basis(one, 1.0 / s, s / (1.0 + s / (HERTZ * cutoff_Hz)), 0.0 * s),
        filter_=one, feed_forward=0.0, to_command=0.01, density=1e-4, shake=0.0, rotor_Hz=200.0, mode_Hz=0.0,
        bounds=bounds, uses_d=True,
    )  # fmt: skip


def gains(p: float, i: float = 0.0, d: float = 0.0, a: float = 0.0) -> Candidates:
    return Candidates(*(np.array([value]) for value in (p, i, d, a)))


def test_stable_up_to_the_gain_at_which_the_phase_is_180_deg():
    """P alone: w_180 with atan(w lag) + w delay = 90 deg, ultimate gain w_180 sqrt(1 + (w_180 lag)^2) (closed form; the name:
    J. G. Ziegler, N. B. Nichols, Trans. ASME 64, 1942). 2 % below it is stable, 2 % above it is not, with two corners."""
    lag, delay = 0.025, 0.006
    w180 = brentq(lambda w: math.atan(w * lag) + w * delay - math.pi / 2.0, 1.0, 1000.0)
    ultimate = w180 * math.hypot(1.0, w180 * lag)
    axis = closed_form_axis(lag, delay, scales=(1.0, 0.6))
    reference = reference_turns(axis)
    assert reference is not None
    below, above = (
        judge(axis, gains(share * ultimate, a=1e-3), reference).stable[0] for share in (0.98, 1.02)
    )
    assert below and not above


def test_disk_and_crossover_of_an_integrator_with_delay():
    """L = p e^(-s T)/s: crossover p; the least |1/(2 S - 1)| by its closed form |1 + L|/|1 - L| at every frequency."""
    axis = closed_form_axis(0.0, 0.01)
    verdict = judge(axis, gains(30.0, a=1e-9))
    assert verdict.crossover_Hz[0] * HERTZ == pytest.approx(30.0, rel=0.03)  # to the next frequency
    loop = 30.0 * np.exp(-1j * axis.plant.w * 0.01) / (1j * axis.plant.w)
    assert verdict.disk[0] == pytest.approx(2.0 * np.min(np.abs((1.0 + loop) / (1.0 - loop))), rel=1e-3)


def test_noise_is_that_of_white_noise_through_a_first_order_loop():
    """L = p/s: acceleration asked for per rate read is p s/(s + p), whose integral to F [Hz] of its square is
    p^2 (F - p/(2 pi) atan(2 pi F/p)) (closed form)."""
    axis, p = closed_form_axis(0.0, 0.0), 25.0
    found = judge(axis, gains(p, a=1e-9)).noise_pct[0]
    last = float(axis.plant.w[-1]) / HERTZ
    power = p * p * (last - p / HERTZ * math.atan(HERTZ * last / p)) * axis.density**2
    assert found == pytest.approx(100.0 * axis.to_command * math.sqrt(power), rel=0.01)


def test_upset_by_parseval_is_that_of_the_closed_form_in_time():
    """Angle under a lasting acceleration from outside, with PI on the rate and P on the angle: the integral of its square over
    all time, by the Lyapunov equation of the loop's states (angle, rate, integral of the rate's error): no frequency in it."""
    p, i, a = 30.0, 90.0, 6.0
    axis = closed_form_axis(0.0, 0.0)
    found = float(judge(axis, gains(p, i, a=a)).upset[0])
    # angle' = rate, rate' = torque + p error + i integral, integral' = error, with error = -a angle - rate
    matrix = np.array([[0.0, 1.0, 0.0], [-p * a, -p, i], [-a, -1.0, 0.0]])
    start = np.linalg.solve(matrix, np.array([0.0, -1.0, 0.0]))  # where it comes to rest, seen from there
    gramian = solve_continuous_lyapunov(matrix, -np.outer(start, start))
    assert found == pytest.approx(math.sqrt(gramian[0, 0]), rel=0.01)


def test_all_times_halved_allow_twice_the_bandwidth():
    """Dimensions alone: with lag, delay and derivative filter half as long, and no other limit, the best crossover doubles."""
    slow, fast = (
        search(closed_form_axis(lag, delay, cutoff_Hz=cutoff), Limits(noise_pct=1e9))
        for lag, delay, cutoff in ((0.05, 0.012, 40.0), (0.025, 0.006, 80.0))
    )
    assert slow is not None and fast is not None
    ratio = float(fast.verdict.crossover_Hz[0] / slow.verdict.crossover_Hz[0])
    assert ratio == pytest.approx(
        2.0, rel=0.12
    )  # I over P has a bound that does not scale, and frequencies are steps of 2 %


def test_a_wider_spread_of_the_plant_allows_less():
    """The gain must fit all corners: with one that answers twice as strongly, P comes down by about as much."""
    one, both = (search(closed_form_axis(0.025, 0.006, scales), Limits()) for scales in ((1.0,), (1.0, 2.0)))
    assert one is not None and both is not None
    assert float(both.gains.p[0]) < 0.7 * float(one.gains.p[0])
    assert float(both.verdict.crossover_Hz[0]) < float(one.verdict.crossover_Hz[0])


def test_nothing_is_found_for_a_plant_that_nothing_steadies():
    """A turned sign: every candidate is unstable or has no margin."""
    axis = closed_form_axis(0.025, 0.006)
    turned = AxisPlant(0, axis.plant.w, -axis.plant.rate, -axis.plant.angle)
    found = search(replace(axis, plant=turned), Limits())
    assert found is None
