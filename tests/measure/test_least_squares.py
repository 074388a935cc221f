"""Outliers marked, and a refusal where rows cannot tell."""

import numpy as np
import pytest

from quadsim.measure.least_squares import UndeterminedError, apart, curve, linear, without_outliers


def test_outliers_are_marked_and_left_out():
    rng = np.random.default_rng(1)
    x = np.linspace(1.0, 5.0, 20)
    y = 2.0 + 3.0 * x + rng.normal(0.0, 0.01, x.size)
    y[[4, 11]] += (0.2, -0.3)
    fit = without_outliers(np.column_stack([np.ones(x.size), x]), y)
    assert np.flatnonzero(~fit.kept).tolist() == [4, 11]
    assert abs(fit.values[1] - 3.0) < 4.0 * fit.sigmas[1]
    assert fit.residuals[11] == pytest.approx(-0.3, abs=0.05)


def test_sound_rows_seldom_go():
    rng = np.random.default_rng(2)
    x = np.column_stack([np.ones(12), np.arange(12.0)])
    lost = sum(int(np.any(~without_outliers(x, rng.normal(0.0, 1.0, 12)).kept)) for _ in range(200))
    assert lost <= 8  # 2 expected at 1 %


def test_least_spares_small_departures():
    y = np.full(9, 2.0) + 1e-9 * np.arange(9)
    y[3] += 1e-3
    assert without_outliers(np.ones((9, 1)), y, least=0.01).kept.all()


@pytest.mark.parametrize(
    ("design", "said"),
    [
        ([[1.0, 2.0], [2.0, 4.0], [3.0, 6.0]], "act alike"),
        ([[1.0, 2.0]], "1 rows for 2"),
        ([[1.0, 0.0], [2.0, 0.0]], "zeros"),
    ],
)
def test_what_cannot_be_told_is_refused(design, said):
    with pytest.raises(UndeterminedError, match=said):
        linear(np.array(design), np.ones(len(design)))
    with pytest.raises(UndeterminedError):
        curve(lambda v: np.full(5, v[0] + v[1]), np.ones(5), (0.3, 0.3), (1.0, 1.0))


def test_neighbours_that_hang_together_count_less():
    rng = np.random.default_rng(3)
    white = rng.normal(size=4000)
    red = np.zeros(4000)
    for k in range(1, 4000):
        red[k] = 0.6 * red[k - 1] + white[k]
    assert apart(white) == pytest.approx(1.0, abs=0.05)
    assert apart(red) == pytest.approx(2.0, abs=0.1)  # sqrt(1.6/0.4)
