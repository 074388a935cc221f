"""The sheet of a sweep: what stands on it in words, and that a place on a map tells of all flights that fall on it."""

import numpy as np
import pytest
from matplotlib.figure import Figure

from quadsim.config.metric_names import METRIC_NAMES
from quadsim.report.sweep_map import draw_map
from quadsim.report.sweep_sheet import sweep_figure
from quadsim.report.sweep_words import LONGEST, key_words, metric_words

GRID = ["wind.gusts#1.speed_m_s=0,12", "battery.cells=4,5"]


@pytest.mark.parametrize(
    ("name", "unit", "words"),
    [
        ("battery.capacity_mAh", "mAh", "battery: capacity"),
        ("wind.gusts#1.speed_m_s", "m/s", "gusts #1: speed"),
        ("motor.kv_rpm_per_V", "rpm/V", "motor: kv"),
        ("propeller.gyration_pct", "% of the radius", "propeller: gyration"),
        ("battery.cold_capacity_pct_K", "%/K", "battery: cold capacity"),
        ("parts#3.at_mm#2", "mm", "parts #3: at #2"),
        ("propeller.thrust_scale", "", "propeller: thrust scale"),
        ("duration_s", "s", "duration"),
    ],
)
def test_a_key_as_words(name, unit, words):
    assert key_words(name, unit) == words


def test_every_metric_has_a_title_that_fits_and_a_window_is_said():
    assert all(0 < len(metric_words(name)[0]) <= LONGEST for name in METRIC_NAMES)
    assert metric_words("max_tilt_deg 1-end s") == ("Greatest tilt from level, 1-end s", "deg")


@pytest.mark.jit
def test_no_panel_leaves_the_sheet_or_covers_another(swept):
    came = swept(vary=GRID, metrics=["max_tilt_deg", "max_battery_A", "min_cell_V"])
    boxes = [ax.get_position() for ax in sweep_figure(came).axes]
    assert len(boxes) == 3
    for k, one in enumerate(boxes):
        assert 0.0 < one.x0 < one.x1 < 1.0 and 0.0 < one.y0 < one.y1 < 1.0
        assert not any(one.overlaps(other) for other in boxes[k + 1 :])


@pytest.mark.jit
def test_flights_of_several_laws_on_one_place_of_a_map_count_together(swept):
    came = swept(vary=GRID, laws=["own", "lqr"])
    ax = Figure().add_subplot()
    draw_map(ax, came, "max_tilt_deg")
    shown = np.asarray(ax.images[0].get_array())
    here = [case for case in came.flown_cases if case.cell.values == (12.0, 5)]
    assert len(here) == 2
    assert shown[1, 1] == pytest.approx(came.values("max_tilt_deg", here).mean())
