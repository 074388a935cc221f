"""A run goes to its file and comes back; a failure on the way leaves the old file."""

import h5py
import numpy as np
import pytest

import quadsim
from quadsim.config.flight_loader import parse_flight
from quadsim.errors import FlightError, InputError
from quadsim.simulation import run as run_module
from quadsim.simulation.columns import columns

FLIGHT = 'title = "file"\ncraft = "siskin"\nduration_s = 0.03\nseed = 5\n[start]\nheight_m = 2\n'


@pytest.fixture(scope="module")
def flown():
    return quadsim.fly(parse_flight(FLIGHT + '[[expect]]\nmetric = "max_tilt_deg"\nbelow = 5\n'))


def test_round_trip(flown, tmp_path):
    path = quadsim.save_run(flown, tmp_path / "deep" / "a.h5")
    again = quadsim.load_run(path)
    for name in columns():
        assert np.array_equal(again[name], flown[name]), name
    for part in ("flight", "craft", "status", "status_text", "events", "expectations", "view", "meta"):
        assert getattr(again, part) == getattr(flown, part), part
    assert again.metrics == flown.metrics
    assert again.passed
    assert again["height_m"] == pytest.approx(-flown["position_m"][:, 2])


def test_units_craft_flight_version_and_seed_stand_inside(flown, tmp_path):
    with h5py.File(quadsim.save_run(flown, tmp_path / "a.h5")) as file:
        assert file["position_m"].attrs["unit"] == "m"
        assert file["signals/gyro_rad_s"].attrs["frame"] == "body"
        assert '"seed": 5' in file.attrs["meta"]
        assert quadsim.__version__ in file.attrs["meta"]
        assert "kv_rpm_per_V" in file.attrs["meta"]
        assert "duration_s" in file.attrs["meta"]


def test_a_failure_on_the_way_leaves_the_old_file(flown, tmp_path, monkeypatch):
    path = quadsim.save_run(flown, tmp_path / "a.h5")
    before = path.read_bytes()

    def half(file, run):
        file.attrs["quadsim_run_format"] = 1
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(run_module, "_write", half)
    with pytest.raises(FlightError, match="No space left on device"):
        quadsim.save_run(flown, path)
    assert path.read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == ["a.h5"]


def test_a_folder_that_is_a_file(flown, tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(FlightError, match="could not be written"):
        quadsim.save_run(flown, tmp_path / "file" / "a.h5")


def test_what_is_no_run_file(tmp_path):
    with pytest.raises(InputError, match="there is no run file"):
        quadsim.load_run(tmp_path / "none.h5")
    (tmp_path / "text.h5").write_text("hello")
    with pytest.raises(InputError, match="is not a readable run file"):
        quadsim.load_run(tmp_path / "text.h5")
    with h5py.File(tmp_path / "future.h5", "w") as file:
        file.attrs["quadsim_run_format"] = 99
    with pytest.raises(InputError, match="its format is 99"):
        quadsim.load_run(tmp_path / "future.h5")


def test_an_unknown_column_names_the_known_ones(flown):
    with pytest.raises(InputError, match="position_m"):
        flown["altitude"]
