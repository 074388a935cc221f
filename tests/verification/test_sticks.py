"""Stick shaping against arithmetic. Common practice, no source, unless said otherwise."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from controllers.sticks import deadband, exponential, received, shaped, throttle_curve
from quadsim.config.stick_trace import from_pulse


def test_cubic_exponential() -> None:
    """y = (1 - e) x + e x^3 by hand; 670 deg/s at full stick with e = 0.4 is 234.5 deg/s at half stick."""
    assert exponential(0.5, 0.3) == pytest.approx(0.3875, abs=1e-12)
    assert exponential(0.5, 0.4) == pytest.approx(0.35, abs=1e-12)
    assert 670.0 * exponential(0.5, 0.4) == pytest.approx(234.5, abs=1e-9)
    for e in (0.0, 0.3, 1.0):
        assert exponential(1.0, e) == pytest.approx(1.0, abs=1e-15)
        assert exponential(-0.4, e) == -exponential(0.4, e)
        slope = (exponential(1e-5, e) - exponential(-1e-5, e)) / 2e-5
        assert slope == pytest.approx(1.0 - e, abs=1e-9)
        assert (exponential(1.0, e) - exponential(1.0 - 1e-7, e)) / 1e-7 == pytest.approx(
            1.0 + 2.0 * e, abs=1e-5
        )


def test_deadband_is_continuous_and_keeps_the_range() -> None:
    given_ = [deadband(x, 0.05) for x in (0.05, 0.0501, 0.525, 1.0, -0.24)]
    assert given_ == pytest.approx([0.0, 1.0526e-4, 0.5, 1.0, -0.2], abs=1e-8)
    assert shaped(0.525, 0.05, 0.3) == pytest.approx(0.3875, abs=1e-12)


def test_pulse_widths() -> None:
    """1000, 1500, 2000 us are -1, 0, 1; 1100 us is -0.8."""
    assert [from_pulse(w) for w in (1000.0, 1500.0, 2000.0, 1100.0)] == pytest.approx([-1.0, 0.0, 1.0, -0.8])
    assert from_pulse(1500.0, 0.0) == pytest.approx(0.5)


SHARE, INSIDE = st.floats(0.0, 0.95), st.floats(0.05, 0.9)


@given(at=INSIDE, hover=st.floats(0.05, 0.95), share=SHARE)
def test_throttle_curve_hovers_where_asked_and_rises(at: float, hover: float, share: float) -> None:
    assert throttle_curve(at, at, hover, share) == pytest.approx(hover, abs=1e-12)
    assert throttle_curve(0.0, at, hover, share) == pytest.approx(0.0, abs=1e-12)
    assert throttle_curve(1.0, at, hover, share) == pytest.approx(1.0, abs=1e-12)
    values = [throttle_curve(x, at, hover, share) for x in np.linspace(0.0, 1.0, 201)]
    assert np.all(np.diff(values) > 0.0)


@given(at=INSIDE, hover=st.floats(0.05, 0.95), share=SHARE)
def test_throttle_curve_has_one_slope_at_hover(at: float, hover: float, share: float) -> None:
    """(1 - share) times the flatter side's straight line, from either side."""
    wanted, d = (1.0 - share) * min(hover / at, (1.0 - hover) / (1.0 - at)), 1e-6
    for low, high in ((at - d, at), (at, at + d)):
        slope = (throttle_curve(high, at, hover, share) - throttle_curve(low, at, hover, share)) / d
        assert slope == pytest.approx(wanted, abs=1e-4 * (1.0 + hover / at + (1.0 - hover) / (1.0 - at)) * 10)


def test_without_a_hover_position_the_stick_is_the_command() -> None:
    assert throttle_curve(0.37, 0.0, 0.4, 0.5) == 0.37
    assert throttle_curve(0.37, 0.5, 0.0, 0.5) == 0.37
    assert throttle_curve(1.7, 0.0, 0.4, 0.5) == 1.0


@given(value=st.floats(-1.0, 1.0), steps=st.integers(16, 4096))
def test_the_link_rounds_to_the_nearest_step(value: float, steps: int) -> None:
    step = 2.0 / steps
    arrived = received(value, 0.0, steps, -1.0)
    assert abs(arrived - value) <= step / 2.0 + 1e-12
    assert math.isclose((arrived + 1.0) / step, round((arrived + 1.0) / step), abs_tol=1e-6)


def test_trim_shifts_within_the_travel() -> None:
    assert received(0.2, 0.05, 0.0, -1.0) == pytest.approx(0.25)
    assert received(0.99, 0.05, 0.0, -1.0) == 1.0
    assert received(0.0, -0.25, 8.0, -1.0) == pytest.approx(-0.25)
