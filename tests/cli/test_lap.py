"""`quadsim lap`: what it says of a course that cannot be flown, and one small lap as JSON."""

import json

import pytest

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


@pytest.mark.jit
def test_a_small_lap_as_json(quadsim, course):
    status, out, _ = quadsim("lap", "siskin", course(2.4), "--flights", "2", "--wind-m-s", "0.5", "--json")
    found = json.loads(out)
    assert status == (0 if found["holds"] else 1)
    assert 0.0 < found["above_point_mass"] < 0.15
    assert found["point_mass_s"] < found["planned_s"] < found["pilot_lap_time_s"]
    assert [one["gate"] for one in found["passages"]] == ["a", "b"]
    assert found["place_from_the_field"] is True
    if found["holds"]:
        assert found["flown_best_lap_s"] == pytest.approx(found["planned_s"] * found["time_factor"], rel=0.1)
