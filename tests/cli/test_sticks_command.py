"""`quadsim sticks` as a user runs it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from quadsim.cli.entry import main

pytestmark = pytest.mark.jit


def test_a_change_is_compared_and_drawn(tmp_path: Path, capsys: pytest.CaptureFixture) -> None:
    place = tmp_path / "sticks.png"
    assert main(["sticks", "siskin", "--set", "exponential_pct=80", "--set", "hover_at_pct=50", "--json",
                 "--out", str(place)]) == 0  # fmt: skip
    seen = json.loads(capsys.readouterr().out)
    before, after = seen["compared"]
    assert after["hover_stick_pct"] == pytest.approx(50.0, abs=0.2)
    assert before["hover_stick_pct"] < 45.0
    assert after["half_deg_s"] < 0.6 * before["half_deg_s"]
    assert after["full_deg_s"] == before["full_deg_s"]
    assert after["trace"]["greatest_asked"] == pytest.approx(after["full_deg_s"], rel=1e-6)
    assert after["trace"]["greatest_flown"] > 0.7 * after["full_deg_s"]
    assert place.stat().st_size > 20000


def test_the_text_says_what_to_write(capsys: pytest.CaptureFixture) -> None:
    assert (
        main(["sticks", "siskin", "--set", "deadband_pct=5", "--mode", "attitude_command", "--axis", "pitch"])
        == 0
    )
    text = capsys.readouterr().out
    assert "deadband_pct = 5" in text
    assert "trace, pitch: most flown" in text


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["siskin", "--set", "exponential=3"], ["exponential", "Nearest known key: exponential_pct"]),
        (["siskin", "--set", "deadband_pct=90"], ["deadband_pct", "0 to 30 %"]),
        (["siskin", "--set", "deadband_pct"], ["KEY=VALUE"]),
        (["siskin", "--mode", "fast"], ["rate_command or attitude_command"]),
        (["siskin", "--axis", "up"], ["roll, pitch or yaw"]),
        (["--plot"], ["give a CRAFT"]),
    ],
)
def test_bad_input(arguments: list[str], words: list[str], capsys: pytest.CaptureFixture) -> None:
    assert main(["sticks", *arguments]) == 2
    text = capsys.readouterr().err
    for word in words:
        assert word in text
