"""Margins on a grid, and the count of growing modes, against closed forms."""

import numpy as np
import pytest

from quadsim.analysis.grid_margins import grid_margins, unstable_modes

W = np.geomspace(0.01, 1000.0, 400)


def test_gain_margin_of_three_equal_lags():
    """L = k/(s + 1)^3 reaches -180 deg at w = sqrt(3), with |L| = k/8: margin 8/k (closed form)."""
    gains = np.array([1.0, 2.0, 4.0])
    found = grid_margins(W, gains[:, None] / (1j * W + 1.0) ** 3)
    assert found.gain_up_dB == pytest.approx(20.0 * np.log10(8.0 / gains), abs=0.02)
    assert np.all(found.gain_down_dB == 99.0)


def test_phase_margin_and_crossover_of_an_integrator_with_a_lag():
    """L = 1/(s (s + 1)): |L| = 1 at w^2 = (sqrt(5) - 1)/2, phase margin 90 deg - atan w (closed form)."""
    found = grid_margins(W, (1.0 / (1j * W * (1j * W + 1.0)))[None])
    w = np.sqrt((np.sqrt(5.0) - 1.0) / 2.0)
    assert found.crossover_Hz[0] == pytest.approx(w / (2.0 * np.pi), rel=1e-3)
    assert found.phase_deg[0] == pytest.approx(90.0 - np.degrees(np.arctan(w)), abs=0.05)


def test_growing_modes_of_three_lags_are_counted():
    """1 + k/(s + 1)^3 has two roots to the right exactly for k > 8 (Routh)."""
    gains = np.array([0.5, 7.0, 7.9, 8.1, 9.0, 50.0])
    determinant = 1.0 + gains[:, None] / (1j * W + 1.0) ** 3
    assert unstable_modes(determinant, determinant[0], 0).tolist() == [0, 0, 0, 2, 2, 2]
    assert unstable_modes(determinant, determinant[5], 2).tolist() == [0, 0, 0, 2, 2, 2]
