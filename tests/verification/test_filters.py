"""Filters of controllers against closed forms and scipy.signal."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import signal

from controllers import BUILDER, SIGNALS, rows
from controllers.filters import delay_step, first_order_share, notch, notch_step, second_order_low_pass
from controllers.rate_filter import KEPT, Kept, filter_rates


def gain(b: list[float], a: list[float], frequency: float, rate: float) -> complex:
    _, h = signal.freqz(b, a, [frequency], fs=rate)
    return complex(h[0])


def test_notch_of_the_cookbook() -> None:
    """250 Hz, Q = 5 at 4 kHz; R. Bristow-Johnson, Audio EQ Cookbook (W3C Note 2021): b0, b1, a2 to 1e-9."""
    b0, b1, a2 = notch(250.0 / 4000.0, 5.0)
    assert (b0, b1, a2) == pytest.approx((0.9631421458, -1.7796546308, 0.9262842916), abs=1e-9)
    b, a = [b0, b1, b0], [1.0, b1, a2]
    assert abs(gain(b, a, 250.0, 4000.0)) < 1e-9
    assert abs(gain(b, a, 1e-3, 4000.0)) == pytest.approx(1.0, abs=1e-6)
    assert abs(gain(b, a, 2000.0, 4000.0)) == pytest.approx(1.0, abs=1e-9)


def test_notch_step_is_the_filter_of_its_coefficients() -> None:
    b0, b1, a2 = notch(0.07, 2.0)
    x = np.random.default_rng(3).normal(size=300)
    z1 = z2 = 0.0
    mine = np.empty_like(x)
    for k, value in enumerate(x):
        mine[k], z1, z2 = notch_step(value, b0, b1, a2, z1, z2)
    assert mine == pytest.approx(signal.lfilter([b0, b1, b0], [1.0, b1, a2], x), abs=1e-12)


def test_first_order_gain_and_true_cut_off() -> None:
    """1 - exp(-2 pi fc h) = 0.466512 at 100 Hz and 1 kHz, its -3 dB at 103.47 Hz; 0.0682454 and 90.04 Hz at 90 Hz and 8 kHz
    (z-transform of the held first-order lag)."""
    for cutoff, rate, share, true in ((100.0, 1000.0, 0.466512, 103.47), (90.0, 8000.0, 0.0682454, 90.04)):
        a = first_order_share(cutoff, 1.0 / rate)
        assert a == pytest.approx(share, rel=1e-4)
        assert abs(gain([a], [1.0, a - 1.0], true, rate)) == pytest.approx(math.sqrt(0.5), rel=2e-4)


def test_low_frequency_delay_of_the_butterworth_filter() -> None:
    """sqrt(2)/(2 pi fc) = 2.25079 ms at 100 Hz (closed form); read off the phase at 0.1 Hz, sampled at 8 kHz."""
    rate = 8000.0
    b0, a1, a2 = second_order_low_pass(100.0 / rate)
    w = 2.0 * math.pi * 0.1
    delay = -np.angle(gain([b0, 2.0 * b0, b0], [1.0, a1, a2], 0.1, rate)) / w
    assert delay == pytest.approx(2.25079e-3, rel=1e-3)


@pytest.mark.parametrize("samples", [0.0, 1.0, 2.5, 6.0])
def test_delay_between_runs(samples: float) -> None:
    """A ramp comes out as the ramp that much earlier, exactly; more than the buffer holds is cut to what it holds."""
    memory = np.zeros(20)
    for k in range(40):
        late = delay_step(float(k), samples, memory, 3, 10)
    assert late == pytest.approx(39.0 - samples, abs=1e-12)
    for k in range(40, 60):
        late = delay_step(float(k), 50.0, memory, 3, 10)
    assert late == pytest.approx(59.0 - 8.0, abs=1e-12)
    assert np.all(memory[:3] == 0.0)
    assert np.all(memory[14:] == 0.0)


RATE = 4000.0


def shaken(speed_hz: float, tone_hz: float, q: float, telemetry: bool = True, seconds: float = 1.0) -> float:
    """Rms of the filtered roll rate over the last half, for a tone of 1 rad/s on the gyro, rotors at `speed_hz`."""
    s, craft, memory = rows(SIGNALS)[0], rows(BUILDER)[0], np.zeros(4 + KEPT)
    s.dt = 1.0 / RATE
    craft.speed_telemetry, craft.max_thrust, craft.thrust_curve = float(telemetry), 5.0, 1.0
    craft.thrust_per_speed2 = 5.0 / (2.0 * math.pi * 400.0) ** 2
    craft.motor_lag[:] = 0.01
    if telemetry:
        s.rotor_speed[:] = 2.0 * math.pi * speed_hz
    s.motor[:] = speed_hz / 400.0  # with a curve of 1 the speed is the command's share of the greatest
    count = round(seconds * RATE)
    out = np.empty(count)
    for k in range(count):
        s.gyro[0] = math.sin(2.0 * math.pi * tone_hz * k / RATE)
        filter_rates(s, craft, 0.0, q, 60.0, 0.0, 0.0, 0.0, memory, 4)
        out[k] = s.rates[0]
    assert np.all(memory[:4] == 0.0)
    return float(np.sqrt(np.mean(out[count // 2 :] ** 2)))


@pytest.mark.parametrize("telemetry", [True, False])
def test_the_notch_stands_at_the_rotor_speed(telemetry: bool) -> None:
    """A rotor's own tone is gone, another passes with the gain of four notches in a row (scipy), a slow rotor has none."""
    seconds = 0.5
    assert shaken(180.0, 180.0, 3.0, telemetry, seconds) < 1e-3
    b0, b1, a2 = notch(180.0 / RATE, 3.0)
    passed = abs(gain([b0, b1, b0], [1.0, b1, a2], 40.0, RATE)) ** 4
    assert shaken(180.0, 40.0, 3.0, telemetry, seconds) == pytest.approx(passed * math.sqrt(0.5), rel=0.01)
    assert shaken(50.0, 50.0, 3.0, telemetry, seconds) == pytest.approx(math.sqrt(0.5), rel=0.01)


def test_a_notch_begins_without_a_jump() -> None:
    """At a constant rate nothing changes when the rotors come up to speed and the notches move with them."""
    s, craft, memory = rows(SIGNALS)[0], rows(BUILDER)[0], np.zeros(KEPT)
    s.dt, craft.speed_telemetry = 1.0 / RATE, 1.0
    s.gyro[:] = (1.0, -2.0, 0.5)
    for k in range(4000):
        s.rotor_speed[:] = 2.0 * math.pi * (20.0 + 0.05 * k)
        filter_rates(s, craft, 120.0, 3.0, 60.0, 0.1, 0.0, 0.0, memory, 0)
        assert s.rates == pytest.approx([0.9, -2.0, 0.5], abs=1e-9)
    assert memory[Kept.NOTCH] > 0.0
