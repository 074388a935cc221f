"""`quadsim sweep`: the tables, the document, the files, what is refused, and Ctrl-C."""

import csv
import json
import shlex
from pathlib import Path

import pytest

from quadsim.sweep import pilot


@pytest.fixture(autouse=True)
def own_folder(monkeypatch, tmp_path):
    """Flights are kept for this test alone; kernels stay where they are."""
    monkeypatch.setattr("quadsim.sweep.kept.cache_root", lambda: tmp_path / "cache")


@pytest.fixture
def breeze(make_flight):
    windy = ("height_m = 2", "height_m = 2\n[wind]\nspeed_m_s = 1")
    return make_flight(windy, ("below = 5", "below = 0.6"), ("duration_s = 0.05", "duration_s = 0.3"))


def test_the_document_and_the_table_say_the_same(quadsim, breeze, tmp_path):
    asked = ("sweep", breeze, "--vary", "wind.speed_m_s=0,12,25", "--vary", "battery.cells=4,5", "--jobs", 1)
    status, out, _ = quadsim(*asked, "--json", "--out", "all.csv")
    seen = json.loads(out)
    assert status == 0
    assert (seen["flights"], seen["left"], seen["pass_interval_pct"]) == (6, 0, None)
    assert [one["values"] for one in seen["cells"]][1] == {"wind.speed_m_s": 0.0, "battery.cells": 5}
    runs = {run["flight"]: run for run in seen["runs"]}
    assert seen["passed"] == sum(run["passed"] for run in runs.values())
    assert 0 < seen["passed"] < 6
    worst = seen["worst"]
    assert worst["metrics"]["max_tilt_deg"] == max(run["metrics"]["max_tilt_deg"] for run in runs.values())
    with Path("all.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["battery.cells"] for row in rows] == ["4", "5"] * 3
    for row in rows:
        run = runs[int(row["flight"])]
        assert float(row["max_tilt_deg"]) == pytest.approx(run["metrics"]["max_tilt_deg"], rel=1e-8)
        assert (row["passed"], row["status"]) == (str(int(run["passed"])), run["status"])
    status, out, err = quadsim(*asked)
    assert "6 flights of 6 known from before" in err
    assert f"{seen['passed']} of 6 passed" in out
    assert f"Worst: flight {worst['flight']}" in out
    assert "not a clearance to fly" in out


def test_the_worst_flies_again_with_the_command_that_is_printed(quadsim, breeze):
    seen = json.loads(
        quadsim("sweep", breeze, "--vary", "wind.speed_m_s=3,25", "--seeds", 2, "--jobs", 1, "--json").out
    )
    worst = seen["worst"]
    again = shlex.split(seen["again"][str(worst["flight"])])
    flown = json.loads(quadsim(*again[1:], "--no-save", "--json").out)
    assert flown["metrics"]["max_tilt_deg"] == worst["metrics"]["max_tilt_deg"]
    assert (flown["seed"], flown["passed"]) == (worst["seed"], False)


def test_a_scatter_names_what_matters_and_draws_it(quadsim, breeze, tmp_path):
    asked = ("sweep", breeze, "--scatter", 24, "--vary", "wind.speed_m_s=2..30", "--jobs", 1)
    status, out, _ = quadsim(*asked, "--metrics", "max_wind_m_s", "--picture", "s.png")
    assert status == 0
    (row,) = [line.split() for line in out.splitlines() if line.split()[:1] == ["wind.speed_m_s"]]
    assert (row[1], row[5:7]) == ("+1.00", ["+8.1", "m/s"])  # what the air does is what was drawn
    assert "95 % interval" in out
    assert "drawn: wind.speed_m_s 16.00 ± 8.1" in out
    assert Path("s.png").read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize(
    "vary", [["wind.speed_m_s=0,12,25"], ["wind.speed_m_s=0,12", "battery.cells=4,5"], []]
)
def test_a_grid_is_drawn(quadsim, breeze, vary):
    options = [part for one in vary for part in ("--vary", one)]
    assert (
        quadsim(
            "sweep", breeze, *options, "--law", "own,lqr", "--seeds", 2, "--jobs", 1, "--picture", "g.svg"
        ).status
        == 0
    )
    drawn = Path("g.svg").read_text(encoding="utf-8")
    assert "Greatest tilt from level" in drawn and "clearance to fly" in drawn
    assert all(one.split("=")[0] in drawn for one in vary)  # the keys as they are written
    assert ("wind: speed, m/s" in drawn) == bool(vary)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ([], "nothing is varied"),
        (["--vary", "wind.mean_m_s=1,2"], "Nearest: wind.speed_m_s"),
        (["--vary", "wind.speed_m_s=1,50"], "is 50; must be a number, 0 to 40 m/s"),
        (["--vary", "wind.speed_m_s=1~2"], "needs --scatter N"),
        (["--vary", "wind.speed_m_s=1,2", "--vary", "wind.speed_m_s=3"], "varied twice"),
        (["--seeds", "3", "--metrics", "max_tilt"], "Nearest: max_tilt_deg"),
        (["--seeds", "3", "--law", "magic"], "must be one of cascaded"),
        (["--seeds", "3", "--craft", "sparrow"], "there is no craft 'sparrow'"),
        (["--scatter", "3", "--craft", "siskin,bonxie"], "one craft at a time"),
        (["--scatter", "1"], "at least 2 draws"),
        (["--scatter", "3", "--seeds", "2"], "Leave --seeds out"),
        (["--vary", "duration_s=1:7000:1000", "--seeds", "101"], "at most 100000"),
        (["--seeds", "3", "--case", "4"], "must be 1 to 3"),
        (["--vary", "gains.rate.roll_p=9,12", "--law", "lqr"], "another law does not read the craft's gains"),
        (["--vary", "gains.rate.wrong=1,2"], "none of 2 combinations can be flown"),
        (["--vary", "propeller.diameter_in=9,10"], "the discs cut each other"),
        (["--seeds", "3", "--picture", "a.bmp"], ".png, .pdf, .svg"),
    ],
)
def test_bad_input_is_said_before_anything_flies(quadsim, breeze, options, words):
    status, out, err = quadsim("sweep", breeze, *options, "--jobs", 1)
    assert (status, out) == (2, "")
    assert words in " ".join(err.split())
    assert "Traceback" not in err


def test_where_no_file_can_be_written_the_answer_is_printed_first(quadsim, breeze):
    Path("quadsim-sweeps").write_text("in the way", encoding="utf-8")
    status, out, err = quadsim("sweep", breeze, "--vary", "wind.speed_m_s=3,25", "--jobs", 1)
    assert "of 2 passed" in out and "not a clearance to fly" in out
    assert status != 0 and "quadsim-sweeps" in err and "Traceback" not in err


def test_stopped_it_shows_what_is_there_and_goes_on(quadsim, breeze, monkeypatch):
    real, flown = pilot.fly_through, []

    def stops_at_the_third(session):
        if len(flown) == 2:
            raise KeyboardInterrupt
        flown.append(session.seed)
        return real(session)

    monkeypatch.setattr(pilot, "fly_through", stops_at_the_third)
    status, out, err = quadsim("sweep", breeze, "--seeds", 4, "--jobs", 1, "--json")
    assert (status, json.loads(out)["left"]) == (130, 2)
    assert "stopped; 2 flights left. The same command goes on from here" in err
    monkeypatch.setattr(pilot, "fly_through", real)
    status, out, err = quadsim("sweep", breeze, "--seeds", 4, "--jobs", 1, "--json")
    assert (status, json.loads(out)["left"]) == (0, 0)
    assert "2 flights of 4 known from before" in err
