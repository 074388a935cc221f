"""`quadsim fly`: what it prints, keeps and returns."""

import json

import pytest

from quadsim.cli.progress import FlightProgress
from quadsim.errors import FlightError
from quadsim.simulation import run as run_module
from quadsim.simulation.run import load_run


def test_json_is_one_document_with_the_prescribed_keys(quadsim, make_flight, tmp_path, lacking):
    status, out, _ = quadsim("fly", make_flight(), "--seed", 7, "--json")
    flown = json.loads(out)
    assert status == 0
    assert lacking("fly", flown) == []
    assert (flown["flight"], flown["craft"], flown["status"], flown["seed"]) == (
        "moment",
        "Siskin",
        "done",
        7,
    )
    assert flown["duration_s"] == pytest.approx(0.05)
    # a step is one physics step: duration times rate, and the tick that ends the flight
    assert flown["steps"] == pytest.approx(0.05 * flown["physics_rate_Hz"], abs=1)
    assert flown["passed"] is True
    assert [set(line) for line in flown["expectations"]] == [{"metric", "value", "bound", "ok"}] * 2
    assert flown["expectations"][1]["value"] == flown["metrics"]["max_tilt_deg"]
    kept = load_run(tmp_path / flown["run_file"])
    assert flown["run_file"] == "quadsim-runs/moment.h5"
    assert kept.meta["seed"] == 7
    assert kept.metrics == flown["metrics"]


def test_the_site_of_a_flight_and_the_options_that_replace_it(quadsim, make_flight):
    path = make_flight(("[start]\n", "[site]\npressure_hPa = 900\ntemperature_C = 10\n[start]\n"))
    own = json.loads(quadsim("fly", path, "--no-save", "--json").out)["site"]
    assert (own["temperature_C"], own["pressure_hPa"], own["pack_temperature_C"]) == (10.0, 900.0, 10.0)
    other = json.loads(quadsim("fly", path, "--elevation-m", 1000, "--no-save", "--json").out)["site"]
    assert other["pressure_hPa"] == pytest.approx(898.76, rel=1e-4)
    assert other["temperature_C"] == 10.0


def test_the_report_names_verdicts_figures_and_events(quadsim, make_flight):
    status, out, err = quadsim("fly", make_flight(), "--out", "here.h5")
    assert status == 0
    assert err == ""
    lines = out.splitlines()
    assert "A moment of hover" in lines
    assert any(line.startswith("PASS  flew the whole 0.05 s; 2 of 2") for line in lines)
    assert any("pass  max_tilt_deg" in line and "below 5" in line for line in lines)
    assert any(line.strip() == "0.01 s  a mark" for line in lines)
    assert any("here.h5" in line and line.startswith("run file") for line in lines)
    assert all(line == line.rstrip() for line in lines)


def test_a_missed_expectation_fails(quadsim, make_flight):
    status, out, _ = quadsim("fly", make_flight(("below = 5", "above = 5")), "--no-save")
    assert status == 1
    assert "FAIL  flew the whole 0.05 s; 1 of 2" in out
    assert "FAIL  max_tilt_deg" in out


def test_no_save_keeps_nothing(quadsim, make_flight, tmp_path):
    status, out, _ = quadsim("fly", make_flight(), "--no-save", "--json")
    assert status == 0
    assert json.loads(out)["run_file"] is None
    assert not (tmp_path / "quadsim-runs").exists()


def test_ctrl_c_keeps_what_was_flown(quadsim, make_flight, monkeypatch, tmp_path):
    def interrupted(self, session):
        raise KeyboardInterrupt

    monkeypatch.setattr(FlightProgress, "__call__", interrupted)
    status, out, _ = quadsim("fly", make_flight(("duration_s = 0.05", "duration_s = 5")), "--json")
    flown = json.loads(out)
    assert status == 130
    assert flown["status"] == "stopped"
    assert "stopped by hand" in flown["status_text"]
    assert 0 < len(load_run(tmp_path / flown["run_file"])) < 500


@pytest.mark.parametrize("spare_too", [False, True])
def test_a_run_that_cannot_be_saved_is_reported_all_the_same(
    quadsim, make_flight, monkeypatch, tmp_path, spare_too
):
    save = run_module.save_run
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "spare"))

    def full(run, path):
        if spare_too or "spare" not in str(path):
            raise FlightError(f"the run could not be written to {path}: No space left on device")
        return save(run, path)

    monkeypatch.setattr(run_module, "save_run", full)
    status, out, err = quadsim("fly", make_flight(), "--json")
    assert status == 1
    assert json.loads(out)["passed"] is True
    assert "No space left" in err
    assert (tmp_path / "spare" / "quadsim-runs" / "moment.h5").exists() is not spare_too


BLOCKS = """
def raises(s, craft, gains, memory):
    if s.t > 0.02:
        raise RuntimeError("no idea")
    s.angular_acceleration_wanted[:] = 0.0


def nans(s, craft, gains, memory):
    s.angular_acceleration_wanted[:] = 0.0 if s.t < 0.0308 else float("nan")
"""


@pytest.mark.parametrize(
    ("function", "said"),
    [
        ("raises", "the rate block failed at 0.021 s: raises line 4: RuntimeError: no idea"),
        ("nans", "the rate block 'nans' returned NaN or infinity at 0.031 s"),
    ],
)
def test_a_block_that_breaks_ends_the_flight_with_a_sentence(quadsim, make_flight, tmp_path, function, said):
    (tmp_path / "mine.py").write_text(BLOCKS, encoding="utf-8")
    status, out, err = quadsim("fly", make_flight(), "--rate", f"mine.py:{function}", "--json")
    flown = json.loads(out)
    assert status == 1
    assert flown["status"] == "block_not_finite"
    assert flown["status_text"] == said
    assert "plain Python function and runs slowly" in err
    assert len(load_run(tmp_path / flown["run_file"])) > 1
