"""A run as CSV: names, units and values."""

import numpy as np
import pytest

from quadsim.errors import FlightError, InputError
from quadsim.report.csv_file import all_columns, choose, csv_lines, write_csv


def test_every_number_of_a_run_has_one_column(make_run):
    run = make_run()
    names = [column.name for column in all_columns(run)]
    assert len(names) == len(set(names))
    assert len(names) == 1 + sum(run[name].size // len(run) for name in run)  # the 1 is the height
    assert names[:3] == ["t_s", "height_m", "position_north_m"]


@pytest.mark.parametrize(
    ("name", "unit"),
    [
        ("rates_roll_rad_s", "rad/s"), ("attitude_w", "-"), ("duty_front_left", "-"), ("thrust_rear_right_N", "N"),
        ("signals/accel_forward_m_s2", "m/s2"), ("signals/unallocated_thrust_N", "N"),
        ("signals/unallocated_yaw_rad_s2", "rad/s2"), ("signals/attitude_wanted_z", "-"),
        ("signals/angular_acceleration_wanted_pitch_rad_s2", "rad/s2"), ("mass_kg", "kg"),
    ],
)  # fmt: skip
def test_names_carry_axis_place_and_unit(make_run, name, unit):
    assert {column.name: column.unit for column in all_columns(make_run())}[name] == unit


def test_a_vector_is_chosen_whole_or_by_part(make_run):
    run = make_run()
    assert [c.name for c in choose(run, ["position_m"])] == [
        "position_north_m",
        "position_east_m",
        "position_down_m",
    ]
    assert [c.name for c in choose(run, ["position_down_m", "t_s"])] == ["position_down_m", "t_s"]


def test_unknown_names_are_listed_together(make_run):
    with pytest.raises(InputError) as caught:
        choose(make_run(), ["hight_m", "t_s", "qwxyz"])
    assert [problem.given for problem in caught.value.problems] == [
        "this run has no column 'hight_m'",
        "this run has no column 'qwxyz'",
    ]
    assert "Nearest: height_m" in str(caught.value)


def test_rows_keep_twelve_digits_and_leave_nan_empty(make_run):
    def change(data):
        data["charge"][0] = 1.0 / 3.0
        data["mass_kg"][0] = np.nan

    lines = list(csv_lines(choose(make_run(change), ["charge", "mass_kg", "t_s"])))
    assert lines[:2] == ["charge,mass_kg,t_s\n", "0.333333333333,,0\n"]
    assert len(lines) == 202


def test_a_file_that_cannot_be_written_leaves_nothing_half(make_run, tmp_path):
    with pytest.raises(FlightError, match=r"could not be written"):
        write_csv(choose(make_run(), ["t_s"]), tmp_path / "missing" / "x.csv")
    assert list(tmp_path.iterdir()) == []
