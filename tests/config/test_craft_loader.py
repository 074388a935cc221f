"""Bad craft files: every problem with its place, range and remedy, all at once."""

import pytest

from quadsim.config import load_craft, parse_craft
from quadsim.errors import InputError


def listing(text: str) -> list[str]:
    """Problems of a craft text, one string each."""
    with pytest.raises(InputError) as caught:
        parse_craft(text, "test.toml")
    return [str(problem) for problem in caught.value.problems]


SINGLE = [
    # (old, new, the whole problem)
    ("mass_g = 100", "mass_g = -100", "parts#1.mass_g (line 14): is -100; must be a number, above 0 to 20000 g"),
    ("mass_g = 100", "mass_g = nan", "parts#1.mass_g (line 14): is nan; must be a number, above 0 to 20000 g"),
    ("mass_g = 100", "mass_g = 1e6", "parts#1.mass_g (line 14): is 1000000; must be a number, above 0 to 20000 g"),
    ('shape = "box"', 'shape = "bx"',
     "parts#1.shape (line 13): is 'bx'; must be one of box, cylinder, rod, tube, disc, point. Nearest: 'box'"),
    ("[100, 60, 4]", "[100, 60]",
     "parts#1.size_mm (line 15): is [100.0, 60.0]; shape box takes size_mm = [length, width, height]"),
    ("kv_rpm_per_V = 1000", 'kv_rpm_per_V = "1000 rpm"',
     "motor.kv_rpm_per_V (line 17): is the text '1000 rpm'; must be a number, 20 to 20000 rpm/V."
     " Give the bare number, 1000; the unit is in the key"),
    ("resistance_mohm = 100", "resistance_mohm = inf",
     "motor.resistance_mohm (line 18): is inf; must be a number, above 0 to 5000 mohm"),
    ("cells = 4", "cells = 4.5", "battery.cells (line 44): is 4.5; must be a whole number, 1 to 16"),
    ('no_load_measured_at = "motor"', 'no_load_measured_at = "pack"',
     "motor.no_load_measured_at (line 20): is 'pack'; must be one of motor, esc input"),
    ('no_load_measured_at = "motor"', "",
     "motor.no_load_measured_at (line 16): is missing; must be one of motor, esc input."
     " Add no_load_measured_at = ... there"),
    ('link_loss = "cut"\n', "",
     "radio.link_loss (line 58): is missing; must be one of cut, level descent, homing. Add link_loss = ... there"),
    ('link_loss = "cut"', 'link_loss = "homing"',
     "radio.link_loss (line 59): is 'homing'; homing needs a satellite receiver, [gnss] and a magnetometer, [compass];"
     " without them 'cut' or 'level descent'. Add what it needs with mass and place, or choose another"),
    ('front_right = "ccw", rear_right = "cw"', 'front_right = "cw", rear_right = "ccw"',
     "frame.spin (line 10): is front_right cw, rear_right ccw, rear_left ccw, front_left cw;"
     " rotors on one diagonal must turn alike and the other diagonal the other way."
     " Otherwise the craft cannot hold its heading"),
    ('layout = "x"', 'layout = "explicit"', "frame.rotor_at_mm (line 6): is missing; layout = \"explicit\" needs it"),
    ("diameter_in = 6", "diameter_in = 8",
     "propeller.diameter_in (line 31): is 8, but front_right and rear_right are 200 mm apart;"
     " must be under 7.87 in, or the discs cut each other. Take a smaller propeller or a larger frame"),
    ("pitch_in = 4", "pitch_in = 9",
     "propeller.pitch_in (line 32): is 9; must be 1.2 to 8.4 in for this diameter (0.2 to 1.4 diameters)."
     " Give the advance per turn"),
    ("guide = 250", "guide = 300",
     "flight_controller.rates_Hz.guide (line 57): is 300; must divide the physics rate of 4000 Hz"
     " (a multiple of the fastest block's rate that reaches 4000 Hz and the inertial sensor's rate). Nearest: 250 or 400 Hz"),
    ("unlisted_pct = 0", "weighed_mass_g = 300",
     "mass.weighed_mass_g (line 5): is 300; the listed parts sum to 555 g, so 444 to 888 g."
     " Weigh again with the pack, or mend the parts"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("old", "new", "problem"), SINGLE, ids=[case[1][:30] or case[0][:30] for case in SINGLE]
)
def test_one_mistake_one_problem(bare_text, old, new, problem):
    assert bare_text.count(old) == 1 or old.startswith(("mass_g", "resistance", "cells"))
    problems = listing(bare_text.replace(old, new, 1))
    assert problem in problems
    assert len(problems) == (3 if new == 'layout = "explicit"' else 1)


def test_unknown_keys_name_the_nearest_and_where_they_belong(bare_text):
    text = (
        bare_text.replace("mass_g = 100", "mass_kg = 0.1")
        .replace("blades = 2", "")
        .replace("cells", "blades = 2\ncells")
    )
    problems = listing(text)
    assert problems[0].startswith(
        "parts#1.mass_g (line 11): is missing; must be a number, above 0 to 20000 g"
    )
    assert problems[1].startswith("parts#1.mass_kg (line 14): unknown key; known here: name, mass_g, shape,")
    assert problems[1].endswith("Nearest known key: mass_g")
    assert problems[2].startswith("propeller.blades (line 30): is missing; must be a whole number, 2 to 6")
    assert problems[3].startswith("battery.blades (line 44): unknown key")
    assert problems[3].endswith("blades belongs in [propeller]")
    assert len(problems) == 4


@pytest.mark.parametrize(
    ("place", "at", "allowed"),
    [
        ("front_right", [80, -80, 0], "forward above 0 mm and right above 0 mm"),
        ("rear_right", [80, 80, 0], "forward below 0 mm and right above 0 mm"),
        ("rear_left", [-80, 80, 0], "forward below 0 mm and right below 0 mm"),
        ("front_left", [-80, -80, 0], "forward above 0 mm and right below 0 mm"),
    ],
)
def test_a_rotor_on_the_wrong_side(bare_text, place, at, allowed):
    right = {
        "front_right": [80, 80, 0],
        "rear_right": [-80, 80, 0],
        "rear_left": [-80, -80, 0],
        "front_left": [80, -80, 0],
    }
    hubs = ", ".join(f"{name} = {at if name == place else good}" for name, good in right.items())
    text = bare_text.replace('layout = "x"', f'layout = "explicit"\nrotor_at_mm = {{ {hubs} }}')
    text = text.replace("wheelbase_mm = 282.8427124746190\nrotors_above_mm = 20\n", "")
    (problem,) = listing(text)
    assert problem.startswith(
        f"frame.rotor_at_mm.{place} (line 8): is {[float(v) for v in at]}; must have {allowed}"
    )


def test_all_problems_at_once_also_those_between_sections(bare_text):
    text = bare_text.replace("pitch_in = 4", "pitch_in = 9").replace("guide = 250", "guide = 300")
    text = text.replace('event = "slalom"', 'event = "slalem"\ncolour = "red"').replace(
        "capacity_mAh = 2000", ""
    )
    text += "[controllers]\nrte = 'x'\n[gains.rate]\nroll_p = nan\npitch_p = 'big'\n"
    wheres = [problem.split(" (")[0].split(":")[0] for problem in listing(text)]
    assert sorted(wheres) == sorted([
        "event", "colour", "battery.capacity_mAh", "controllers.rte", "gains.rate.roll_p", "gains.rate.pitch_p",
        "propeller.pitch_in", "flight_controller.rates_Hz.guide",
    ])  # fmt: skip


def test_a_response_beside_a_lag_and_a_throttle_stated_twice(bare_text):
    one = "{ throttle_pct = 30, tau_up_ms = 40, tau_down_ms = 50 }"
    text = bare_text.replace("[esc]", f"[esc]\nlag_ms = 2\nresponse = [{one}, {one}]")
    problems = listing(text)
    assert [problem.split(" (")[0] for problem in problems] == ["esc.lag_ms", "esc.response"]
    assert "is 2 beside a measured response; one of the two" in problems[0]
    assert "has 30 % twice" in problems[1]
    off = bare_text.replace(
        "[esc]", "[esc]\nresponse = [{ throttle_pct = 3, tau_up_ms = 40, tau_down_ms = 50 }]"
    )
    assert "esc.response#1.throttle_pct" in listing(off)[0]
    assert "5 to 100 %" in listing(off)[0]


def test_a_missing_section_and_a_section_of_the_wrong_kind(bare_text):
    start, end = bare_text.index("[radio]"), len(bare_text)
    assert listing(bare_text[:start] + bare_text[end:]) == ["radio: the section is missing. Add [radio]"]
    assert "must be a table, [section]" in listing("radio = 3\n" + bare_text[:start])[0]


def test_a_missing_file_names_what_there_is(tmp_path):
    with pytest.raises(
        InputError, match=r"there is no craft 'siskn'.*bonxie, siskin, williwaw; nearest: siskin"
    ):
        load_craft("siskn")
    with pytest.raises(InputError, match="there is no craft file"):
        load_craft(tmp_path / "none.toml")
    with pytest.raises(InputError, match="is a folder"):
        load_craft(tmp_path)


def test_a_craft_from_a_path_keeps_its_text_and_place(tmp_path, bare_text):
    path = tmp_path / "mine.toml"
    path.write_text(bare_text, encoding="utf-8")
    craft = load_craft(str(path))
    assert (craft.name, craft.event, craft.path, craft.source_text) == (
        "Test craft",
        "slalom",
        path,
        bare_text,
    )
    assert parse_craft(craft.source_text).model_dump() == craft.model_dump()


def test_a_craft_never_changes(make_craft):
    with pytest.raises(ValueError, match="frozen"):
        make_craft().name = "other"
