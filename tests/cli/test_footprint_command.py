"""`quadsim inspect --footprint`: where a craft comes down after a lost link."""

import json

import pytest


def test_every_choice_has_its_keys(quadsim):
    document = json.loads(quadsim("inspect", "williwaw", "--footprint", "--json").out)
    assert document["footprint_from"] == {
        "height_m": 20.0,
        "speed_m_s": 30.0,
        "wind_m_s": 5.0,
        "away_m": 100.0,
    }
    assert [row["choice"] for row in document["footprint"]] == ["cut", "level descent", "homing"]
    assert [row["own"] for row in document["footprint"]] == [True, False, False]
    for row in document["footprint"]:
        assert row["acts_after_s"] == 0.5
        assert row["spread_m"][0] <= row["distance_m"] <= row["spread_m"][1]
        assert row["impact_energy_J"] > 0.0


def test_the_options_say_from_where(quadsim):
    near = json.loads(
        quadsim("inspect", "siskin", "--json", "--height-m", "5", "--speed-m-s", "2", "--wind-m-s", "0").out
    )
    far = json.loads(
        quadsim("inspect", "siskin", "--json", "--height-m", "60", "--speed-m-s", "15", "--wind-m-s", "8").out
    )
    for one, other in zip(near["footprint"], far["footprint"], strict=True):
        assert other["distance_m"] > 3.0 * one["distance_m"]


def test_it_is_printed_with_its_caution(quadsim):
    said = quadsim("inspect", "bonxie", "--footprint").out
    for text in ("homing (as set)", "level descent", "cut", "rules of the event and the country"):
        assert text in said


def test_the_inspection_names_the_craft_s_own_choice(quadsim):
    said = quadsim("inspect", "siskin").out
    assert "link loss" in said
    assert "level descent: down after" in said


@pytest.mark.parametrize(
    ("option", "value"), [("--height-m", "0"), ("--speed-m-s", "-1"), ("--wind-m-s", "99")]
)
def test_a_case_out_of_range_is_refused(quadsim, option, value):
    assert quadsim("inspect", "siskin", "--footprint", option, value).status == 2
