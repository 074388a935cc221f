"""`quadsim lap`: what it says of a course that cannot be flown, and one small lap as JSON."""

import json
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from quadsim.config.course_schema import load_course
from quadsim.planning.limits import Limits
from quadsim.planning.line import Line
from quadsim.planning.plan import Plan
from quadsim.planning.spline import minimum_control

GATE = '[[gate]]\nname = "{}"\nforward_m = {}\nright_m = {}\nheight_m = 2\nheading_deg = 0\nwidth_m = {}\ntall_m = 2.4\n'
HEAD = """
name = "Two gates"
closed = false
clearance_m = 0.1
[field]
forward_m = [-5, 60]
right_m = [-15, 15]
ceiling_m = 12
[start]
forward_m = 0
right_m = 0
heading_deg = 0
"""


@pytest.fixture
def course(tmp_path):
    def written(width):
        path = tmp_path / "course.toml"
        path.write_text(HEAD + GATE.format("a", 8, 0, 2.4) + GATE.format("b", 18, 2, width))
        return str(path)

    return written


def test_a_gate_too_narrow_is_named(quadsim, course):
    status, _, error = quadsim("lap", "siskin", course(0.5))
    assert status == 2
    assert "gate b: is 0.50 m wide inside; must be at least" in error


@pytest.mark.parametrize("form", ["--json", "text"])
def test_interrupted_it_prints_the_plan_so_far(quadsim, course, monkeypatch, form):
    laid = load_course(course(2.4))
    points = np.array([[0.0, 0.0, -1.0], *(gate.centre for gate in laid.gates), [24.0, 2.0, -2.0]])
    line = Line(minimum_control(points, np.array([1.0, 1.0, 1.5]), 3), (1, 2), laid.gates)
    limits = Limits(9.81, 35.0, 0.5, 3.0, 12.0, 1.4, 0.1, 0.01, 0.2)
    shares = {"thrust": 0.6, "none": 0.4}

    def stopped(*_, watch, **__):
        watch.plan = Plan(laid, limits, line, line, line, {}, shares)
        watch.tried[1.1] = [SimpleNamespace(whole=True), SimpleNamespace(whole=False)]
        raise KeyboardInterrupt

    monkeypatch.setattr("quadsim.contest.lap.predict_lap", stopped)
    status, out, error = quadsim("lap", "siskin", course(2.4), *([form] if form == "--json" else []))
    assert status == 130 and "Traceback" not in error
    if form == "--json":
        found = json.loads(out)
        assert found["stopped"] is True and found["lap_time_s"] == pytest.approx(2.0)
        assert [one["time_s"] for one in found["gates"]] == pytest.approx([1.0, 2.0])
    else:
        assert "planned 2.00 s a lap" in out and "1 of 2 flights passed all gates" in out


def test_interrupted_before_there_is_a_plan(quadsim, course, monkeypatch):
    def stopped(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr("quadsim.contest.lap.predict_lap", stopped)
    assert quadsim("lap", "siskin", course(2.4))[0] == 130


@pytest.mark.jit
def test_a_small_lap_as_json_and_drawn(quadsim, course, tmp_path, lacking):
    picture = str(tmp_path / "lap.png")
    small = ("--flights", "2", "--wind-m-s", "0.5", "--out", picture)
    status, out, _ = quadsim("lap", "siskin", course(2.4), *small, "--json")
    found = json.loads(out)
    assert lacking("lap", found) == []
    assert found["figure"] == picture and Path(picture).stat().st_size > 20_000
    assert found["interval_s"][0] <= found["interval_s"][1] or not found["holds"]
    assert status == (0 if found["holds"] else 1)
    assert 0.0 < found["above_point_mass"] < 0.15
    assert found["point_mass_s"] < found["planned_s"] < found["pilot_lap_time_s"]
    assert [one["name"] for one in found["gates"]] == ["a", "b"]
    assert found["place_from_the_field"] is True
    if found["holds"]:
        assert found["flown_lap_time_s"] == pytest.approx(found["planned_s"] * found["time_factor"], rel=0.1)
