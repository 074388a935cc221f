"""Trajectory files: what is read, what of them reaches the commands, and what is wrong with bad ones."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from controllers import Mode
from quadsim.config.flight_loader import load_flight
from quadsim.config.trajectory import read_trajectory
from quadsim.errors import InputError
from quadsim.simulation.carried import COMMAND_FIELDS
from quadsim.simulation.schedule import asks_for_place, command_table

HEADER = "t_s,north_m,east_m,height_m\n"
GOOD = "# invented\n" + HEADER + "2,0,0,3\n4,4,0,3\n6,4,4,3\n"
FLIGHT = """
title = "path"
craft = "siskin"
duration_s = {duration}
trajectory = "path.csv"
[start]
height_m = 3
[[at]]
t_s = 1
mode = "{mode}"
heading_deg = 30
[[at]]
t_s = 8
mode = "waypoint"
north_m = 4
"""


def written(folder: Path, text: str, mode: str = "trajectory", duration: float = 10.0) -> Path:
    (folder / "path.csv").write_text(text, encoding="utf-8")
    (folder / "path.toml").write_text(FLIGHT.format(mode=mode, duration=duration), encoding="utf-8")
    return folder / "path.toml"


def refusal(folder: Path, text: str) -> str:
    with pytest.raises(InputError) as caught:
        load_flight(written(folder, text))
    return str(caught.value)


def test_the_path_goes_through_its_rows_and_rests_at_its_ends(tmp_path: Path) -> None:
    written(tmp_path, GOOD)
    path = read_trajectory(tmp_path / "path.csv")
    place, velocity, acceleration = path.at(np.array([0.0, 2.0, 4.0, 6.0, 9.0]))
    assert place[1:4] == pytest.approx(np.array([[0, 0, 3], [4, 0, 3], [4, 4, 3]]), abs=1e-12)
    assert place[[0, 4]] == pytest.approx(place[[1, 3]], abs=1e-12)
    for rest in (0, 1, 3, 4):
        assert np.abs([velocity[rest], acceleration[rest]]).max() < 1e-9
    assert path.heading_at(np.array([3.0])) is None


def test_velocity_and_acceleration_are_the_derivatives(tmp_path: Path) -> None:
    written(tmp_path, GOOD)
    t, h = np.linspace(2.1, 5.9, 39), 1e-4
    path = read_trajectory(tmp_path / "path.csv")
    (after, fast, _), (before, slow, _) = path.at(t + h), path.at(t - h)
    down = np.array([1.0, 1.0, -1.0])
    assert path.at(t)[1] == pytest.approx(down * (after - before) / (2 * h), abs=1e-6)
    assert path.at(t)[2] == pytest.approx((fast - slow) / (2 * h), abs=1e-6)


def test_it_is_flown_only_in_its_mode(tmp_path: Path) -> None:
    flight = load_flight(written(tmp_path, GOOD))
    assert asks_for_place(flight)
    table = command_table(flight, 0.01)
    column = {name: table[:, k] for k, name in enumerate(COMMAND_FIELDS)}
    assert set(column["mode"][:100]) == {float(Mode.SETPOINT)}
    assert not column["target_north"][:100].any()
    assert column["target_north"][[150, 400, 700]] == pytest.approx((0.0, 4.0, 4.0), abs=1e-9)
    assert column["target_east"][[400, 700, 850]] == pytest.approx((0.0, 4.0, 0.0), abs=1e-9)
    assert np.abs(column["velocity_east"][400:600]).max() > 2.0
    assert not column["velocity_east"][800:].any()
    assert column["target_yaw"][[150, 500]] == pytest.approx(math.radians(30.0))


def test_the_heading_of_the_file_goes_the_short_way_round(tmp_path: Path) -> None:
    text = "t_s,north_m,east_m,height_m,heading_deg\n0,0,0,3,350\n2,1,0,3,10\n"
    written(tmp_path, text)
    heading = read_trajectory(tmp_path / "path.csv").heading_at(np.array([0.0, 1.0, 2.0]))
    assert heading is not None
    assert np.degrees(heading) == pytest.approx((350.0, 360.0, 370.0), abs=1e-9)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", ("is empty",)),
        ("t_s,x,y,z\n0,0,0,0\n", ("has the columns t_s, x, y, z", "north_m")),
        (HEADER + "0,0,0,1\n", ("1 rows", "at least 2")),
        (HEADER + "0,0,0,1\n2,1,0,1\n2,2,0,1\n", ("line 4", "t_s is 2 after 2", "must grow")),
        (HEADER + "0,0,0,1\n1,1,0\n", ("line 3", "3 fields", "must have 4")),
        (HEADER + "0,0,0,1\n1,a,0,1\n", ("line 3", "north_m is 'a'", "must be a number")),
        (HEADER + "0,0,0,1\n1,nan,0,1\n", ("line 3", "north_m is nan")),
        (HEADER + "0,0,0,1\n1,1,0,-2\n", ("line 3", "height_m is -2", "must be 0 to 500")),
        (HEADER + "0,0,0,1\n20,1,0,1\n", ("line 3", "20 s after line 2", "at most 15 s")),
        (HEADER + "0,0,0,1\n2,1,0,1\n3,90,0,1\n6,90,0,1\n", ("lines", "m/s", "at most 40 m/s")),
        (HEADER + "0,0,0,1\n1,9,0,1\n9,9,0,1\n", ("lines 2 to 3", "accelerates by", "at most 20 m/s2")),
        (HEADER + "0,0,0,1\n12,1,0,1\n", ("last row is at 12 s", "the flight ends at 10 s")),
    ],
)
def test_a_bad_file_is_refused_in_words(tmp_path: Path, text: str, words: tuple[str, ...]) -> None:
    message = refusal(tmp_path, text)
    for word in words:
        assert word in message


def test_the_mode_needs_the_file_and_the_file_the_mode(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="never flown"):
        load_flight(written(tmp_path, GOOD, mode="waypoint"))
    toml = written(tmp_path, GOOD)
    toml.write_text(
        toml.read_text(encoding="utf-8").replace('trajectory = "path.csv"\n', ""), encoding="utf-8"
    )
    with pytest.raises(InputError, match="needs trajectory"):
        load_flight(toml)
    toml = written(tmp_path, GOOD)
    (tmp_path / "path.csv").unlink()
    with pytest.raises(InputError, match="cannot be read"):
        load_flight(toml)
