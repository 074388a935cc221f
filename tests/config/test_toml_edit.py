"""Keys put into a craft's text: what it had goes, comments and all else stay, and nothing is spoilt."""

import tomllib

import pytest

from quadsim.config.quantity import Uncertain
from quadsim.config.toml_edit import fragment, merged
from quadsim.errors import InputError

TEXT = """# my craft
name = "A" # the first
[motor] # bought second-hand
kv_rpm_per_V = 1700 # as printed
# a word
places = [
    1, # one
    2,
]

[fc]
gyro = { bias = 2 } # levelled
[propeller]
mass_g = 4

[propeller.bench] # old
rows = [
    { rpm = 1, thrust_g = 2 },
]
[[esc.response]]
a = 1

[[esc.response]]
a = 2

[radio]
x = 1 # last
"""


@pytest.mark.parametrize(
    ("entries", "lines"),
    [
        ({"motor.kv_rpm_per_V": Uncertain(1745.34, 17.2)}, ["kv_rpm_per_V = { value = 1745, sigma = 17 } # as printed"]),
        ({"motor.new": 0.5}, ["]", "new = 0.5", "", "[fc]"]),
        ({"motor.places": [3, 4]}, ["# a word", "places = [3, 4]"]),
        ({"fc.gyro.noise": Uncertain(0.0040123, 3.2e-5)}, [
            "gyro = { bias = 2, noise = { value = 0.004012, sigma = 3.2e-05 } } # levelled"]),
        ({"mass.weighed_mass_g": Uncertain(604.0)}, ["x = 1 # last", "", "[mass]", "weighed_mass_g = 604"]),
        ({"propeller.bench": {"on": "arm", "held": False, "rows": [{"rpm": 5.0}]}}, [
            "[propeller.bench]", 'on = "arm"', "held = false", "rows = [", "    { rpm = 5 },", "]", "[[esc.response]]"]),
        ({"esc.response": [{"a": 7}]}, ["[[esc.response]]", "a = 7", "", "[radio]"]),
        ({"camera": {"tilt": 20}}, ["[camera]", "tilt = 20"]),
    ],
)  # fmt: skip
def test_one_thing_changes(entries, lines):
    made = merged(TEXT, entries, "a.toml")
    assert "\n".join(lines) in made
    assert merged(made, entries, "a.toml") == made
    old, new = TEXT.split("\n"), made.split("\n")
    kept = [
        line
        for line in old
        if "#" in line and "old" not in line and not ("places" in str(entries) and "one" in line)
    ]
    assert all(any(line.partition("#")[2] in other for other in new) for line in kept)
    untouched = set(tomllib.loads(TEXT)) - {key.split(".")[0] for key in entries}
    assert all(tomllib.loads(made)[key] == tomllib.loads(TEXT)[key] for key in untouched)


def test_a_layout_it_does_not_understand_is_refused():
    with pytest.raises(InputError, match="cannot be edited safely"):
        merged('[motor]\n"kv" = 3\n[x]\ny = """\n[motor]\nkv = 4"""\n', {"motor.kv.deep": 4.0}, "a.toml")


def test_a_fragment_is_a_piece_of_a_file():
    entries = {"esc.response": [{"a": 1.0}], "esc.lag_ms": 0.0, "propeller.bench": {"rows": [{"rpm": 5.0}]}}
    assert fragment(entries) == (
        "[esc]\nlag_ms = 0\n\n[[esc.response]]\na = 1\n\n[propeller.bench]\nrows = [\n    { rpm = 5 },\n]\n"
    )
