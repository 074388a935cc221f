"""What the sheet draws: values in the units of the screen, and only where they apply."""

import math

import numpy as np
import pytest

from quadsim.report.series import drawable, panels
from quadsim.units import DEG


def by_title(run):
    return {panel.title.split(",")[0]: panel for panel in panels(run)}


def quaternion(roll, pitch, yaw):
    """J. Diebel, Representing Attitude (Stanford, 2006), eq. 297: yaw, then pitch, then roll."""
    cr, sr, cp, sp, cy, sy = (f(a * DEG / 2) for a in (roll, pitch, yaw) for f in (math.cos, math.sin))
    return [
        cr * cp * cy + sr * sp * sy,
        sr * cp * cy - cr * sp * sy,
        cr * sp * cy + sr * cp * sy,
        cr * cp * sy - sr * sp * cy,
    ]


def flown(panel):
    return next(line.values for line in panel.lines if line.label in ("flown", ""))


def wanted(panel):
    return next(line.values for line in panel.lines if line.label == "wanted")


def test_height_is_up_and_the_target_shows_only_where_it_is_followed(make_run):
    def change(data):
        data["signals/mode"][100:] = 2.0

    panel = by_title(make_run(change))["Height"]
    assert flown(panel)[[0, -1]] == pytest.approx([3.0, 5.0])
    assert wanted(panel)[:100] == pytest.approx(4.0)
    assert np.isnan(wanted(panel)[100:]).all()


def test_angles_of_an_attitude(make_run):
    def change(data):
        data["attitude"][:] = quaternion(30.0, -20.0, 0.0)
        data["attitude"][100:] = quaternion(30.0, -20.0, 75.0)
        data["signals/attitude_wanted"][:] = quaternion(25.0, -15.0, 0.0)

    shown = by_title(make_run(change))
    assert flown(shown["Roll"])[[0, -1]] == pytest.approx([30.0, 30.0])
    assert flown(shown["Pitch"])[[0, -1]] == pytest.approx([-20.0, -20.0])
    assert flown(shown["Heading"])[[0, -1]] == pytest.approx([0.0, 75.0])
    assert wanted(shown["Roll"]) == pytest.approx(25.0)
    assert wanted(shown["Pitch"]) == pytest.approx(-15.0)


def test_a_heading_that_stands_still_takes_no_room(make_run):
    assert "Heading" not in by_title(make_run())


def test_a_flight_by_rates_shows_rates(make_run):
    def change(data):
        data["signals/attitude_weight"][:] = 0.0
        data["rates_rad_s"][:] = np.array([1.0, 2.0, 3.0]) * math.pi
        data["signals/rates_wanted_rad_s"][:] = math.pi / 2

    shown = by_title(make_run(change))
    assert "Roll" not in shown
    for title, rate in (("Roll rate", 180.0), ("Pitch rate", 360.0), ("Yaw rate", 540.0)):
        assert flown(shown[title]) == pytest.approx(rate)
        assert wanted(shown[title]) == pytest.approx(90.0)


def test_saturation_is_marked_at_its_times(make_run):
    def change(data):
        data["signals/motor"][50:60, 2] = 1.0

    panel = by_title(make_run(change))["Motor command"]
    assert np.flatnonzero(panel.alarm).tolist() == list(range(50, 60))
    assert [line.label for line in panel.lines] == ["front right", "rear right", "rear left", "front left"]
    assert panel.lines[2].values[50] == 100.0


def test_still_air_leaves_the_panel_to_the_speed(make_run):
    def windy(data):
        data["wind_m_s"][:] = [1.0, 0.0, -2.0]

    assert "Wind" not in by_title(make_run())
    assert "Speed over ground" in by_title(make_run())
    lines = by_title(make_run(windy))["Wind"].lines
    assert {line.label: line.values[0] for line in lines} == {"towards north": 1.0, "up": 2.0}


def test_cell_voltage_is_a_share_of_the_pack(make_run):
    assert flown(by_title(make_run())["Loaded voltage of a cell"]) == pytest.approx(16.0 / 4)


def test_an_angle_crosses_half_a_turn_without_a_jump():
    wrapped = (np.linspace(150.0, 250.0, 11) + 180.0) % 360.0 - 180.0
    assert drawable(wrapped) == pytest.approx(np.linspace(150.0, 250.0, 11))


def test_an_angle_that_turns_on_and_on_breaks_at_half_a_turn():
    turning = np.linspace(0.0, 1440.0, 145)
    shown = drawable((turning + 180.0) % 360.0 - 180.0)
    assert np.nanmax(np.abs(shown)) <= 180.0
    assert np.count_nonzero(np.isnan(shown)) == 4
