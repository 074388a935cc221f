"""The sheet of a measurement: a panel for each curve, rows left out crossed, what differs from the craft file said."""

from pathlib import Path

import numpy as np
import pytest

from quadsim.config import load_craft
from quadsim.measure.kinds import measure
from quadsim.measure.result import Setup
from quadsim.report import palette
from quadsim.report.measure_sheet import draw_measurement, measurement_figure

BENCH = Path(__file__).parents[2] / "scenarios" / "bench"


@pytest.fixture(scope="module")
def swung():
    return measure("swing", BENCH / "swing.csv", Setup(craft=load_craft("siskin")))


def words(figure):
    return " ".join(text.get_text() for text in figure.texts)


def test_panels_and_numbers(swung):
    figure = measurement_figure(swung)
    assert len(figure.axes) == 2 * 4  # three axes and the cradle, residuals below each
    said = words(figure)
    assert "15 of 16 rows used" in said
    assert "3.232 ± 0.032 g m2" in said
    assert "craft file 2.927" in said


def test_rows_left_out_are_crossed(tmp_path):
    result = measure("thrust", BENCH / "thrust.csv", Setup())
    figure = measurement_figure(result)
    crosses = [line for line in figure.axes[0].lines if line.get_color() == palette.ALARM]
    assert [len(line.get_xdata()) for line in crosses] == [1]
    assert crosses[0].get_ydata()[0] == pytest.approx(388.3, abs=0.2)
    low, high = figure.axes[1].get_ylim()  # residuals of the rows used fill their strip
    assert np.isclose(-low, high) and high < 5.0


def test_a_measurement_without_a_curve_is_its_numbers(tmp_path):
    result = measure("scales", BENCH / "scales.csv", Setup())
    assert draw_measurement(result, tmp_path / "a.svg").stat().st_size > 2000
    assert not measurement_figure(result).axes
