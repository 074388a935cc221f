"""`quadsim margins` as a user meets it."""

from __future__ import annotations

import json

import pytest

from quadsim.analysis.craft_loops import loop_bench
from quadsim.analysis.margin_survey import as_condition, margins_at
from quadsim.cli import main
from quadsim.cli.margins_text import print_margins

pytestmark = pytest.mark.jit


def test_json_has_the_prescribed_keys(capsys, lacking):
    assert main(["margins", "siskin", "--here", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert lacking("margins", found) == [] and "height" in found["loops"]
    assert found["stable"] and found["condition"].startswith("hover")


@pytest.mark.parametrize("flown", [[], ["--flown"]], ids=["conditions", "flights"])
def test_stopped_it_shows_what_is_done(capsys, monkeypatch, flown):
    def stops(*_, **__):
        raise KeyboardInterrupt
        yield

    monkeypatch.setattr("quadsim.analysis.margin_survey.survey", stops)
    monkeypatch.setattr("quadsim.analysis.flown_beside_linear.fly_beside", stops)
    here = ["--here"] if flown else []
    assert main(["margins", "siskin", *here, *flown, "--json"]) == 130
    printed = capsys.readouterr()
    found = json.loads(printed.out)
    assert found["stopped"] and found["loops"]["roll"]["gain_margin_dB"] > 6.0
    assert "stopped; what is shown was done by then" in printed.err


def test_what_if(capsys):
    asked = ["--set", "rate.roll.p=40", "--payload-g", "300", "--cell-V", "3.7"]
    assert main(["margins", "siskin", "--here", *asked]) == 0
    text = capsys.readouterr().out
    assert "rate.roll.p=40" in text and "300 g payload" in text and "3.70 V" in text
    assert "clearance" in text and "MIL-F-9490D" in text


def test_unstable_gains_are_a_failure(capsys):
    assert main(["margins", "siskin", "--here", "--throttle-pct", "10", "--set", "rate.yaw.p=60"]) == 1
    assert "UNSTABLE" in capsys.readouterr().out


@pytest.mark.parametrize(("estimate", "said"), [("kalman", True), ("complementary", False)])
def test_place_loops_that_the_model_has_only_roughly_are_said_to_be_rough(estimate, said, capsys):
    bench = loop_bench("bonxie", blocks={"estimate": estimate})
    print_margins(bench, margins_at(bench, as_condition(bench, 0.0, 0.0, None, 0.0, None)), [], [], False)
    assert ("rough with the Kalman filter" in capsys.readouterr().out) is said


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (["--set", "rate.rol_p=9"], "nearest: roll_p"),
        (["--cell-V", "9"], "at rest"),
        (["--airspeed-m-s", "90"], "too fast"),
        (["--payload-g", "9000"], "cannot hover"),
    ],
)
def test_bad_input_is_explained(asked, words, capsys):
    assert main(["margins", "siskin", "--here", *asked]) == 2
    assert words in capsys.readouterr().err


def test_a_map_of_two_gains_says_how_far_each_may_go(capsys, tmp_path):
    picture = tmp_path / "map.png"
    asked = [
        "--map",
        "rate.roll_p,rate.roll_d",
        "--here",
        "--throttle-pct",
        "95",
        "--json",
        "--out",
        str(picture),
    ]
    assert main(["margins", "siskin", *asked]) == 0
    document = json.loads(capsys.readouterr().out)
    assert picture.stat().st_size > 10_000
    down = next(
        e for e in document["edges"] if (e["gain"], e["way"], e["kind"]) == ("rate.roll_p", "down", "stable")
    )
    assert down["value"] < document["gains"][0]["present"] and down["ratio_dB"] < 0.0
    assert document["nearest_edge"]["distance_dB"] > 0.0
    assert len(document["grid"]["stable"]) == len(document["gains"][0]["values"])
