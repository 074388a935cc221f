"""Step metrics against the closed form of a second-order system, python-control, and a craft's own step."""

from __future__ import annotations

import math

import control
import numpy as np
import pytest

from quadsim.analysis.step_response import step_response
from quadsim.errors import InputError

T = np.linspace(0.0, 6.0, 6001)


def second_order(zeta: float, wn: float, t: np.ndarray = T) -> np.ndarray:
    """y = 1 - exp(-zeta wn t)/sqrt(1-zeta^2) sin(wd t + acos zeta): Ogata, Modern Control Engineering, eq. 5-12."""
    wd = wn * math.sqrt(1.0 - zeta**2)
    return 1.0 - np.exp(-zeta * wn * t) / math.sqrt(1.0 - zeta**2) * np.sin(wd * t + math.acos(zeta))


def test_textbook_example() -> None:
    """zeta 0.6, wn 5 rad/s: Ogata, Example 5-1 (prints 0.55, 0.785, 0.095); exact figures by closed form, 1e-3."""
    found = step_response(T, second_order(0.6, 5.0), final=1.0)
    assert found.full_rise_s == pytest.approx(0.55357, abs=1e-4)
    assert found.rise_s == pytest.approx(0.37081, abs=1e-4)
    assert found.peak_s == pytest.approx(0.785398, abs=1e-3)
    assert found.overshoot_pct == pytest.approx(9.47802, abs=1e-3)
    assert found.settle_2_s == pytest.approx(1.18860, abs=1e-4)
    assert found.settle_5_s == pytest.approx(1.04581, abs=1e-4)


@pytest.mark.parametrize("zeta", [0.2, 0.5, 0.9])
def test_agrees_with_python_control(zeta: float) -> None:
    """python-control's step_info works on samples without interpolation: equal to two of its samples."""
    theirs = control.step_info(second_order(zeta, 4.0), T, final_output=1.0, SettlingTimeThreshold=0.02)
    ours = step_response(T, second_order(zeta, 4.0), final=1.0)
    assert ours.rise_s == pytest.approx(theirs["RiseTime"], abs=2e-3)
    assert ours.peak_s == pytest.approx(theirs["PeakTime"], abs=2e-3)
    assert ours.overshoot_pct == pytest.approx(theirs["Overshoot"], abs=1e-6)
    assert ours.settle_2_s == pytest.approx(theirs["SettlingTime"], abs=2e-3)


def test_few_samples_are_interpolated() -> None:
    """A ramp of 1/s up to 1.2, sampled every 0.3 s: straight lines between samples are the ramp itself."""
    t = np.arange(0.0, 3.0, 0.3)
    found = step_response(t, np.minimum(t, 1.2), final=1.2)
    assert found.rise_s == pytest.approx(0.8 * 1.2, abs=1e-12)
    assert found.full_rise_s == pytest.approx(1.2, abs=1e-12)
    assert found.settle_5_s == pytest.approx(0.95 * 1.2, abs=1e-12)


def test_height_and_direction_do_not_matter() -> None:
    plain = step_response(T, second_order(0.4, 6.0), final=1.0)
    turned = step_response(T + 7.0, 5.0 - 3.0 * second_order(0.4, 6.0), final=2.0, initial=5.0)
    assert vars(turned) == pytest.approx(vars(plain), abs=1e-9)


def test_no_overshoot_and_never_there() -> None:
    slow = step_response(T, 1.0 - np.exp(-T / 4.0), final=1.0)
    assert slow.overshoot_pct == 0.0
    assert all(math.isnan(value) for value in (slow.peak_s, slow.full_rise_s, slow.rise_s, slow.settle_2_s))
    flat = step_response([0.0, 1.0, 2.0], [1.0, 1.0, 1.0], final=1.0, initial=0.0)
    assert flat.settle_2_s == 0.0
    assert flat.rise_s == 0.0


@pytest.mark.parametrize(
    ("t", "y", "says"),
    [
        ([0.0, 1.0], [0.0], "shapes"),
        ([0.0, 0.0], [0.0, 1.0], "does not grow"),
        ([0.0, 1.0], [0.0, float("nan")], "not finite"),
        ([0.0, 1.0], [2.0, 2.0], "must have a height"),
    ],
)
def test_bad_records_are_refused(t: list, y: list, says: str) -> None:
    with pytest.raises(InputError, match=says):
        step_response(t, y)
