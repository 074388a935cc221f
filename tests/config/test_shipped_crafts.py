"""The three craft that ship: what they were built for, and the folder's README."""

import json

import pytest

from quadsim.analysis.hover import thrust_to_weight
from quadsim.config import Craft, choose_rates, craft_view, load_craft, mass_properties
from quadsim.config.find_data import library, shipped
from quadsim.config.keys_table import MARK, keys_table, write_tables
from quadsim.environment.atmosphere import Site

WANTED = {
    # event: all-up mass [kg], thrust to weight [-]: what the three events ask for (our own choice)
    "slalom": ((0.55, 0.65), (5.0, 6.0)),
    "lift": ((1.5, 1.7), (2.2, 2.9)),
    "speed": ((0.7, 0.8), (6.0, 7.0)),
}


@pytest.mark.parametrize("name", shipped("crafts"))
def test_each_craft_suits_its_event(name):
    craft = load_craft(name)
    mass, lift = WANTED[craft.event]
    assert mass[0] < mass_properties(craft).mass_kg < mass[1]
    assert lift[0] < thrust_to_weight(craft, Site()) < lift[1]
    assert choose_rates(craft).physics_Hz == 4000


@pytest.mark.parametrize("name", shipped("crafts"))
def test_the_first_line_says_that_it_is_invented(name):
    assert load_craft(name).source_text.splitlines()[0].startswith("# Invented demo data")


def test_one_craft_per_event():
    assert sorted(load_craft(name).event for name in shipped("crafts")) == sorted(WANTED)


@pytest.mark.parametrize("name", shipped("crafts"))
def test_the_view_is_json_and_true_to_the_file(name):
    craft = load_craft(name)
    view = json.loads(json.dumps(craft_view(craft)))
    assert view["name"] == craft.name
    assert [rotor["place"] for rotor in view["rotors"]] == [
        "front_right",
        "rear_right",
        "rear_left",
        "front_left",
    ]
    assert [rotor["spin"] for rotor in view["rotors"]] == [
        getattr(craft.frame.spin, r["place"]) for r in view["rotors"]
    ]
    assert view["rotors"][0]["at_m"][0] > 0 > view["rotors"][1]["at_m"][0]
    assert view["rotors"][0]["radius_m"] == pytest.approx(craft.propeller.diameter_in * 0.0127)
    assert {"battery", "motor rear_left"} <= {part["name"] for part in view["parts"]}
    lowest = max(part["at_m"][2] + part["size_m"][2] / 2 for part in view["parts"])
    assert all(foot[2] >= lowest - 1e-9 for foot in view["feet_m"])
    assert view["max_thrust_N"] > view["mass_g"] * 9.8e-3 / 4


def test_the_readme_lists_every_key_as_the_schema_has_it():
    readme = (library() / "crafts" / "README.md").read_text(encoding="utf-8")
    assert keys_table(Craft) in readme


def test_the_keys_table_knows_units_ranges_and_defaults():
    table = keys_table(Craft)
    assert "| `unlisted_pct` | % | 0 to 50 | 8 ± 4 |" in table
    assert "| `kv_rpm_per_V` | rpm/V | 20 to 20000 | required |" in table
    assert "| `link_loss` |  | cut, level descent, homing | required |" in table
    assert "### `[[parts]]`" in table
    assert "### `[flight_controller.gyro]`" in table


def test_tables_go_below_the_mark_and_nothing_above_changes(tmp_path):
    readme = tmp_path / "README.md"
    readme.write_text(f"# Above\n{MARK}\nold tables\n", encoding="utf-8")
    write_tables(readme, keys_table(Craft))
    assert readme.read_text(encoding="utf-8") == f"# Above\n{MARK}\n\n{keys_table(Craft)}\n"


def test_the_json_schema_can_be_made():
    schema = Craft.model_json_schema()
    motor = schema["$defs"]["Motor"]["properties"]
    assert motor["kv_rpm_per_V"]["anyOf"][0] == {"type": "number", "minimum": 20.0, "maximum": 20000.0}
    assert schema["$defs"]["Motor"]["additionalProperties"] is False
