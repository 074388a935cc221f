"""`quadsim lift`, `dash` and `hover` as a user meets them."""

import json
from itertools import count
from pathlib import Path

import pytest

from quadsim.contest.dash import WORDS
from quadsim.contest.dash_flown import FlownDash, FlownRun


def test_lift_has_the_prescribed_keys(quadsim, lacking):
    answer = quadsim("lift", "bonxie", "--json", "--time-s", 30, "--plot", "--out", "lift.svg")
    assert answer.status == 0, answer.err
    found = json.loads(answer.out)
    assert lacking("lift", found) == []
    assert found["limits"][0] == {"name": found["limited_by"], "payload_g": found["max_payload_g"]}
    assert set(found["sensitivities"][0]) == {"input", "change", "effect_g"}
    assert set(found["attempts"][0]) == {"payload_g", "success_pct"}
    low, high = found["interval_g"]
    assert low < found["max_payload_g"] < high and found["samples"] == 500
    assert found["max_payload_g"] < found["failure_payload_g"] and found["time_to_failure_s"] < 30.0
    with open(found["figure"], encoding="utf-8") as drawn:
        assert "what it lifts" in drawn.read()


def test_dash_has_the_prescribed_keys(quadsim, lacking):
    found = json.loads(quadsim("dash", "siskin", "--json", "--plot", "--out", "dash.svg").out)
    assert lacking("dash", found) == []
    assert set(found["sensitivities"][0]) == {"input", "change", "effect_m_s"}
    reached = [one["speed_m_s"] for one in found["chances"]]
    assert reached == sorted(reached) and found["at_least_95pct_m_s"] == pytest.approx(reached[0], rel=1e-12)
    drawn = Path(found["figure"]).read_text(encoding="utf-8")
    assert "how fast it flies" in drawn and "What the interval comes from" in drawn


def test_hover_has_the_prescribed_keys(quadsim, lacking):
    found = json.loads(
        quadsim("hover", "bonxie", "--payload-g", 300, "--json", "--plot", "--out", "h.svg").out
    )
    assert lacking("hover", found) == []
    assert [one["success_pct"] for one in found["chances"]] == [95.0, 80.0, 50.0, 20.0]
    drawn = Path(found["figure"]).read_text(encoding="utf-8")
    for words in ("how long it hovers with 300 g", "Loaded voltage of a cell", "cut-off"):
        assert words in drawn


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (("lift", "siskin", "--time-s", 3000), "does not hold itself for 3000 s"),
        (("hover", "siskin", "--payload-g", 9000), "cannot hover"),
        (("dash", "siskin", "--mean-of", "medians"), "speeds"),
        (("lift", "siskin", "--samples", 20), "500"),
    ],
)
def test_bad_input_is_explained(quadsim, asked, words):
    answer = quadsim(*asked)
    assert answer.status == 2 and words in answer.err


@pytest.mark.jit
def test_a_dash_is_flown(quadsim):
    answer = quadsim("dash", "siskin", "--flown", "--json")
    assert answer.status == 0, answer.err
    both, within, beyond = json.loads(answer.out)["flown"]
    assert both["agrees"] and within["kept"] and not beyond["kept"]
    assert both["scored_m_s"] == pytest.approx(both["predicted_m_s"], rel=0.03)
    assert len(both["runs"]) == 2 and both["runs"][0]["baro_error_m"] < 0.0
    assert both["gains_raised"]["guide.tilt_max"] > 0.7  # more than the guide's own


@pytest.mark.jit
def test_a_hover_is_flown(quadsim):
    answer = quadsim("hover", "siskin", "--used-pct", 30, "--payload-g", 300, "--flown")
    assert answer.status == 0, answer.err
    for words in ("with 300 g", "30 % of the capacity or 3.5 V", "momentum theory", "measure first"):
        assert words in answer.out
    for words in ("flown: ", "ended by reserve", "as predicted", "W over the first minute"):
        assert words in answer.out


def test_stopped_the_prediction_stands_and_what_was_flown(quadsim, monkeypatch):
    run = FlownRun(0.0, 29.0, 29.0, 40.0, 70.0, 0.0, 1.0, -1.0, 0.5, dict.fromkeys(WORDS, 0.1))
    calls = count()

    def flown(*_, **__):
        if next(calls) == 1:
            raise KeyboardInterrupt
        return FlownDash(29.0, [run], "", None, None, 0.03, {}, "")

    monkeypatch.setattr("quadsim.contest.dash_flight.fly_speed", flown)
    monkeypatch.setattr("quadsim.cli.kernels.prepare_kernels", lambda: None)
    windy = ("--wind-m-s", 3, "--mean-of", "times")
    answer = quadsim("dash", "siskin", *windy, "--flown", "--plot", "--out", "stopped.svg")
    assert answer.status == 130
    assert answer.err.endswith("quadsim: stopped; 1 of 3 flights were flown\n")
    for words in ("limited by", "reached at least", "mean of times", "run-up", "runs from a full battery"):
        assert words in answer.out
    for words in (
        "m/s level",
        "+1 g mass of the frame",
        "flown at 29.0 m/s: held level",
        "drawn in",
        "clearance",
    ):
        assert words in answer.out
    assert "with the wind" in Path("stopped.svg").read_text(encoding="utf-8")
