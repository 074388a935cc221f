"""How numbers, tables and documents are printed."""

import json
import math
from pathlib import Path

import numpy as np
import pytest

from quadsim.cli.out import counted, print_json, styled
from quadsim.cli.table import Cell, Column, table


def test_json_holds_neither_nan_nor_infinity(capsys):
    print_json(
        {
            "a": math.nan,
            "b": [math.inf, 1.5],
            "c": np.array([1.0, -np.inf]),
            "d": np.float64(2.0),
            "e": Path("x"),
        }
    )
    text = capsys.readouterr().out
    assert json.loads(text, parse_constant=pytest.fail) == {
        "a": None,
        "b": [None, 1.5],
        "c": [1.0, None],
        "d": 2.0,
        "e": "x",
    }


def test_columns_are_aligned_and_units_stand_under_the_titles(monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    columns = (Column("name", words=True), Column("mass", "g"))
    text = table(columns, [["a", "1.5"], ["longer", Cell("20", "good")]], indent=1)
    assert text.splitlines() == [" name    mass", "            g", " a        1.5", " longer    20"]


def test_no_colour_where_the_user_asks_for_none(monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    assert styled("pass", "good") == "pass"
    monkeypatch.delenv("NO_COLOR")
    assert styled("pass", "good") != "pass"
    assert styled("", "good") == ""


@pytest.mark.parametrize(("number", "text"), [(1, "1 step"), (0, "0 steps"), (40001, "40 001 steps")])
def test_counts(number, text):
    assert counted(number, "step") == text
