"""The sheet of a measurement: a panel for each curve, rows left out crossed, what differs from the craft file said."""

from pathlib import Path

import numpy as np
import pytest

from quadsim.config import load_craft
from quadsim.measure.kinds import measure
from quadsim.measure.result import Setup
from quadsim.report import palette
from quadsim.report.measure_sheet import RIGHT, draw_measurement, headline, measurement_figure

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
    assert "3.232 ± 0.040 g m2" in said
    assert "craft file 2.927" in said


@pytest.mark.parametrize("kind", ["thrust", "motor", "pack", "swing", "scales", "spin"])
def test_cautions_are_whole_and_on_the_sheet(kind):
    result = measure(kind, BENCH / f"{kind}.csv", Setup(craft=load_craft("siskin")))
    figure = measurement_figure(result)
    assert all(caution in words(figure) for caution in result.cautions)
    assert min(text.get_position()[1] for text in figure.texts) > 0.01
    side = sorted(text.get_position()[1] for text in figure.texts if text.get_position()[0] == RIGHT)
    assert np.diff(side).min() > 0.01  # no line upon another


def test_rows_left_out_are_crossed(tmp_path):
    result = measure("thrust", BENCH / "thrust.csv", Setup())
    figure = measurement_figure(result)
    crosses = [line for line in figure.axes[0].lines if line.get_color() == palette.ALARM]
    assert [len(line.get_xdata()) for line in crosses] == [1]
    assert crosses[0].get_ydata()[0] == pytest.approx(388.3, abs=0.2)
    low, high = figure.axes[1].get_ylim()  # residuals of the rows used fill their strip
    assert np.isclose(-low, high) and high < 5.0


def test_scales_show_feet_and_the_centre_of_mass_from_above(tmp_path):
    result = measure("scales", BENCH / "scales.csv", Setup())
    assert draw_measurement(result, tmp_path / "a.svg").stat().st_size > 2000
    (ax,) = measurement_figure(result).axes
    assert ax.get_aspect() == 1.0
    cross, feet = ax.lines
    assert (np.nanmean(cross.get_xdata()), np.nanmean(cross.get_ydata())) == pytest.approx(
        (-0.61, 3.10), abs=0.01
    )
    assert len(feet.get_xdata()) == 8


@pytest.mark.parametrize(
    ("kind", "title"),
    [
        ("swing", "swing: roll 1.691 g m2, pitch 2.029 g m2, yaw 3.232 g m2"),
        ("thrust", "thrust: 1243 g at 24410 rpm, motor 1747 rpm/V"),
        ("scales", "scales: 603.5 g, centre forward 3.10 mm, right -0.61 mm"),
    ],
)
def test_the_title_says_the_answer(kind, title):
    assert headline(measure(kind, BENCH / f"{kind}.csv", Setup())) == title
