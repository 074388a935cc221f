"""Whatever is given wrong: one clear sentence on stderr, nothing on stdout, exit status 2, no traceback."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from quadsim.config.find_data import library

ROOT = Path(__file__).parents[2]
FLIGHTS = {
    "broken.toml": 'title = "x"\ncraft = siskin\n',
    "unknown_key.toml": 'title = "x"\ncraft = "siskin"\nduration_s = 0.05\ntitel = "y"\n',
    "negative.toml": 'title = "x"\ncraft = "siskin"\nduration_s = -1\n',
    "no_craft.toml": 'title = "x"\ncraft = "sisskin"\nduration_s = 0.05\n',
    "good.toml": 'title = "x"\ncraft = "siskin"\nduration_s = 0.05\n[start]\nheight_m = 2\n',
}
BLOCKS = "def two(s, craft):\n    pass\n"
SHORT_OF_MEMORY = """
from controllers import block


@block("rate", memory=2)
def short(s, craft, gains, memory):
    memory[7] += s.dt
    s.angular_acceleration_wanted[0] = s.rates[0]
"""


@pytest.fixture
def folder(tmp_path):
    for name, text in FLIGHTS.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    (tmp_path / "mine.py").write_text(BLOCKS, encoding="utf-8")
    (tmp_path / "short.py").write_text(SHORT_OF_MEMORY, encoding="utf-8")
    (tmp_path / "a_file").write_text("x", encoding="utf-8")
    return tmp_path


CASES = [
    ("fly nowhere", "no flight 'nowhere'", "Shipped flights:"),
    ("fly nowhere.toml", "no flight file 'nowhere.toml'", "Shipped flights:"),
    ("fly hovr", "no flight 'hovr'", "nearest: hover"),
    ("fly broken.toml", "not valid TOML", "line 2"),
    ("fly unknown_key.toml", "titel (line 4): unknown key", "title"),
    ("fly negative.toml", "duration_s (line 3): is -1", "must be a number"),
    ("fly no_craft.toml", "no craft 'sisskin'", "nearest: siskin"),
    ("fly good.toml --craft nowhere", "no craft 'nowhere'", "Shipped crafts:"),
    ("fly good.toml --rate pdi", "no rate block is named 'pdi'", "nearest: pid"),
    ("fly good.toml --rate mine.py:two", "takes 2 arguments", "(s, craft, gains, memory)"),
    ("fly good.toml --rate mine.py:three", "has no function 'three'", "two"),
    ("fly good.toml --rate none.py:pid", "none.py cannot be read", "path of a Python file"),
    ("fly good.toml --out a_file/run.h5", "a file is in its place", "--no-save"),
    ("fly good.toml --out .", "is a folder", "must be a file"),
    ("fly good.toml --out good.toml", "is not a run file", "not overwritten"),
    ("fly good.toml --seed soon", "--seed", "is 'soon'; must be an integer"),
    ("hover siskin --payload-g 300g", "'--payload-g': is '300g'; must be a number", "bare number, 300"),
    ("hover siskin --payload-g=0,3", "is '0,3'; must be a number", "bare number, 0.3"),
    ("hover siskin --payload-g -3", "is '-3'; must be greater than or equal to 0", ""),
    ("hover siskin --weight-g 3", "No such option: --weight-g", "--payload-g"),
    ("fly good.toml --craft-file x", "No such option: --craft-file", "(Possible options: --craft)"),
    ("export .", "it is a folder without runs", ""),
    ("card siskin --gains good.toml", "is a flight file; a gains file is wanted here", ""),
    ("fly", "Usage: quadsim fly", ""),
    ("flyy", "there is no command 'flyy'; commands are fly, watch", "nearest: fly"),
    ("plot nowhere.h5", "no run file", "quadsim fly FLIGHT"),
    ("plot a_file", "is not a readable run file", ""),
    ("export a_file", "is not a readable run file", ""),
    ("inspect nowhere", "no craft 'nowhere'", "siskin"),
    ("inspect gust", "'gust' is a shipped flight, not a craft", "Shipped crafts:"),
    ("fly good --no-save", "There is 'good.toml': give it with its ending", "Shipped flights:"),
    ("inspect good.toml", "is a flight file; a craft file is wanted here", "quadsim fly takes this one"),
    ("inspect siskin --temperature-C 200", "temperature_C", "deg C"),
    ("inspect siskin --elevation-m 99999", "altitude_m", "m"),
    (
        "inspect siskin --elevation-m 400 --pressure-hPa 950",
        "is 400 beside a pressure of 950 hPa",
        "Leave one out",
    ),
    ("inspect siskin --pack-temperature-C 90", "pack_temperature_C", "-40 to 70 deg C"),
    ("fly good.toml --pressure-hPa nan", "pressure_hPa", "hPa"),
    ("fly good.toml --rate short.py:short", "writes memory[7], beyond the 2 numbers", "in @block to 8"),
    ("blocks nowhere.py", "cannot be read", ""),
    ("blocks --new law.txt", "does not end in .py", ""),
    ("blocks --new nowhere/law.py", "cannot be written", "a folder that is there"),
    ("blocks --new law.py --slot roll", "no slot 'roll'", "allocate"),
    ("blocks mine.py", "declares no block", "@block(SLOT)"),
    ("blocks mine.py:two --slot roll", "no slot 'roll'", "allocate"),
    ("watch nowhere.h5", "no run file", ""),
    ("watch nowhere", "no flight 'nowhere'", ""),
    ("watch hover --size big", "--size: is 'big'", "1280x720"),
    ("watch hover --count 3", "--frames", ""),
    ("watch hover --json", "--frames", ""),
]


@pytest.mark.parametrize(("line", "said", "also"), CASES, ids=[case[0] for case in CASES])
def test_bad_input_is_a_sentence(quadsim, folder, line, said, also):
    status, out, err = quadsim(*line.split())
    shown = out + err if line == "fly" else err  # without an argument the help is shown
    assert status == 2
    assert said in shown
    assert also in shown
    assert "Traceback" not in err
    if line != "fly":
        assert out == ""


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("mass_g =", "mass_g = -1 #", "is -1; must be a number, above 0"),
        ("mass_g =", "mass_g = nan #", "is nan; must be a number, above 0"),
        (
            "rotor_at_mm.front_right = [",
            "rotor_at_mm.front_right = [-1, 84, -20] #",
            "must have forward above 0 mm",
        ),
    ],
    ids=["negative mass", "mass not a number", "rotor on the wrong side"],
)
@pytest.mark.parametrize("command", ["inspect CRAFT --json", "fly good.toml --json --craft CRAFT"])
def test_a_wrong_craft_is_a_sentence(quadsim, folder, command, old, new, said):
    text = (library() / "crafts" / "williwaw.toml").read_text(encoding="utf-8")
    assert old in text
    (folder / "craft.toml").write_text(text.replace(old, new, 1), encoding="utf-8")
    status, out, err = quadsim(*command.replace("CRAFT", "craft.toml").split())
    assert status == 2
    assert out == ""
    assert said in err
    assert "craft.toml: 1 problem" in err
    assert "(line " in err


def test_a_folder_without_permission_is_found_before_the_flight(quadsim, folder, monkeypatch):
    monkeypatch.setattr(os, "access", lambda path, mode: False)  # permissions do not bind the superuser
    status, out, err = quadsim("fly", "good.toml", "--out", "runs/x.h5")
    assert status == 2
    assert out == ""
    assert "the folder runs cannot be written to" in err


def test_columns_that_do_not_exist_are_all_listed(quadsim, folder):
    assert quadsim("fly", "good.toml", "--out", "x.h5")[0] == 0
    status, out, err = quadsim("export", "x.h5", "--columns", "heigt_m,position_m,wnd")
    assert status == 2
    assert out == ""
    assert "no column 'heigt_m'. Nearest: height_m" in err
    assert "no column 'wnd'" in err
    assert not (folder / "x.csv").exists()


@pytest.mark.parametrize(
    ("extra", "said"), [("--out x.bmp", "must end in .png, .pdf, .svg"), ("--from-s 9", "nothing to draw")]
)
def test_a_picture_that_cannot_be_drawn(quadsim, folder, extra, said):
    assert quadsim("fly", "good.toml", "--out", "x.h5")[0] == 0
    status, out, err = quadsim("plot", "x.h5", *extra.split())
    assert status == 2
    assert out == ""
    assert said in err
    assert not list(folder.glob("*.bmp"))


def test_a_missing_display_says_how_to_make_pictures(quadsim, folder):
    assert quadsim("fly", "good.toml", "--out", "x.h5")[0] == 0
    blind = {
        k: v for k, v in os.environ.items() if k not in ("DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER")
    }
    if sys.platform in ("win32", "darwin"):
        blind["SDL_VIDEODRIVER"] = "nowhere"
    done = subprocess.run(
        [sys.executable, "-m", "quadsim", "watch", str(folder / "x.h5")],
        cwd=ROOT, env=blind, capture_output=True, text=True, timeout=60,
    )  # fmt: skip
    assert done.returncode == 2, done.stderr
    assert done.stdout == ""
    assert "no window can be opened" in done.stderr
    assert "--frames" in done.stderr
    assert "Traceback" not in done.stderr


def test_json_of_bad_input_is_still_a_sentence_on_stderr(quadsim, folder):
    status, out, err = quadsim("fly", "broken.toml", "--json")
    assert (status, out) == (2, "")
    with pytest.raises(json.JSONDecodeError):
        json.loads(err)


@pytest.mark.parametrize(
    ("rates", "gains", "said"),
    [
        (
            "rates_Hz = { estimate = 2000 }",
            "gains.estimate.gyro_cutoff = 1200",
            [
                "gains.estimate.gyro_cutoff: is 1200 Hz; must be at most 1000 Hz, half the 2000 Hz",
                "set it to 0",
            ],
        ),
        (
            "rates_Hz = { estimate = 250 }",  # the default of 150 Hz is above half of it
            "",
            [
                "gains.estimate.gyro_cutoff: is 150 Hz; must be at most 125 Hz",
                "raise flight_controller.rates_Hz.estimate",
            ],
        ),
        ("rates_Hz = { estimate = 2000 }", "gains.estimate.gyro_cutoff = 1000", []),
        ("rates_Hz = { estimate = 250 }", "gains.estimate.gyro_cutoff = 0", []),
        ("", "gains.rate.roll_p = 2000", ["gains.rate.roll_p: is 2000; must be 0 to 100 1/s"]),
    ],
    ids=["stated", "default", "just half", "off", "out of bounds"],
)
def test_a_filter_above_half_the_blocks_rate_is_a_sentence(
    quadsim, make_flight, tmp_path, rates, gains, said
):
    craft = (library() / "crafts" / "siskin.toml").read_text(encoding="utf-8")
    (tmp_path / "craft.toml").write_text(f"{gains}\n{craft}", encoding="utf-8")
    flight = make_flight(("[start]", f"{rates}\n[start]"), ('"siskin"', '"craft.toml"'))
    status, _, err = quadsim("fly", flight, "--no-save")
    assert (status == 2) is bool(said), err
    assert all(words in err for words in said), err
