"""`quadsim setout` as a user runs it."""

import json

import pytest

from quadsim.config.find_data import shipped
from quadsim.contest import people as module


def test_the_sheet_in_the_terminal_and_as_files(quadsim, tmp_path):
    names = ["yard.html", "yard.svg"]
    answer = quadsim(
        "setout",
        "hall",
        "--craft",
        "siskin",
        "--speed-m-s",
        12,
        *(part for name in names for part in ("--out", name)),
    )
    assert answer.status == 0, answer.err
    for words in ("Hall, laid out", "Gates in flying order [m]", "left pillar", "diagonals are 30.53 m", "net or wall around",
                  "Where people stand", "12.0 m/s (as given)", "keep more", "written to yard.svg"):  # fmt: skip
        assert words in answer.out
    assert all((tmp_path / name).stat().st_size > 10_000 for name in names)


def test_json(quadsim):
    answer = quadsim(
        "setout", "meadow_slalom", "--craft", "siskin", "--speed-m-s", 18, "--wind-m-s", 3, "--json"
    )
    assert answer.status == 0, answer.err
    said = json.loads(answer.out)
    assert said["base_line_m"] == 60.0
    assert [gate["name"] for gate in said["gates"]] == [str(k) for k in range(1, 11)]
    assert said["gates"][1]["left"] == {
        "name": "2 left", "forward_m": 14.0, "right_m": pytest.approx(3.8),
        "from_origin_m": pytest.approx(14.507, abs=1e-3), "from_end_m": pytest.approx(46.157, abs=1e-3),
    }  # fmt: skip
    people = said["people"]
    assert people["wind_m_s"] == 3.0
    assert people["reaction_m"] == 18.0
    assert people["distance_m"] - people["range_m"] - people["reaction_m"] < 1.0


LIMITS = {"command": 31.0, "tilt": 27.0}
"""Of level flight [m/s]: the limits themselves are tested with `quadsim dash`; they take seconds."""


def people_of(quadsim, *arguments):
    answer = quadsim("setout", "hall", "--wind-m-s", 4, "--json", *arguments)
    assert answer.status == 0, answer.err
    return json.loads(answer.out)


def test_without_a_plan_the_first_limit_of_the_craft_s_level_flight_counts(quadsim, monkeypatch):
    monkeypatch.setattr(module, "speed_limits", lambda crowd, rule, rated: LIMITS)
    people = people_of(quadsim, "--craft", "siskin", "--no-plan")["people"]
    assert people["speed_from"] == "27.0 m/s level, a dive from the ceiling, the wind"
    assert people["speed_m_s"] == pytest.approx(
        (27.0**2 + 2.0 * 9.80665 * 6.0) ** 0.5 + 4.0
    )  # the hall is 6 m high
    assert people["reaction_m"] == people["speed_m_s"]
    assert people["runaway_m"] is None and people["note"] is None


def test_no_craft_named(quadsim, monkeypatch):
    """The one that comes farthest of those that fit, and a word that it may not be yours."""
    monkeypatch.setattr(module, "speed_limits", lambda crowd, rule, rated: LIMITS)
    said = people_of(quadsim)
    assert "No craft was named" in said["people"]["note"]
    named = people_of(quadsim, "--craft", "siskin", "--no-plan")
    assert said["people"]["distance_m"] >= named["people"]["distance_m"]
    assert said["craft"] in said["people"]["note"]


BAD = [
    (("setout", "hal"), ("there is no course 'hal'", "nearest: hall")),
    (("setout", "hall", "--out", "a.doc"), ("ends in .doc", ".pdf, .png, .svg, .html")),
    (("setout", "hall", "--craft", "narrow.toml"), ("there is no craft file",)),
    (("setout", "blocked.toml", "--speed-m-s", 10), ("Hall: 1 problem", "gate C: has no way to it")),
    (("setout", "tight.toml", "--speed-m-s", 10), ("gate A: is 0.40 m wide inside; must be at least",)),
]


@pytest.mark.parametrize(("arguments", "said"), BAD)
def test_bad_input_is_said(quadsim, tmp_path, arguments, said):
    hall = shipped("courses")["hall"].read_text(encoding="utf-8")
    (tmp_path / "tight.toml").write_text(hall.replace("width_m = 1.4", "width_m = 0.4", 1), encoding="utf-8")
    around = [([18, 18.5], [3, 9]), ([21.5, 22], [3, 9]), ([18, 22], [3, 3.5]), ([18, 22], [8.5, 9])]
    walls = [
        f'[[box]]\nname = "wall {k}"\nforward_m = {along}\nright_m = {across}\nheight_m = [0, 6]\n'
        for k, (along, across) in enumerate(around)
    ]
    (tmp_path / "blocked.toml").write_text(hall + "".join(walls), encoding="utf-8")
    answer = quadsim(*arguments)
    assert answer.status == 2
    for words in said:
        assert words in answer.err
