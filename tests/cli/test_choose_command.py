"""`quadsim choose` on a cut-down catalogue: prescribed keys, craft files that load, statuses."""

import json

import pytest

from quadsim.cli.entry import main
from quadsim.config import load_craft


@pytest.fixture
def catalogue(tmp_path, small_market):
    path = tmp_path / "small.toml"
    path.write_text(small_market, encoding="utf-8")
    return str(path)


def test_json_has_the_prescribed_keys_and_the_winner_is_written(catalogue, tmp_path, capsys):
    assert main(["choose", catalogue, "--budget", "520", "--json", "--out", str(tmp_path / "craft")]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["evaluated"] >= document["within_budget"] > 0
    for one in document["front"]:
        assert {"parts", "price", "mass_g", "dash_m_s", "lift_g", "lap_s"} <= set(one)
        assert one["price"] <= 520.0
    assert sum(line["price"] for line in document["bill"]) == pytest.approx(
        document["front"][0]["price"], abs=0.01
    )
    assert [load_craft(file).event for file in document["files"]] == ["slalom", "lift", "speed"]


def test_people_get_tables_a_bill_and_a_caution(catalogue, capsys):
    assert main(["choose", catalogue, "--budget", "520", "--have", "charger"]) == 0
    text = capsys.readouterr().out
    for words in (
        "Best overall",
        "Bill of materials",
        "Why a neighbour lost",
        "with 470 EUR",
        "never a clearance",
    ):
        assert words in text
    assert "charger" not in text


def test_a_budget_too_small_is_status_1_and_bad_input_status_2(catalogue, capsys):
    assert main(["choose", catalogue, "--budget", "100"]) == 1
    assert "nothing fits" in capsys.readouterr().out
    assert main(["choose", catalogue, "--have", "wheel=round"]) == 2
    assert main(["choose", "nowhere"]) == 2
