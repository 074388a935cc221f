"""`quadsim measure` from the command line: what it prints, writes and refuses."""

import json
import shutil
from pathlib import Path

import pytest

from quadsim.config import load_craft

BENCH = Path(__file__).parents[2] / "scenarios" / "bench"


def test_table_of_numbers_beside_the_craft_file(quadsim):
    status, out, err = quadsim("measure", "motor", BENCH / "motor.csv", "--craft", "siskin")
    assert (status, err) == (0, "")
    assert "speed constant" in out
    assert "1700  agrees" in out
    assert "kv_rpm_per_V = { value = 174" in out
    assert "What that changes" in out
    assert "hover time" in out
    assert "never hold a motor in the hand" in " ".join(out.split())
    assert "not a clearance to fly" in out


def test_json_is_one_document(quadsim):
    status, out, _ = quadsim("measure", "scales", BENCH / "scales.csv", "--craft", "siskin", "--json")
    document = json.loads(out)
    assert status == 0
    assert document["rows"] == document["used"] == 8
    mass = document["found"][0]
    assert mass["key"] == "mass.weighed_mass_g"
    assert mass["before"] == pytest.approx(596.4, abs=0.1)
    assert {"thrust_to_weight", "hover_time_min"} <= {one["answer"] for one in document["changes"]}
    assert document["keys"]["mass.weighed_mass_g"]["sigma"] == mass["sigma"]


def test_a_craft_file_with_the_keys_replaced(quadsim):
    shutil.copy(load_craft("siskin").path, "mine.toml")
    status, out, _ = quadsim(
        "measure",
        "scales",
        BENCH / "scales.csv",
        "--craft",
        "./mine.toml",
        "--apply",
        "new.toml",
        "--out",
        "piece.toml",
    )
    assert status == 0
    assert "written to new.toml" in out
    made = load_craft(Path("new.toml"))
    assert made.mass.weighed_mass_g == pytest.approx(603.5)
    assert "# after levelling it on the bench" in made.source_text
    assert (
        Path("piece.toml")
        .read_text(encoding="utf-8")
        .startswith("# Piece of a craft file, from quadsim measure scales")
    )


REFUSED = [
    (("thrst", "a.csv"), "KIND: is 'thrst'; must be one of thrust, motor, pack, still, spin, scales, swing. Nearest: thrust"),
    (("thrust", "nowhere.csv"), "nowhere.csv: 1 problem\n  - cannot be read"),
    (("thrust", BENCH / "thrust.csv", "--measured-on", "my hand"), "--measured-on: is 'my hand'; must be one of free stand"),
    (("thrust", BENCH / "thrust.csv", "--apply", "x.toml"), "--apply: needs a craft to change"),
    (("thrust", BENCH / "thrust.csv", "--out", "x.txt"), "must end in .toml"),
    (("scales", BENCH / "scales.csv", "--picture", "x.gif"), "must end in .png, .pdf, .svg"),
    (("pack", BENCH / "thrust.csv"), "unknown"),
]  # fmt: skip


@pytest.mark.parametrize(("arguments", "said"), REFUSED)
def test_bad_input_is_a_sentence(quadsim, arguments, said):
    status, out, err = quadsim("measure", *arguments)
    assert (status, out) == (2, "")
    assert said in err
    assert "Traceback" not in err


def test_the_craft_file_itself_is_not_written_over(quadsim):
    shutil.copy(load_craft("siskin").path, "mine.toml")
    before = Path("mine.toml").read_text(encoding="utf-8")
    status, _, err = quadsim(
        "measure", "scales", BENCH / "scales.csv", "--craft", "./mine.toml", "--apply", "mine.toml"
    )
    assert status == 2
    assert "is the craft file itself" in err
    assert Path("mine.toml").read_text(encoding="utf-8") == before


def test_a_craft_that_could_not_be_read_is_not_written(quadsim):
    Path("heavy.csv").write_text(
        "forward_mm,right_mm,reading_g\n80,80,900\n80,-80,900\n-80,80,900\n-80,-80,900\n", encoding="utf-8"
    )
    status, out, err = quadsim("measure", "scales", "heavy.csv", "--craft", "siskin")
    assert status == 0
    assert "3600.0" in out
    assert "what it changes cannot be said" in err
    status, _, err = quadsim("measure", "scales", "heavy.csv", "--craft", "siskin", "--apply", "new.toml")
    assert status == 2
    assert "new.toml (not written)" in err
    assert not Path("new.toml").exists()


def test_a_table_that_tells_nothing_writes_nothing(quadsim):
    rows = "\n".join(f"{t},{15.0 - 0.001 * t},10" for t in range(60))
    Path("flat.csv").write_text(f"time_s,voltage_V,current_A\n{rows}\n", encoding="utf-8")
    status, _, err = quadsim("measure", "pack", "flat.csv", "--cells", 4, "--out", "piece.toml")
    assert status == 2
    assert "tells no key" in err


def test_the_table_keeps_its_columns_on_a_narrow_terminal(monkeypatch):
    from quadsim.cli import fold, measure_text, table
    from quadsim.measure.kinds import measure
    from quadsim.measure.result import Setup

    for module in (fold, measure_text, table):
        monkeypatch.setattr(module, "room", lambda: 80)
    craft = load_craft("siskin")
    for kind in ("thrust", "still"):
        result = measure(kind, BENCH / f"{kind}.csv", Setup(craft=craft))
        lines = measure_text._numbers(result, craft).split("\n")
        assert max(map(fold.shown_length, lines)) <= 80
        verdicts = [line for line in lines if "differs" in line or "agrees" in line]
        assert verdicts and not any(line.strip() in ("differs", "agrees") for line in verdicts)
