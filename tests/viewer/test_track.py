"""What the viewer reads out of a run, against the closed form it was invented from (see conftest)."""

import copy
import math

import numpy as np
import pytest

from quadsim.viewer.track import Track


def test_values_between_two_rows(run):
    moment = Track(run).at(12.0034)
    angle = 0.7 * 12.0034  # circle of 6 m at 0.7 rad/s
    assert moment.position[:2] == pytest.approx([6 * math.cos(angle), 6 * math.sin(angle)], abs=1e-4)
    assert moment.speed_m_s == pytest.approx(4.2, abs=1e-3)
    assert moment.heading_deg == pytest.approx(math.degrees(angle + math.pi / 2) % 360.0, abs=0.01)
    assert moment.roll_deg == pytest.approx(math.degrees(0.3 * math.sin(0.9 * 12.0034) + 0.25), abs=0.01)
    roll, pitch = math.radians(moment.roll_deg), math.radians(moment.pitch_deg)
    assert math.cos(math.radians(moment.tilt_deg)) == pytest.approx(math.cos(roll) * math.cos(pitch))


def test_charge_used_is_the_integral_of_the_current(run):
    # I = 14 + 4 sin(0.8 t) + 6 exp(-((t - 9)/1.5)^2); integral in closed form, in mAh.
    spent = 14 * 30 + 4 / 0.8 * (1 - math.cos(24.0)) + 6 * 1.5 * math.sqrt(math.pi)
    assert Track(run).at(30.0).used_mAh == pytest.approx(spent / 3.6, rel=1e-3)


def test_growing_gives_the_same_as_all_at_once(run):
    whole, growing = Track(run), None
    for rows in (1, 2, 700, 701, len(run)):
        part = copy.copy(run)
        part.data = {name: values[:rows] for name, values in run.data.items()}
        if growing is None:
            growing = Track(part)
        growing.refresh(part)
    for name in ("position", "roll", "used_mAh", "thrust", "height_wanted"):
        np.testing.assert_allclose(growing[name], whole[name], rtol=1e-12, atol=1e-12)


def test_no_height_is_wanted_outside_setpoints(run):
    run.data["signals/mode"][:] = 0.0
    assert math.isnan(Track(run).at(5.0).height_wanted_m)


@pytest.mark.parametrize("bad", [np.nan, np.inf, -1e300])
def test_a_diverged_end_can_be_drawn(run, bad):
    for name in ("position_m", "attitude", "velocity_m_s", "rates_rad_s", "thrust_N"):
        run.data[name][-3:] = bad
    moment = Track(run).at(30.0)
    assert np.all(np.isfinite(moment.position)) and np.all(np.isfinite(moment.rotation))


def test_a_rotor_is_saturated_at_full_duty_or_full_command(run):
    run.data["duty"][:] = [0.979, 0.981, 0.0, 0.5]
    run.data["signals/motor"][:] = [0.979, 0.5, 1.0, 0.5]
    assert Track(run).at(3.0).saturated.tolist() == [False, True, True, False]
