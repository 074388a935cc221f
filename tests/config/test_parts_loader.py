"""Catalogues: the shipped one keeps to physics, and a bad one lists every slip at once."""

import numpy as np
import pytest

from quadsim.config.contest_schema import Contest, load_contest, parse_contest
from quadsim.config.find_data import library
from quadsim.config.keys_table import keys_table
from quadsim.config.parts_loader import load_catalogue, parse_catalogue
from quadsim.config.parts_schema import KINDS, Catalogue
from quadsim.errors import InputError
from quadsim.units import MILLI, torque_constant

TEXT = (library() / "parts" / "market.toml").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def market():
    return load_catalogue("market")


def test_the_shipped_catalogue_has_enough_of_every_kind(market):
    least = {
        "motor": 12,
        "propeller": 16,
        "battery": 12,
        "esc": 8,
        "frame": 8,
        "flight_controller": 4,
        "radio": 4,
    }
    assert {kind: len(getattr(market, kind)) >= count for kind, count in least.items()} == dict.fromkeys(
        least, True
    )


def test_it_says_that_it_is_invented():
    assert TEXT.startswith("# Invented demo data")
    assert (
        (library() / "contests" / "three_events.toml")
        .read_text(encoding="utf-8")
        .startswith("# Invented demo data")
    )


def test_packs_hold_what_packs_of_today_hold(market):
    """120 to 200 W h/kg: common practice, no source."""
    energy = [one.cells * 3.7 * one.capacity_mAh / one.mass_g for one in market.battery]
    assert min(energy) > 120.0 and max(energy) < 200.0


def test_larger_motors_have_better_constants(market):
    """Motor constant squared over mass grows as size squared, mass^(2/3), for like motors at one loss per surface.

    L^5 over L^3, by dimensions: J. R. Hendershot & T. J. E. Miller, Design of Brushless Permanent-Magnet Machines
    (2010), on sizing; from memory.
    """
    mass = np.array([one.mass_g for one in market.motor])
    constant = [
        torque_constant(one.kv_rpm_per_V) ** 2 / (one.resistance_mohm * MILLI) for one in market.motor
    ]
    slope = np.polyfit(np.log(mass), np.log(np.array(constant) / mass), 1)[0]
    assert slope == pytest.approx(2.0 / 3.0, abs=0.15)


def test_propellers_grow_heavier_with_diameter_but_not_as_solids(market):
    """Mass per blade as diameter to a power between an area's and a volume's; dimensions."""
    diameter = np.array([one.diameter_in for one in market.propeller])
    blade = np.array([one.mass_g / one.blades for one in market.propeller])
    assert 2.0 < np.polyfit(np.log(diameter), np.log(blade), 1)[0] < 3.0


def test_resistance_times_capacity_is_that_of_like_cells(market):
    """A cell of twice the area has half the resistance: R C is one number for one make of cell."""
    product = [one.cell_resistance_mohm * one.capacity_mAh / 1e3 for one in market.battery]
    assert min(product) > 5.0 and max(product) < 14.0


def test_the_readmes_hold_the_key_tables():
    for folder, model in (("parts", Catalogue), ("contests", Contest)):
        assert keys_table(model) in (library() / folder / "README.md").read_text(encoding="utf-8")


def test_every_slip_of_a_catalogue_is_listed_at_once():
    """A missing price, a name twice, and impossible parts, all in one kind and over kinds."""
    bad = TEXT.replace("mount_mm = 12\nprice = 14", "mount_mm = 12")  # no price
    bad = bad.replace('"Brambell 20-05, 2600 rpm/V"', '"Kestwick 14-07, 3600 rpm/V"')  # twice
    bad = bad.replace("resistance_mohm = { value = 128, sigma = 6 }", "resistance_mohm = 1.28")  # impossible
    bad = bad.replace("capacity_mAh = 1300\n", "capacity_mAh = 13000\n", 1)
    bad = bad.replace("greatest_propeller_in = 7.1", "greatest_propeller_in = 10")
    with pytest.raises(InputError) as caught:
        parse_catalogue(bad)
    text = str(caught.value)
    assert "motor#2.price" in text and "is missing" in text
    assert "the name of motor#1 too" in text
    assert "motor#14.resistance_mohm" in text and "kt^2/R" in text
    assert "battery#2.capacity_mAh" in text and "W h/kg" in text
    assert "or the discs cut each other" in text
    assert len(caught.value.problems) == 5


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("mass_g = 92\n", "mass_g = 920\n", "steel cylinder"),
        ("pieces = 4\n", "pieces = 3\n", "half of each sense"),
        ("size_mm = [58, 31, 22]", "size_mm = [58, 31, 220]", "kg/m3"),
        ("mass_g = 1.4\n", "mass_g = 140\n", "mass of one propeller"),
        ("mount_mm = 20\n", "mount_mm = 21\n", "frames here have"),
        ("stator_diameter_mm = 14\n", "stator_diameter_mm = 19\n", "must be under diameter_mm"),
        ("label_C_rating = 75\n", "at_mm = [0, 0, 0]\nlabel_C_rating = 75\n", "the frame says where it sits"),
    ],
)
def test_an_impossible_part_is_refused_with_its_reason(old, new, words):
    assert old in TEXT
    with pytest.raises(InputError, match=words):
        parse_catalogue(TEXT.replace(old, new, 1))


def test_kinds_are_those_of_the_schema():
    assert set(KINDS) <= set(Catalogue.model_fields)


def test_the_shipped_contest_loads():
    contest = load_contest("three_events")
    assert contest.slalom.points + contest.lift.points + contest.dash.points == 100.0


def test_a_contest_with_two_gates_in_one_place_or_without_points_is_refused():
    text = (library() / "contests" / "three_events.toml").read_text(encoding="utf-8")
    with pytest.raises(InputError, match="apart"):
        parse_contest(text.replace("[24, 6, -2]", "[10, 0, -2]"))
    for points in ("40", "30"):
        text = text.replace(f"points = {points}", "points = 0")
    with pytest.raises(InputError, match="one event must count"):
        parse_contest(text)
