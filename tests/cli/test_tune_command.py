"""`quadsim tune` as a user meets it."""

from __future__ import annotations

import json

import pytest

from quadsim.cli import main

pytestmark = pytest.mark.jit


def test_tune_finds_confirms_and_writes(capsys, tmp_path, lacking):
    place = tmp_path / "gains.toml"
    assert main(["tune", "siskin", "--flights", "12", "--json", "--out", str(place)]) == 0
    found = json.loads(capsys.readouterr().out)
    assert lacking("tune", found) == []
    robust = found["robust"]
    assert (robust["runs"], robust["failures"]) == (12, 0) and robust["worst_phase_margin_deg"] > 40.0
    assert found["gains"]["rate.roll_p"] > 22.0  # not timid: the craft came with 22
    pushed = found["rejection"]["roll"]
    assert (
        pushed["peak_deg"] < 0.5 * pushed["peak_before_deg"]
    )  # flown: a lasting torque turns it by less than half
    assert found["step"]["settle_s"] < 0.6
    assert found["worst_margins"]["roll"]["phase_deg"] > 44.5 < found["worst_margins"]["pitch"]["phase_deg"]
    text = place.read_text()
    assert "not a clearance to fly" in text
    gains = tmp_path / "craft.toml"
    from quadsim.config import load_craft

    source = load_craft("siskin").source_text
    assert "[gains" not in source  # siskin flies with the blocks' defaults
    gains.write_text(source + "\n" + text)
    assert main(["fly", "gust", "--craft", str(gains), "--out", str(tmp_path / "g.h5"), "--json"]) == 0
    flown = json.loads(capsys.readouterr().out)
    assert flown["passed"]


def test_limits_that_nothing_keeps_to_are_said(capsys):
    assert main(["tune", "siskin", "--flights", "0", "--least-bandwidth-Hz", "45"]) == 1
    out = capsys.readouterr().out
    assert "No gains keep to the limits" in out and "corners:" in out


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (["--margin-dB", "0"], "margin-dB"),
        (["--noise-pct", "-1"], "noise-pct"),
        (["--flights", "-3"], "flights"),
    ],
)
def test_bad_input_is_explained(asked, words, capsys):
    assert main(["tune", "siskin", *asked]) == 2
    assert words in capsys.readouterr().err


def test_other_laws_are_refused(capsys, tmp_path):
    from quadsim.config import load_craft

    craft = tmp_path / "other.toml"
    craft.write_text(load_craft("siskin").source_text + '\n[controllers]\nrate = "lqr"\n')
    status = main(["tune", str(craft), "--flights", "0"])
    assert status == 2
    assert "tune knows the gains of pid" in capsys.readouterr().err
