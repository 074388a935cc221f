"""Slips of somebody who writes TOML for the first time: which line, and what to write instead."""

import pytest

from quadsim.config.toml_reader import GREATEST_BYTES, parse_toml, read_toml
from quadsim.errors import InputError

SLIPS = [
    ("diameter_in = 5,0", "A decimal point, not a comma: diameter_in = 5.0"),
    ("mass = { value = 5,5, sigma = 1 }", "A decimal point, not a comma: mass = { value = 5.5, sigma = 1 }"),
    ("kv_rpm_per_V = 1,700", "No comma in a number: 1700"),
    ("mass_g = 178 g", "A bare number, mass_g = 178: the unit is in the name of the key"),
    ("label_C_rating = 100C # claimed", "A bare number, label_C_rating = 100"),
    ("idle_pct = 5%", "A bare number, idle_pct = 5"),
    ("idle = .5", "A digit before the point: idle = 0.5"),
    ("idle = 5.", "A digit after the point: idle = 5.0"),
    ("idle = 05", "No zero in front: idle = 5"),
    ("event = slalom", 'Text stands in quotes: event = "slalom"'),
    ("event = “slalom”", "straight quotes"),
    ('event = "slalom', 'The quote is not closed: event = "slalom"'),
    ("braking = True", "Small letters: braking = true"),
    ('log = "D:\\Xlogs"', "A path with / for \\"),
    ("mass_g =", "A value belongs behind the =: mass_g = ..."),
    ("mass_g: 5", "with = for the colon"),
    ("mass g = 5", "A key has no spaces: mass_g = 5"),
    ("motor", "A section stands in brackets, [motor]"),
    ("// a remark", "A comment begins with #"),
    ("at_mm = [1, 2\nb = 3", "A list that begins above"),
    ("[motor\na = 1", "The section's bracket is not closed"),
    ("cells = 4\nmass = 1\ncells = 6", "cells is given on line 2 already"),
    ("[motor]\na = 1\n[motor] # again\nb = 1", "[motor] stands on line 2 already"),
]


@pytest.mark.parametrize(("text", "advice"), SLIPS, ids=[text.splitlines()[0] for text, _ in SLIPS])
def test_a_slip_is_named_with_what_to_write(text, advice):
    with pytest.raises(InputError) as caught:
        parse_toml(f"name = 'x'\n{text}\n", "my.toml")
    assert advice in str(caught.value)
    assert "is not valid TOML" in str(caught.value)
    assert len(caught.value.problems) == 1


def test_every_line_with_a_known_slip_is_listed_at_once():
    text = 'a = 1,5\ngood = "a, 1,5 here"\nlist = [\n  1,5\n]\nb = 3 mm\nc = {x = 1}\nd = off'
    with pytest.raises(InputError) as caught:
        parse_toml(text, "my.toml")
    assert [problem.where for problem in caught.value.problems] == ["line 1", "line 6", "line 8"]


def test_an_unknown_slip_keeps_the_parsers_words():
    with pytest.raises(InputError, match=r"line 1: 'a = .x. y' is not valid TOML. .*Mend that line first"):
        parse_toml('a = "x" y', "my.toml")


def test_a_mark_before_the_first_letter_and_windows_lines_are_read(tmp_path):
    path = tmp_path / "my.toml"
    path.write_bytes(b"\xef\xbb\xbfname = 'x'\r\n\tcells\t=\t4\r\n")
    document = read_toml(path)
    assert document.data == {"name": "x", "cells": 4}
    assert document.line_of(("cells",)) == 2


def test_a_file_too_large_to_be_one_is_not_read(tmp_path):
    path = tmp_path / "log.toml"
    path.write_bytes(b"#" * (GREATEST_BYTES + 1))
    with pytest.raises(InputError, match=r"has 2\.0 MB; must be at most 2 MB"):
        read_toml(path)
