"""`quadsim card` as a user runs it, looking at hover alone to be quick."""

import json
from pathlib import Path

import pytest

from quadsim.analysis import gains_card, gains_ladder
from quadsim.analysis.craft_loops import Condition

pytestmark = pytest.mark.jit


@pytest.fixture(autouse=True)
def _hover_only(monkeypatch):
    assert gains_card.conditions_of  # loaded by now, or what is put in place here would stay in it
    monkeypatch.setattr(gains_ladder, "conditions_of", lambda payload=0.0: [Condition()])


def test_the_card_in_the_terminal_and_as_files(quadsim, tmp_path: Path):
    names = ["card.html", "card.toml", "card.csv", "card.svg"]
    answer = quadsim("card", "siskin", "--percent", 70, *(part for name in names for part in ("--out", name)))
    assert answer.status == 0, answer.err
    for words in ("A simulated pass is not a clearance to fly", "begin here", "roll P", "throttle per deg/s", "hum, x",
                  "wallow, x", "Propellers OFF", "Hover 30 s", "written to card.toml"):  # fmt: skip
        assert words in answer.out
    assert "roll_p = 15.4 # 1/s" in (tmp_path / "card.toml").read_text(encoding="utf-8")
    assert (tmp_path / "card.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert all((tmp_path / name).stat().st_size > 300 for name in names)


def test_gains_of_a_file_and_json(quadsim, tmp_path: Path):
    (tmp_path / "mine.toml").write_text("[gains.rate]\nroll_p = 30\n", encoding="utf-8")
    answer = quadsim("card", "siskin", "--gains", "mine.toml", "--json")
    assert answer.status == 0, answer.err
    card = json.loads(answer.out)
    assert [one["percent"] for one in card["sets"]] == [50, 70, 85, 100]
    assert [one["gains"]["rate.roll_p"]["value"] for one in card["sets"]] == pytest.approx(
        [15.0, 21.0, 25.5, 30.0]
    )
    assert card["sets"][0]["loops"]["roll"]["too_high"]["frequency_Hz"] > 20.0
    assert card["lacking"] == []
    assert card["begin_pct"] in (50, 70, 85, 100)


def test_no_set_to_begin_with_is_a_failure(quadsim, tmp_path: Path):
    """Gains of roll far too high for motors this slow, whatever the set."""
    (tmp_path / "wild.toml").write_text(
        "[gains.rate]\nroll_p = 100\nroll_d = 3\nroll_i = 1000\n", encoding="utf-8"
    )
    (tmp_path / "craft.toml").write_text(_with_slow_motors(), encoding="utf-8")
    answer = quadsim("card", "craft.toml", "--gains", "wild.toml")
    assert answer.status == 1
    assert "No set is fit to begin with: do not fly" in answer.out
    assert "begin here" not in answer.out


def _with_slow_motors() -> str:
    from quadsim.config import load_craft

    text = load_craft("siskin").source_text
    assert text.count("lag_ms = 0.5") == 1
    return text.replace("lag_ms = 0.5", "lag_ms = 60")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (
            ["siskin", "--out", "card.docx"],
            ["'card.docx' ends in .docx", ".pdf, .png, .svg, .html, .toml, .csv"],
        ),
        (["siskin", "--percent", "60"], ["is 60", "50, 70, 85, 100"]),
        (["siskin", "--gains", "none.toml"], ["none.toml", "cannot be read"]),
        (["nobody"], ["nobody"]),
    ],
)
def test_bad_input(quadsim, arguments: list[str], words: list[str]):
    answer = quadsim("card", *arguments)
    assert answer.status == 2
    for word in words:
        assert word in answer.err
