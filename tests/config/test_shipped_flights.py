"""The shipped flights: all load, and their README tells the truth about keys, metrics and files."""

import pytest

from quadsim.config.find_data import library, shipped
from quadsim.config.flight_loader import load_flight
from quadsim.config.flight_schema import FlightFile
from quadsim.config.keys_table import keys_table, metrics_table

README = (library() / "flights" / "README.md").read_text(encoding="utf-8")
FLIGHTS = shipped("flights")


def test_there_are_the_eight_stories_and_the_six_mistakes():
    assert len([name for name in FLIGHTS if not name.startswith("mistake_")]) >= 8
    assert len([name for name in FLIGHTS if name.startswith("mistake_")]) >= 6


@pytest.mark.parametrize("name", FLIGHTS)
def test_a_shipped_flight_loads_is_judged_and_says_that_it_is_invented(name):
    flight = load_flight(name)
    assert flight.expect
    assert "invented" in flight.source_text.splitlines()[0].lower()
    assert f"`{name}`" in README


def test_the_readme_has_the_tables_of_this_version():
    assert keys_table(FlightFile) in README
    assert metrics_table() in README
