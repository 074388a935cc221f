"""The gain map's sheet: drawn, and it shows and says what the map found."""

from __future__ import annotations

import pytest

from quadsim.analysis.craft_loops import Condition, loop_bench
from quadsim.analysis.gain_axes import gain_axes
from quadsim.analysis.gain_map import gain_map
from quadsim.errors import InputError
from quadsim.report.gain_map_plot import draw_gain_map, gain_map_figure

pytestmark = pytest.mark.jit


@pytest.fixture(scope="module")
def found():
    bench = loop_bench("siskin")
    return gain_map(bench, gain_axes("rate.yaw_p,rate.yaw_d=0:0.06", bench), [Condition(duty=0.1)])


def words(figure) -> str:
    return "\n".join(text.get_text() for one in [figure, *figure.axes] for text in one.texts)


def test_the_sheet_names_state_edges_and_condition(found):
    text = words(gain_map_figure(found))
    assert "Now: stable, margins thin" in text
    assert "10 % throttle, full" in text
    assert "rate.yaw_p up" in text and "dB)" in text


def test_the_present_gains_are_marked_where_they_are(found):
    ax = gain_map_figure(found).axes[0]
    marks = [line.get_xydata()[0].tolist() for line in ax.lines if line.get_marker() == "o"]
    assert marks == [[axis.present for axis in found.axes]]
    assert ax.get_xscale() == "log" and ax.get_yscale() == "linear"


def test_it_is_drawn_into_a_file_of_a_known_kind_only(found, tmp_path):
    path = draw_gain_map(found, tmp_path / "map.svg")
    assert path.stat().st_size > 10_000
    with pytest.raises(InputError):
        draw_gain_map(found, tmp_path / "map.xyz")
