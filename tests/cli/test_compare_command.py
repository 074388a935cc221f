"""`quadsim compare` as a user calls it: the invented log against its craft, and what is said to bad input."""

import json

import pytest

from quadsim.config import load_craft
from quadsim.config.find_data import library

LOG = library() / "logs" / "siskin_hover.csv"


@pytest.fixture
def short(tmp_path):
    """The first seconds of the invented log, with pieces of its header exchanged."""

    def cut(*changes, rows=900):
        lines = LOG.read_text(encoding="utf-8").splitlines()[: rows + 2]
        for old, new in changes:
            assert old in lines[1]
            lines[1] = lines[1].replace(old, new)
        path = tmp_path / "short.csv"
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        return path

    return cut


@pytest.mark.jit
def test_the_invented_log_tells_its_worn_parts_and_corrects_the_craft(quadsim, tmp_path):
    out = tmp_path / "corrected.toml"
    status, printed, _ = quadsim(
        "compare", "siskin", LOG, "--apply", out, "--check", "--plot", "--out", "sheet.png", "--json"
    )
    told = json.loads(printed)
    assert status == 1  # its pack is beyond what the file leaves open
    by = {one["name"]: one for one in told["estimates"]}
    assert by["thrust"]["value"] == pytest.approx(0.93, abs=2.0 * by["thrust"]["sigma"])
    assert by["pack_resistance"]["value"] == pytest.approx(28.6, abs=2.0 * by["pack_resistance"]["sigma"])
    assert by["thrust"]["key"]["name"] == "propeller.thrust_scale"
    kept = {one["channel"]: one for one in told["kept_back"]}
    assert kept["specific force down"]["rms_after"] < 0.2 * kept["specific force down"]["rms_before"]
    assert load_craft(out).propeller.thrust_scale == pytest.approx(by["thrust"]["value"], rel=1e-3)
    assert (tmp_path / "sheet.png").stat().st_size > 50_000
    assert told["suspicions"] == []


@pytest.mark.jit
def test_the_sticks_of_a_log_are_flown_again(quadsim, short):
    status, printed, _ = quadsim("compare", "siskin", short(), "--mode", "height_hold")
    words = " ".join(printed.split())
    assert status == 1
    assert "rates correlate with 1.000" in words
    assert "Run beside the log, clocks brought together" in words
    assert "What this log cannot tell" in words
    assert "is not a clearance to fly" in words


@pytest.mark.jit
def test_a_log_in_the_wrong_unit_is_called_so_and_corrects_nothing(quadsim, short):
    log = short(*((f"gyro_{axis}_deg_s", f"gyro_{axis}_rad_s") for axis in "xyz"))
    assert "LOOKS WRONG gyro_roll is 57" in " ".join(quadsim("compare", "siskin", log).out.split())
    status, _, err = quadsim("compare", "siskin", log, "--apply", "never.toml")
    assert status == 2
    assert "nothing is written into a craft file from a log that looks wrong" in err
    assert "radians for degrees" in err


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ((("time_s", "tick"),), "has no time; its columns are tick"),
        (
            (("motor_1,", "m1,"),),
            "has no motor; needs motor_1 to motor_4, 0 to 1. motor has 3 of its 4 columns, not motor_1",
        ),
        (
            (("gyro_x_deg_s", "gyro_x"),),
            "column gyro_x: has no unit in its name; name it gyro_x_deg_s or gyro_x_rad_s",
        ),
    ],
)
def test_what_a_log_lacks_is_said(quadsim, short, changes, words):
    status, out, err = quadsim("compare", "siskin", short(*changes))
    assert (status, out) == (2, "")
    assert words in err


def test_bad_input_is_a_sentence(quadsim, short, tmp_path):
    log = short()
    assert (
        "is a log; must be a run, a flight or a craft. The order is: quadsim compare RUN LOG"
        in quadsim("compare", log, log).err
    )
    assert "there is no craft 'siskn'" in quadsim("compare", "siskn", log).err
    assert "cannot be read: No such file" in quadsim("compare", "siskin", tmp_path / "none.csv").err
    assert "must end in .png, .pdf, .svg" in quadsim("compare", "siskin", log, "--out", "sheet.txt").err
    own = tmp_path / "own.toml"
    own.write_text(load_craft("siskin").source_text, encoding="utf-8")
    assert "is the craft file itself; another file" in quadsim("compare", own, log, "--apply", own).err
    assert own.read_text(encoding="utf-8") == load_craft("siskin").source_text
    status, _, err = quadsim("compare", "siskin", log, "--mode", "waypoint")
    assert (status, "--mode: is 'waypoint'; must be one of rate_command" in err) == (2, True)
