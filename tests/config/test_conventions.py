"""What a flight controller makes of a gain, as a craft file states it; and a file of gains alone."""

from pathlib import Path

import pytest

from quadsim.config import load_craft
from quadsim.config.conventions_schema import ALWAYS, Conventions
from quadsim.config.craft_loader import parse_craft
from quadsim.config.gains_file import craft_with_gains
from quadsim.errors import InputError

SISKIN = load_craft("siskin").source_text


def changed(old: str, new: str) -> str:
    assert SISKIN.count(old) == 1, old
    return SISKIN.replace(old, new)


def test_the_demo_craft_states_all():
    stated = load_craft("siskin").flight_controller.conventions
    assert stated is not None
    assert stated.lacking == ()
    assert stated.idle_share == pytest.approx(0.05)


def test_what_is_left_out_is_named():
    assert Conventions().lacking == ALWAYS
    craft = parse_craft(changed("mixer_scale = [1, 1, 1]\n", ""))
    assert craft.flight_controller.conventions is not None
    assert craft.flight_controller.conventions.lacking == ("mixer_scale",)
    craft = parse_craft(changed("reference_voltage_V = 14.8\n", ""))
    assert craft.flight_controller.conventions is not None
    assert craft.flight_controller.conventions.lacking == ("reference_voltage_V",)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("command_high = 2000", "command_high = 0", ["command_low and command_high 0", "must differ"]),
        ("command_idle = 100", "command_idle = 1500", ["command_idle 1500", "lower half"]),
        ("command_idle = 100", "command_idle = 60", ["3.0 % of the range", "esc.idle_pct is 5 %"]),
        ('gain_scaling = "voltage"', 'gain_scaling = "none"', ["reference_voltage_V", "has no use for it"]),
        ('gain_scaling = "voltage"', 'gain_scaling = "volts"', ["'volts'", "Nearest: 'voltage'"]),
        ("thrust_curve_inverted = true", "thrust_curve_inverted = 1", ["must be true or false"]),
        ("mixer_scale = [1, 1, 1]", "mixer_scale = [1, 1]", ["3 numbers", "0.001 to 100"]),
        ("command_low = 0", "command_lowest = 0", ["unknown key", "Nearest known key: command_low"]),
    ],
)
def test_bad_conventions(old, new, words):
    with pytest.raises(InputError) as caught:
        parse_craft(changed(old, new))
    for word in words:
        assert word in str(caught.value)


def test_an_invented_scaling_by_throttle_is_complete_with_its_factors():
    text = changed(
        'gain_scaling = "voltage"\nreference_voltage_V = 14.8\nvoltage_exponent = 2',
        'gain_scaling = "throttle"',
    )
    stated = parse_craft(text).flight_controller.conventions
    assert stated is not None
    assert stated.lacking == ("throttle_factors",)


def test_gains_of_a_file_stand_over_the_craft_s(tmp_path: Path):
    path = tmp_path / "gains.toml"
    path.write_text("[gains.rate]\nroll_p = 17.5\n[gains.guide]\nheight_p = 1.0\n", encoding="utf-8")
    craft = craft_with_gains(load_craft("williwaw"), path)
    assert craft.gains["rate"] == {"roll_p": 17.5}
    assert craft.gains["guide"] == {"tilt_max": 1.25, "tilt_factor_max": 3.5, "height_p": 1.0}
    assert craft.path == load_craft("williwaw").path


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[gains]\n", "holds no gain"),
        ("[gain.rate]\nroll_p = 1\n", "unknown key"),
        ('[gains.rate]\nroll_p = "high"\n', "must be a number"),
        ("[gains.motor]\nroll_p = 1\n", "unknown key"),
        ("gains = \n", "is not valid TOML"),
    ],
)
def test_bad_gains_files(tmp_path: Path, text: str, words: str):
    path = tmp_path / "gains.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=words):
        craft_with_gains(load_craft("siskin"), path)
