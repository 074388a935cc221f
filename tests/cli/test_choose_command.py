"""`quadsim choose` on a cut-down catalogue: prescribed keys, craft files that load, statuses."""

import json

import pytest

from quadsim.cli.entry import main
from quadsim.config import load_craft
from quadsim.parts import confirm
from quadsim.parts.flown import Flown


@pytest.fixture
def catalogue(tmp_path, small_market):
    path = tmp_path / "small.toml"
    path.write_text(small_market, encoding="utf-8")
    return str(path)


def test_json_has_the_prescribed_keys_and_the_winner_is_written(catalogue, tmp_path, capsys, lacking):
    assert main(["choose", catalogue, "--budget", "520", "--json", "--out", str(tmp_path / "craft")]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["evaluated"] >= document["within_budget"] > 0
    assert lacking("choose", document) == []
    assert all(one["price"] <= 520.0 for one in document["front"])
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
        "50 EUR less or more",
        "with 470 EUR",
        "slalom, lift, dash",
        "never a clearance",
    ):
        assert words in text
    assert "charger" not in text


def test_a_budget_too_small_is_status_1_and_bad_input_status_2(catalogue, capsys):
    assert main(["choose", catalogue, "--budget", "100"]) == 1
    assert "nothing fits" in capsys.readouterr().out
    assert main(["choose", catalogue, "--have", "wheel=round"]) == 2
    assert main(["choose", "nowhere"]) == 2


@pytest.fixture
def flights(monkeypatch, tmp_path):
    """Flights in stead of the simulation's: everything as estimated but the slalom, half as fast. Returns the events flown;
    after `stop` of them Ctrl-C comes."""

    class Events(list):
        stop = 1000

    flown = Events()

    def fly_event(_, one, event, *__):
        if len(flown) == flown.stop:
            raise KeyboardInterrupt
        flown.append(event)
        estimated = confirm.estimate_of(one, event)
        gains = {"guide.tilt_max": 1.25} if event == "dash" else {}
        return Flown(event, estimated, estimated * (2.0 if event == "slalom" else 1.01), "so", gains)

    monkeypatch.setattr(confirm, "fly_event", fly_event)
    monkeypatch.setattr("quadsim.cli.kernels.prepare_kernels", lambda: None)
    monkeypatch.setattr("quadsim.parts.kept.cache_root", lambda: tmp_path / "cache")
    return flown


def test_flown_winners_are_told_and_their_gains_written(catalogue, flights, tmp_path, capsys):
    place = str(tmp_path / "craft")
    assert main(["choose", catalogue, "--budget", "520", "--flown", "--json", "--out", place]) == 1
    document = json.loads(capsys.readouterr().out)
    assert document["flown"]["agrees"] is False
    first = document["flown"]["first"][0]
    assert first["events"]["dash"]["difference"] == pytest.approx(0.01)
    assert first["events"]["slalom"]["agrees"] is False and first["points_flown"] < first["points_estimated"]
    assert first["events"]["lift"]["unit"] == "g" and first["events"]["lift"]["estimated"] > 100.0
    own = [load_craft(file).gains.get("guide") for file in document["files"]]
    assert own == [None, None, {"tilt_max": 1.25}]


def test_stopped_it_tells_what_is_flown_and_the_same_command_goes_on(catalogue, flights, tmp_path, capsys):
    asked = ["choose", catalogue, "--budget", "520", "--flown", "--json"]
    flights.stop = 2
    assert main([*asked, "--out", str(tmp_path / "craft")]) == 130
    out, err = capsys.readouterr()
    document = json.loads(out)
    flown = document["flown"]
    assert flown["stopped"] and flown["events_flown"] == 2 and not document["files"]
    assert list(flown["first"][0]["events"]) == ["lift", "dash"] and flown["first"][0]["points_flown"] is None
    assert f"2 of {flown['events']} events flown and kept" in err and "no craft file" in err

    next((tmp_path / "cache" / "winners").glob("*.json")).write_text('{"event": "lift"}')
    flights.stop = 1000
    assert main(asked[:-1]) == 1
    out, err = capsys.readouterr()
    assert "NOT as estimated" in out and "2.00" not in err
    assert f"1 of {flown['events']} flown events kept from before" in err and "damaged" in err
    assert len(flights) == flown["events"] + 1
    assert main(asked) == 1 and len(flights) == flown["events"] + 1


def test_tuned_without_flights_is_bad_input(catalogue, capsys):
    assert main(["choose", catalogue, "--tuned"]) == 2
    assert "--flown" in capsys.readouterr().err
