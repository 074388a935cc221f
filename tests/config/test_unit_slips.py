"""Numbers in another unit, names that somebody would guess, a file of another kind: what was probably meant is said."""

import pytest

from quadsim.config.craft_loader import parse_craft
from quadsim.config.find_data import library, shipped
from quadsim.config.listing import checked
from quadsim.config.parts_loader import parse_catalogue
from quadsim.config.toml_reader import parse_toml
from quadsim.config.unit_slips import nearest_key, unit_remedy
from quadsim.errors import InputError

SISKIN = (library() / "crafts" / "siskin.toml").read_text(encoding="utf-8")
SLIPS = [
    ("wheelbase_mm = 224", "wheelbase_mm = 22.4", "Write 224 if that was cm, or 569 if that was inches"),
    ("diameter_in = 5.0", "diameter_in = 127", "Write 5 if that was mm"),
    ("capacity_mAh = 1500", "capacity_mAh = 1.5", "Write 1500 if that was Ah"),
    ("cells = 4", "cells = 14.8", "14.8 V are 4 cells of 3.7 V: write 4"),
    ("cells = 4", "cells = 16.8", "16.8 V are 4 cells of 4.2 V: write 4"),
    ("cells = 4", 'cells = "4S"', "Give the bare number, 4"),
    ("pitch_in = 4.3", 'pitch_in = "4,3"', "Give the bare number, 4.3"),
    ("cells = 4", "voltage_V = 14.8", "Nearest known key: cells"),
    ("kv_rpm_per_V = {", "kv = {", "Nearest known key: kv_rpm_per_V"),
    ("capacity_mAh", "capacity_mah", "Nearest known key: capacity_mAh"),
    ("mass_g = 178", "mass_g = 0.178", "22 W h weigh about 148 g"),
    ("mass_g = 178", "weight_g = 178", "Nearest known key: mass_g"),
    ("mass_g = 34\n", "mass_g = 0.034\n", "Is it in ohm, or the mass in kg?"),
    ("resistance_mohm = { value = 72, sigma = 4 }", "resistance_mohm = 0.072", "has 0.31 to 46000 mohm"),
    ("cell_resistance_mohm = { value = 4.2, sigma = 0.8 }", "cell_resistance_mohm = 0.0042", "0.13 to 670 mohm"),
    ("size_mm = [76, 36, 36]", "size_mm = [7.6, 3.6, 3.6]", "Is the size in cm?"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "said"), SLIPS, ids=[new[:30].strip() for _, new, _ in SLIPS])
def test_what_was_probably_meant(old, new, said):
    assert old in SISKIN
    with pytest.raises(InputError) as caught:
        parse_craft(SISKIN.replace(old, new, 1), "my.toml")
    assert said in str(caught.value)


def test_a_number_without_a_likely_slip_gets_no_guess():
    with pytest.raises(InputError) as caught:
        parse_craft(SISKIN.replace("cells = 4", "cells = 99"), "my.toml")
    assert str(caught.value).endswith("is 99; must be a whole number, 1 to 16")
    assert unit_remedy("cells", True, None) == ""
    assert nearest_key("banana", ["mass_g", "price"]) == ""


@pytest.mark.parametrize("motor", parse_catalogue((library() / "parts" / "market.toml").read_text()).motor)
def test_no_motor_of_the_catalogue_is_called_impossible(motor):
    old = SISKIN[SISKIN.index("[motor]") : SISKIN.index("[propeller]")]
    keys = ("resistance_mohm", "mass_g", "no_load_current_A", "current_limit_A", "diameter_mm", "height_mm")
    new = "\n".join(f"{key} = {float(getattr(motor, key))}" for key in ("kv_rpm_per_V", *keys))
    measured = 'no_load_measured_at = "motor"\ncurrent_limit_measured_at = "motor"\n'
    assert parse_craft(SISKIN.replace(old, f"[motor]\n{new}\n{measured}")).motor.mass_g == motor.mass_g


def test_a_file_of_another_kind_is_one_problem():
    flight = shipped("flights")["gust"].read_text(encoding="utf-8")
    with pytest.raises(InputError) as caught:
        parse_craft(flight, "gust.toml")
    assert str(caught.value) == (
        "gust.toml: 1 problem\n  - is a flight file; a craft file is wanted here. quadsim fly takes this one"
    )


def test_every_shipped_file_is_told_apart():
    from quadsim.config import contest_schema, course_schema, flight_schema, parts_schema
    from quadsim.config.craft_schema import Craft

    models = {"crafts": Craft, "flights": flight_schema.FlightFile, "courses": course_schema.CourseFile,
              "contests": contest_schema.Contest, "parts": parts_schema.Catalogue}  # fmt: skip
    for kind in models:
        for wanted, model in models.items():
            if kind == wanted:
                continue
            for path in shipped(kind).values():
                with pytest.raises(InputError, match="is wanted here") as caught:
                    checked(model, parse_toml(path.read_text(encoding="utf-8"), path.name))
                assert len(caught.value.problems) == 1


def test_a_list_of_known_keys_is_printed_once():
    with pytest.raises(InputError) as caught:
        parse_craft(SISKIN.replace("cells = 4", "cells = 4\nanode = 1\ncathode = 2"), "my.toml")
    assert str(caught.value).count("known here: name, cells") == 1
    assert "battery.cathode (line 134): unknown key" in str(caught.value)
